#pragma once

#include <string>

#include <opencv2/core.hpp>

#include <canalrule/base/point.hpp>
#include <canalrule/record/reading.hpp>

namespace canalrule {

/// Refuses points that lie further outside a film than 5 % of its larger side: a path may be drawn a
/// little past the edge, but marks that far out belong to another film. `field` is the JSON pointer of
/// the polyline in `reading_file`.
void check_points(const Polyline& points, cv::Size film, const std::string& field,
                  const std::string& reading_file);

/// check_points() for every mark that a reading makes on its own film.
void check_marks(const Reading& reading, cv::Size film, const std::string& reading_file);

}  // namespace canalrule
