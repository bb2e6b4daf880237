#include "file_in_canal.hpp"

#include <algorithm>
#include <canalrule/geometry/path.hpp>
#include <cmath>

namespace canalrule {

namespace {

// Chosen here; tests/truth/working_length.cpp holds them.
constexpr double same_end_mm = 0.3;    ///< of the instrument and of what was measured
constexpr double same_line_mm = 0.25;  ///< between their centre lines
constexpr double same_share = 0.8;     ///< of the places compared

}  // namespace

std::optional<Note> file_in_canal(const CanalResult& canal, const std::vector<KnownObject>& objects,
                                  const ScaleResult& scale) {
  if (!canal.terminus) return std::nullopt;
  const double mm = scale.mm_per_pixel;
  const auto is_open = [](const NotAssessable& entry) {
    return entry.figure == "coronal_level_mm" && entry.reason == "goes-on-coronally";
  };
  // A fill along which a length was drawn, as its own working length, looks like a shaft, but it ends.
  if (std::none_of(canal.not_assessable.begin(), canal.not_assessable.end(), is_open)) return std::nullopt;
  for (const KnownObject& object : objects) {
    if (object.seen != KnownObject::Seen::shaft) continue;
    const CanalPath line(object.points, object.points.back(), scale.row_to_column_aspect);
    if (std::fabs(line.project(canal.terminus->position).s_px) * mm > same_end_mm) continue;
    int on = 0, all = 0;
    for (const CentreAt& at : canal.centre_line) {
      if (at.at_mm < canal.terminus->to_apex_mm) continue;
      ++all;
      if (std::fabs(line.project(at.position).n_px) * mm < same_line_mm) ++on;
    }
    if (all == 0 || on < same_share * all) continue;
    return Note{
        "file-in-canal",
        "What was measured here is the instrument that gives the scale, not a filling: it ends with it "
        "and lies on it."};
  }
  return std::nullopt;
}

}  // namespace canalrule
