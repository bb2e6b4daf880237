#include <canalrule/geometry/strip.hpp>

#include <cmath>

#include <doctest/doctest.h>

using namespace canalrule;

namespace {

const CanalPath upright({{60.0, 10.0}, {60.0, 110.0}}, {60.0, 110.0}, 1.0);

cv::Mat ramp(double by_column, double by_row) {
  cv::Mat plane(140, 120, CV_32FC1);
  for (int r = 0; r < plane.rows; ++r)
    for (int c = 0; c < plane.cols; ++c)
      plane.at<float>(r, c) = static_cast<float>(by_column * (c + 0.5) + by_row * (r + 0.5));
  return plane;
}

}  // namespace

TEST_CASE("a ramp comes out as the image coordinates say, pixel centres at halves") {
  const StripGrid grid{3.25, -10.4, 0.8, 40, 25};
  const Strip strip = sample_strip(ramp(2.0, 0.5), cv::Mat(), upright, grid);
  for (int i = 0; i < grid.rows; ++i)
    for (int j = 0; j < grid.columns; ++j) {
      REQUIRE(strip.usable.at<std::uint8_t>(i, j) == 255);
      const double x = 60.0 + grid.n_px(j);
      const double y = 110.0 - grid.s_px(i);
      CHECK(static_cast<double>(strip.value.at<float>(i, j)) ==
            doctest::Approx(2.0 * x + 0.5 * y).epsilon(1e-6));
    }
}

TEST_CASE("a place is unusable where one of the sixteen pixels used carries no film") {
  cv::Mat unusable(140, 120, CV_8UC1, cv::Scalar(0));
  unusable.at<std::uint8_t>(80, 65) = 255;
  const StripGrid grid{0.0, -20.0, 1.0, 80, 41};
  const Strip strip = sample_strip(ramp(1.0, 1.0), unusable, upright, grid);
  for (int i = 0; i < grid.rows; ++i)
    for (int j = 0; j < grid.columns; ++j) {
      const double column = std::floor(60.0 + grid.n_px(j) - 0.5);
      const double row = std::floor(110.0 - grid.s_px(i) - 0.5);
      const bool touched = column - 1 <= 65 && 65 <= column + 2 && row - 1 <= 80 && 80 <= row + 2;
      CHECK((strip.usable.at<std::uint8_t>(i, j) == 0) == touched);
    }
}

TEST_CASE("what lies off the film is unusable") {
  const StripGrid grid{-60.0, -80.0, 4.0, 50, 41};
  const Strip strip = sample_strip(ramp(1.0, 1.0), cv::Mat(), upright, grid);
  CHECK(strip.usable.at<std::uint8_t>(0, 20) == 0);  // s = -60: 30 px under the film
  CHECK(strip.usable.at<std::uint8_t>(20, 0) == 0);  // n = -80: left of it
  CHECK(strip.usable.at<std::uint8_t>(20, 20) == 255);
}

TEST_CASE("a grid's rows and columns and their places undo each other") {
  const StripGrid grid{-12.0, -7.5, 0.6, 10, 10};
  CHECK(grid.row_of(grid.s_px(4.25)) == doctest::Approx(4.25));
  CHECK(grid.column_of(grid.n_px(7.5)) == doctest::Approx(7.5));
}
