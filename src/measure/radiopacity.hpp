#pragma once

#include <canalrule/base/grey.hpp>
#include <canalrule/film/film.hpp>
#include <canalrule/geometry/path.hpp>
#include <opencv2/core.hpp>
#include <vector>

namespace canalrule {

/// The film's grey turned so that more radiopaque is higher: for `log` and `display` the grey itself or
/// its negative, for `linear` the negative logarithm of the exposure, without unit. CV_32FC1 of
/// `region`'s size. Exposure counts from the end of the grey scale that is black or white when
/// nothing arrives; at least one grey step is taken, so that the logarithm exists. Where strips step over
/// more than a pixel, what is finer than their step is smoothed away, so that it can't fold back.
cv::Mat radiopacity_plane(const Film& film, Response response, Radiopaque radiopaque, const cv::Rect& region,
                          double mm_per_px);

/// Step of the strips that fills are measured on, px: the film's pixels, or on finer films what a fill's edge
/// still fills, blurred as films are.
double strip_step_px(double mm_per_px);

/// Blur of the film itself, px, where a model of the smoothed plane shows `blur_px`.
double unsmoothed_blur_px(double blur_px, double mm_per_px);

/// Which end of the grey scale is radiopaque, told from the canals: a fill is more radiopaque than both
/// its sides. Bright where nothing differs.
Radiopaque find_polarity(const Film& film, const std::vector<CanalPath>& paths, double mm_per_px);

}  // namespace canalrule
