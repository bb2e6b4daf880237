// What lies in contours about a root's end, drawn as rings about a point, is taken off a strip; noise is left as it is.
#include "end_contours.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <opencv2/core.hpp>
#include <random>

using namespace canalrule;

namespace {

constexpr double mm = 0.03, radius_mm = 0.15, noise = 10.0;

/// A fill that ends at `end_mm`, its model only.
FillModel fill_ending_at(double end_mm) {
  FillModel fill;
  fill.end_px = end_mm / mm;
  fill.blur_px = 0.05 / mm;
  for (LocalBasis* basis : {&fill.radius_basis, &fill.centre_basis})
    *basis = LocalBasis::over(fill.end_px - 20.0, fill.end_px + 100.0, 15.0);
  fill.radius.assign(static_cast<std::size_t>(fill.radius_basis.count), radius_mm / mm);
  fill.centre.assign(static_cast<std::size_t>(fill.centre_basis.count), 0.0);
  return fill;
}

/// The level of bone, lamina dura, ligament space and root, blurred, by the distance within the root's end.
double level_within(double d_mm) {
  const auto rise = [&](double at) { return 0.5 * std::erfc((at - d_mm) / 0.05 / std::sqrt(2.0)); };
  return 1000.0 + 400.0 * rise(-0.45) - 700.0 * rise(-0.2) + 500.0 * rise(0.0) + 800.0 * std::max(0.0, d_mm);
}

/// A strip about the apex with rings about the point `centre_mm` on the axis, of a root that ends `root_mm` apical of
/// it (or none), and noise.
Strip strip_with(bool rings, double centre_mm, unsigned seed, double root_mm = 1.3) {
  Strip strip;
  strip.grid = {-60.0, -35.0, 1.0, 160, 71};
  strip.value = cv::Mat(strip.grid.rows, strip.grid.columns, CV_32FC1);
  strip.usable = cv::Mat(strip.value.size(), CV_8UC1, cv::Scalar(255));
  std::mt19937 engine(seed);
  std::normal_distribution<double> draw(0.0, noise);
  for (int i = 0; i < strip.grid.rows; ++i)
    for (int j = 0; j < strip.grid.columns; ++j) {
      const double s = strip.grid.s_px(i) * mm, n = strip.grid.n_px(j) * mm;
      const double within = root_mm - std::hypot(centre_mm - s, n);
      strip.value.at<float>(i, j) = static_cast<float>((rings ? level_within(within) : 1000.0) + draw(engine));
    }
  return strip;
}

/// Root mean square, over rows within half a millimetre of the end, of what differs from the axis within 0.6 mm of it.
double uneven_across(const cv::Mat& value, const StripGrid& grid, double end_mm) {
  double squares = 0.0, count = 0.0;
  for (int i = 0; i < grid.rows; ++i) {
    if (std::fabs(grid.s_px(i) * mm - end_mm) > 0.5) continue;
    double on_axis = 0.0;
    for (int j = -2; j <= 2; ++j) on_axis += static_cast<double>(value.at<float>(i, grid.columns / 2 + j)) / 5.0;
    for (int j = 0; j < grid.columns; ++j) {
      if (std::fabs(grid.n_px(j)) * mm > 0.6) continue;
      const double off = static_cast<double>(value.at<float>(i, j)) - on_axis;
      squares += off * off;
      count += 1.0;
    }
  }
  return std::sqrt(squares / count);
}

}  // namespace

TEST_CASE("rings about a root's end are taken off, also where the fill hides them") {
  // Nothing is drawn where the fill is: what is taken off there comes from beside it.
  for (const double end_mm : {0.3, 0.0, -0.3}) {
    const Strip strip = strip_with(true, 1.3, 7);
    const cv::Mat all(strip.value.size(), CV_8UC1, cv::Scalar(255));
    const cv::Mat flat = without_end_contours(strip, all, fill_ending_at(end_mm), mm);
    const double before = uneven_across(strip.value, strip.grid, end_mm);
    const double after = uneven_across(flat, strip.grid, end_mm);
    MESSAGE("end at " << end_mm << ": " << before << " to " << after << ", noise " << noise);
    CHECK(before > 100.0);
    CHECK(after < 0.15 * before);  // chosen here; noise alone is a tenth
  }
}

TEST_CASE("where a film shows no contours its values stay, to the bit") {
  int changed = 0;
  for (unsigned seed = 1; seed <= 20; ++seed) {
    const Strip strip = strip_with(false, 1.3, seed);
    const cv::Mat all(strip.value.size(), CV_8UC1, cv::Scalar(255));
    changed += cv::norm(without_end_contours(strip, all, fill_ending_at(0.0), mm), strip.value) > 0.0 ? 1 : 0;
  }
  CHECK(changed == 0);
}

TEST_CASE("values stay finite wherever a fill ends, also among rings about a point beyond the apex") {
  for (const double centre_mm : {1.3, 0.0, -0.5, -0.8})
    for (int tenths = -14; tenths <= 14; ++tenths) {
      const Strip strip = strip_with(true, centre_mm, 5, 0.8);
      const cv::Mat all(strip.value.size(), CV_8UC1, cv::Scalar(255));
      CHECK(cv::checkRange(without_end_contours(strip, all, fill_ending_at(0.1 * tenths), mm)));
    }
}

TEST_CASE("what a mask leaves out doesn't count as surroundings") {
  Strip strip = strip_with(false, 1.3, 3);
  cv::Mat mask(strip.value.size(), CV_8UC1, cv::Scalar(255));
  // Another body, bent as a contour is.
  for (int i = 0; i < strip.grid.rows; ++i)
    for (int j = 0; j < strip.grid.columns; ++j) {
      const double s = strip.grid.s_px(i) * mm, n = strip.grid.n_px(j) * mm;
      if (std::fabs(std::hypot(1.3 - s, n) - 1.0) > 0.15 || std::fabs(n) < 0.3) continue;
      strip.value.at<float>(i, j) += 2000.0F;
      mask.at<std::uint8_t>(i, j) = 0;
    }
  const cv::Mat kept = without_end_contours(strip, mask, fill_ending_at(0.0), mm);
  CHECK(cv::norm(kept, strip.value) == 0.0);
  const cv::Mat all(strip.value.size(), CV_8UC1, cv::Scalar(255));
  CHECK(cv::norm(without_end_contours(strip, all, fill_ending_at(0.0), mm), strip.value) > 0.0);
}
