#include "radiopacity.hpp"

#include <algorithm>
#include <canalrule/geometry/strip.hpp>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace canalrule {

namespace {

/// A Gaussian of 0.03 mm, a sharp film's edge, has 2 % of its contrast left at the frequency that steps of
/// this many mm resolve: nothing of a fill is lost. Chosen here; tests/laws/repeated.cpp.
constexpr double finest_step_mm = 0.028;

/// Standard deviation of the smoothing before a step over more than a pixel, in steps: 0.2 % of what is finer
/// folds back. Chosen here; tests/laws/repeated.cpp.
constexpr double smoothing_steps = 0.4;

/// Steps in which the fill's grey is held against its surroundings', mm. Chosen here; tests/laws/inversion.cpp.
constexpr double polarity_step_mm = 0.05;

/// Of the grey scale, under which a difference is single precision's rounding.
constexpr double least_difference = 1e-6;

double smoothing_px(double mm_per_px) {
  const double step = strip_step_px(mm_per_px);
  return step > 1.0 ? smoothing_steps * step : 0.0;
}

}  // namespace

double strip_step_px(double mm_per_px) { return std::max(1.0, finest_step_mm / mm_per_px); }

double unsmoothed_blur_px(double blur_px, double mm_per_px) {
  const double added = smoothing_px(mm_per_px);
  return std::sqrt(std::max(0.0, blur_px * blur_px - added * added));
}

cv::Mat radiopacity_plane(const Film& film, Response response, Radiopaque radiopaque, const cv::Rect& region,
                          double mm_per_px) {
  if (region.empty()) return cv::Mat(0, 0, CV_32FC1);
  const double step =
      (film.highest_grey - film.lowest_grey) / (std::exp2(std::max(1, film.bits_stored)) - 1.0);
  const bool bright = radiopaque == Radiopaque::bright;
  const cv::Mat grey = film.grey(region);
  cv::Mat other;  // an assignment to the film's own pixels would change the film
  if (response == Response::linear) {
    // Exposure in grey steps, at least one.
    const double black = bright ? film.highest_grey : -film.lowest_grey;
    grey.convertTo(other, CV_32F, (bright ? -1.0 : 1.0) / step, black / step);
    cv::max(other, 1.0, other);
    cv::log(other, other);
    other *= -1.0;
  } else if (!bright) {
    grey.convertTo(other, CV_32F, -1.0);
  }
  const cv::Mat plane = other.empty() ? grey : other;
  const double smoothing = smoothing_px(mm_per_px);
  if (smoothing <= 0.0) return plane;
  cv::Mat smooth;
  cv::GaussianBlur(plane, smooth, cv::Size(), smoothing, 0.0, cv::BORDER_DEFAULT | cv::BORDER_ISOLATED);
  return smooth;
}

Radiopaque find_polarity(const Film& film, const std::vector<CanalPath>& paths, double mm_per_px) {
  // Mean grey over a band of 0.3 mm on the path against bands 0.6 to 1.2 mm to each side, over the
  // coronal two thirds, where a fill is surest. Widths chosen here; tests/laws/inversion.cpp holds it.
  double sum = 0.0;
  int count = 0;
  for (const CanalPath& path : paths) {
    StripGrid grid;
    grid.step_px = std::max(1.0, polarity_step_mm / mm_per_px);
    const double low = path.first_px() + (path.last_px() - path.first_px()) / 3.0;
    const double half = std::floor(1.2 / mm_per_px / grid.step_px);
    grid.first_s_px = low;
    grid.rows = std::max(1, static_cast<int>((path.last_px() - low) / grid.step_px));
    grid.columns = 2 * static_cast<int>(half) + 1;
    grid.first_n_px = -half * grid.step_px;
    const Strip strip = sample_strip(film.grey, film.unusable, path, grid);
    const double middle = 0.15 / mm_per_px;
    const double side = 0.6 / mm_per_px;
    for (int i = 0; i < grid.rows; ++i) {
      double in = 0.0, out = 0.0;
      int ins = 0, outs = 0;
      for (int j = 0; j < grid.columns; ++j) {
        if (strip.usable.at<std::uint8_t>(i, j) == 0) continue;
        const double n = std::fabs(grid.n_px(j));
        const double value = static_cast<double>(strip.value.at<float>(i, j));
        if (n <= std::max(grid.step_px, middle)) {
          in += value;
          ++ins;
        } else if (n >= side) {
          out += value;
          ++outs;
        }
      }
      if (ins == 0 || outs == 0) continue;
      sum += in / ins - out / outs;
      ++count;
    }
  }
  // A difference by rounding alone is none.
  const double least = least_difference * (film.highest_grey - film.lowest_grey);
  return count >= 2 && sum / count <= -least ? Radiopaque::dark : Radiopaque::bright;
}

}  // namespace canalrule
