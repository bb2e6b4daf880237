#pragma once

#include <optional>
#include <utility>

#include <opencv2/core.hpp>

#include <canalrule/base/point.hpp>
#include <canalrule/desk/view.hpp>
#include <canalrule/film/film.hpp>
#include <canalrule/geometry/path.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule::desk {

/// A canal unrolled straight along its measured centre line (the drawn path where none was measured), the
/// apex at 0 mm, with both ways between it and the film. Cheap but for `picture`.
class UnrolledCanal {
 public:
  /// Nothing for a canal without a line.
  static std::optional<UnrolledCanal> of(const CanalResult& canal, const ScaleResult& scale);

  double first_mm() const { return first_mm_; }            ///< the lowest place shown, below the apex: < 0
  double last_mm() const { return last_mm_; }              ///< the highest, beyond the coronal level
  double half_width_mm() const { return half_width_mm_; }  ///< shown to each side

  struct Place {
    double at_mm = 0.0;      ///< along, from the apex
    double across_mm = 0.0;  ///< > 0: to the right with the crown up
  };
  Point on_film(const Place& place) const;
  Place of_film(Point at) const;  ///< the nearest place on the line

  /// CV_8UC1: crown at the top (row 0 is last_mm), `px_per_mm` both ways, toned as the film.
  cv::Mat picture(const Film& film, const Tone& tone, double px_per_mm) const;

 private:
  UnrolledCanal(CanalPath path, double mm_per_px, double origin_mm)
      : path_(std::move(path)), mm_per_px_(mm_per_px), origin_mm_(origin_mm) {}

  CanalPath path_;
  double mm_per_px_;
  double origin_mm_;  ///< from the apex to where the path counts from
  double first_mm_ = 0.0, last_mm_ = 0.0, half_width_mm_ = 0.0;
};

}  // namespace canalrule::desk
