// What a search along a straight strip takes for a fill, and where it ends: a strip drawn here, in numbers of our own.
#include <algorithm>
#include <cmath>
#include <random>

#include <doctest/doctest.h>

#include "follow.hpp"
#include "trace.hpp"

using namespace canalrule;

namespace {

constexpr double mm_per_px = 0.04;
constexpr double path_from_mm = 0.0, path_to_mm = 11.0;

struct Drawing {
  double root_mm = 0.8;            ///< radius of the root about its end, growing by 0.1 a mm
  double fill_from_mm = 2.6, fill_to_mm = 10.4;
  double grey_end = 1e9;           ///< where the film's grey ends, in mm of dentine
  double gamma = 1.0;              ///< of the film's curve
  double gap_from_mm = 0.0, gap_to_mm = 0.0;  ///< where the fill is missing, apical of which it is less dense
  bool sealer = false;             ///< a dot of it, 0.5 to 0.85 mm beyond the apex
};

double chord(double radius, double n) { return n * n < radius * radius ? 2.0 * std::sqrt(radius * radius - n * n) : 0.0; }

/// Rows from 3 mm beyond the apex to 12 mm, columns 2.2 mm to both sides.
Strip draw(const Drawing& drawing) {
  Strip strip;
  strip.grid = {-3.0 / mm_per_px, -55.0, 1.0, 375, 111};
  strip.value = cv::Mat(strip.grid.rows, strip.grid.columns, CV_32FC1);
  strip.usable = cv::Mat(strip.grid.rows, strip.grid.columns, CV_8UC1, cv::Scalar(255));
  std::mt19937_64 random(7);
  std::normal_distribution<double> noise(0.0, 0.01);
  for (int i = 0; i < strip.grid.rows; ++i) {
    const double s = strip.grid.s_px(i) * mm_per_px;
    const double rounding = s < 0.2 ? 0.0 : std::sqrt(std::min(1.0, (s - 0.2) / 1.0));
    const double fill_radius = 0.12 + 0.025 * s;
    for (int j = 0; j < strip.grid.columns; ++j) {
      const double n = strip.grid.n_px(j) * mm_per_px;
      double value = chord((drawing.root_mm + 0.1 * std::max(0.0, s)) * rounding, n);
      const bool filled = s > drawing.fill_from_mm && s < drawing.fill_to_mm &&
                          !(s > drawing.gap_from_mm && s < drawing.gap_to_mm);
      if (filled) value += (s < drawing.gap_from_mm ? 0.8 : 1.2) * chord(fill_radius, n);
      if (drawing.sealer && s > -0.85 && s < -0.5) value += chord(0.15, n);
      strip.value.at<float>(i, j) = static_cast<float>(
          std::min(std::pow(value, drawing.gamma) + noise(random), drawing.grey_end));
    }
  }
  return strip;
}

Trace traced(const Strip& strip, const cv::Mat& clipped) {
  const cv::Mat all(strip.value.size(), CV_8UC1, cv::Scalar(255));
  const SearchFound found =
      search_fill(strip, all, clipped, mm_per_px, path_from_mm / mm_per_px, path_to_mm / mm_per_px,
                  {usual_hand_weight, greatest_radius_mm});
  REQUIRE(found.search.has_value());
  const std::optional<Trace> trace = trace_fill(*found.search);
  REQUIRE(trace.has_value());
  return *trace;
}

cv::Mat at_the_end_of_grey(const Strip& strip, double end) {
  return strip.value >= static_cast<float>(end);
}

}  // namespace

TEST_CASE("a root that is rounder than its fill isn't taken for a wide one") {
  for (const double root_mm : {0.7, 0.8, 1.0}) {
    CAPTURE(root_mm);
    Drawing drawing;
    drawing.root_mm = root_mm;
    const Trace trace = traced(draw(drawing), {});
    CHECK(trace.end_px * mm_per_px == doctest::Approx(drawing.fill_from_mm).scale(0.0).epsilon(0.1));
    CHECK(trace.coronal_px * mm_per_px == doctest::Approx(drawing.fill_to_mm).scale(0.0).epsilon(0.02));
    CHECK(trace.radius_px(6.0 / mm_per_px) * mm_per_px == doctest::Approx(0.27).scale(0.0).epsilon(0.2));
    CHECK_FALSE(trace.coronal_end_clipped);
  }
}

TEST_CASE("a fill of which a film's curve shows ever less towards the apex is followed to its tip") {
  for (const double gamma : {2.0, 3.0, 4.0}) {
    CAPTURE(gamma);
    Drawing drawing;
    drawing.fill_from_mm = 0.9;
    drawing.gamma = gamma;
    const Trace trace = traced(draw(drawing), {});
    CHECK(trace.end_px * mm_per_px == doctest::Approx(drawing.fill_from_mm).scale(0.0).epsilon(0.2));
    CHECK(trace.coronal_px * mm_per_px == doctest::Approx(drawing.fill_to_mm).scale(0.0).epsilon(0.02));
  }
}

TEST_CASE("sealer that lies apart beyond the apex hides no piece of fill between it and a gap") {
  for (const bool sealer : {false, true}) {
    CAPTURE(sealer);
    Drawing drawing;
    drawing.root_mm = 1.6;
    drawing.fill_from_mm = 0.6;
    drawing.gap_from_mm = 1.4;
    drawing.gap_to_mm = 2.4;
    drawing.sealer = sealer;
    const Trace trace = traced(draw(drawing), {});
    CHECK(std::fabs(trace.end_px * mm_per_px - drawing.fill_from_mm) < 0.15);
    CHECK(trace.coronal_px * mm_per_px == doctest::Approx(drawing.fill_to_mm).scale(0.0).epsilon(0.02));
  }
}

TEST_CASE("a fill whose grey is clipped towards the crown is followed to its end") {
  Drawing drawing;
  drawing.grey_end = 3.9;  // the root's own grey ends at 3.6 there
  const Strip strip = draw(drawing);
  const Trace trace = traced(strip, at_the_end_of_grey(strip, drawing.grey_end));
  CHECK(trace.end_px * mm_per_px == doctest::Approx(drawing.fill_from_mm).scale(0.0).epsilon(0.1));
  CHECK(trace.coronal_px * mm_per_px == doctest::Approx(drawing.fill_to_mm).scale(0.0).epsilon(0.02));
  CHECK_FALSE(trace.coronal_end_clipped);
  // What shows less than the fill, and isn't clipped, ends it: the same strip without a word of the clipping.
  CHECK(traced(strip, {}).coronal_px * mm_per_px < drawing.fill_to_mm - 1.0);
}

TEST_CASE("where the grey beside a clipped fill is clipped as well its coronal end isn't seen, beside another it is") {
  for (const double grey_end : {3.4, 9.0}) {
    CAPTURE(grey_end);
    Drawing drawing;
    drawing.grey_end = grey_end;
    Strip strip = draw(drawing);
    // From 8 mm on something is as bright as the grey goes.
    strip.value.rowRange(static_cast<int>(strip.grid.row_of(8.0 / mm_per_px)), strip.grid.rows).setTo(grey_end);
    const Trace trace = traced(strip, at_the_end_of_grey(strip, grey_end));
    CHECK(trace.coronal_px * mm_per_px == doctest::Approx(8.0).scale(0.0).epsilon(0.02));
    CHECK(trace.coronal_end_clipped == (grey_end < 9.0));
  }
}
