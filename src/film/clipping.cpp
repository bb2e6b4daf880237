#include <canalrule/film/quality.hpp>

#include <canalrule/base/fault.hpp>

#include "histogram.hpp"

namespace canalrule {

namespace {

cv::Mat clipped_pixels(const Film& film, const ClippedEnds& ends) {
  cv::Mat mask;
  if (ends.floor) mask = film.grey <= *ends.floor;
  if (ends.ceiling) mask = mask.empty() ? film.grey >= *ends.ceiling : mask | (film.grey >= *ends.ceiling);
  if (!film.unusable.empty()) mask.setTo(0, film.unusable);
  return mask;
}

}  // namespace

Clipping find_clipping(const Film& film, std::size_t threads) {
  ensure(film.grey.type() == CV_32FC1, "a film is a plane of floats");
  const ClippedEnds ends = clipped_ends(occurring_levels(film, threads), film);
  Clipping clipping;
  if (!ends.floor && !ends.ceiling) return clipping;
  clipping.floor = ends.floor;
  clipping.ceiling = ends.ceiling;
  clipping.mask = clipped_pixels(film, ends);
  const int unusable = film.unusable.empty() ? 0 : cv::countNonZero(film.unusable);
  const int usable = film.grey.rows * film.grey.cols - unusable;
  clipping.share = static_cast<double>(cv::countNonZero(clipping.mask)) / usable;
  return clipping;
}

}  // namespace canalrule
