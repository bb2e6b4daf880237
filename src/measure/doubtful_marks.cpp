#include "doubtful_marks.hpp"

#include <algorithm>
#include <canalrule/base/plain.hpp>
#include <cmath>

namespace canalrule {

namespace {

// Chosen here, far from what hands do (0.3 mm aside at most on 400 simulated films); tests/truth/doubtful_marks.cpp.
constexpr double aside_mm = 1.0;
constexpr double beyond_mm = 3.0;
constexpr double narrows_by = 0.01;  ///< mm per mm
constexpr double surely = 3.0;       ///< standard uncertainties
constexpr double chord_mm = 1.5;     ///< two of them one after the other part by less than a right angle

/// Whether the line doubles back, as no canal does.
bool turns_back(const CanalPath& path, double mm_per_px) {
  const double chord = chord_mm / mm_per_px;
  for (double s = path.first_px(); s + 2.0 * chord <= path.last_px(); s += 0.25 * chord) {
    const Point a = path.at(s, 0.0), b = path.at(s + chord, 0.0), c = path.at(s + 2.0 * chord, 0.0);
    if ((b.x - a.x) * (c.x - b.x) + (b.y - a.y) * (c.y - b.y) < 0.0) return true;
  }
  return false;
}

}  // namespace

std::vector<Note> doubtful_marks(const CanalResult& canal, const CanalPath& path, Point apex, double mm_per_px) {
  std::vector<Note> notes;
  const double aside = std::fabs(path.project(apex).n_px) * mm_per_px;
  if (aside > aside_mm)
    notes.push_back({"apex-aside", "The apex mark lies " + plain(aside, 1) +
                                       " mm beside the drawn path: look whether both belong to one canal."});
  if (-path.first_px() > std::max(0.0, path.last_px()))
    notes.push_back({"path-reversed", "The apex mark lies at the path's first point rather than its last, but a path "
                                      "runs from the crown to the apex: draw it the other way round."});
  if (turns_back(path, mm_per_px))
    notes.push_back({"path-turns-back", "The drawn path turns back on itself, as no canal does: draw it anew."});
  const std::optional<Quantity>& taper = canal.taper.overall;
  if (taper && taper->value + surely * taper->standard_uncertainty < -narrows_by)
    notes.push_back({"taper-reversed", "The fill grows narrower towards the crown all along (" +
                                           plain(taper->value, 3) +
                                           " mm per mm): the apex may be marked at the wrong end of it."});
  if (canal.terminus && canal.terminus->to_apex_mm < -beyond_mm)
    notes.push_back({"far-beyond-apex", "The fill seems to end " + plain(-canal.terminus->to_apex_mm, 1) +
                                            " mm beyond the apex: look at the apex mark and the path."});
  return notes;
}

}  // namespace canalrule
