#include "film_image.hpp"

#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <cmath>
#include <limits>
#include <opencv2/imgproc.hpp>

namespace canalrule::report {
namespace {

constexpr double margin_mm = 2.5;          // of film around the canals, chosen here by eye
constexpr double whole_film_share = 0.75;  // a crop above this share shows the whole film instead

struct Extent {
  double left = std::numeric_limits<double>::infinity(), top = left, right = -left, bottom = -left;
  void add(Point point) {
    if (!std::isfinite(point.x) || !std::isfinite(point.y)) return;
    left = std::min(left, point.x);
    right = std::max(right, point.x);
    top = std::min(top, point.y);
    bottom = std::max(bottom, point.y);
  }
};

Extent canals_extent(const Result& result) {
  Extent extent;
  for (const CanalResult& canal : result.canals) {
    for (const Point& point : canal.drawn_path) extent.add(point);
    for (const CentreAt& centre : canal.centre_line) extent.add(centre.position);
    for (const MaterialBeyond& material : canal.material_beyond_apex) extent.add(material.position);
    if (canal.terminus) extent.add(canal.terminus->position);
  }
  return extent;
}

/// An interval widened about its middle to `wanted`, moved and cut to lie in 0..limit.
struct Interval {
  double low = 0.0, high = 0.0;
};
Interval widened(double low, double high, double wanted, double limit) {
  const double length = std::min(std::max(high - low, wanted), limit);
  const double start = std::clamp((low + high - length) / 2.0, 0.0, limit - length);
  return {start, start + length};
}

bool dark_is_radiopaque(const Film& film, const Result& result) {
  if (!result.film.radiopaque.empty()) return result.film.radiopaque == "dark";
  return film.radiopaque == Radiopaque::dark;
}

struct Window {
  float black = 0.0F, white = 0.0F;
};

Window window_of(const cv::Mat& grey, const cv::Mat& unusable) {
  std::vector<float> values;
  const int step = std::max(1, static_cast<int>(std::sqrt(static_cast<double>(grey.total()) / 250000.0)));
  for (int row = 0; row < grey.rows; row += step) {
    for (int column = 0; column < grey.cols; column += step) {
      const float value = grey.at<float>(row, column);
      if (!unusable.empty() && unusable.at<std::uint8_t>(row, column) != 0) continue;
      if (std::isfinite(value)) values.push_back(value);
    }
  }
  if (values.empty()) return {0.0F, 1.0F};
  const auto at = [&](double share) {
    const auto place =
        values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), place, values.end());
    return *place;
  };
  return {at(0.005), at(0.998)};
}

}  // namespace

Crop whole_film(const Film& film) { return {0, 0, film.grey.cols, film.grey.rows}; }

Crop crop_to_canals(const Film& film, const Result& result, const Box& frame) {
  const Extent extent = canals_extent(result);
  if (!(extent.right >= extent.left)) return whole_film(film);
  const double columns = film.grey.cols;
  const double rows = film.grey.rows;
  const double aspect = film.row_to_column_aspect > 0.0 ? film.row_to_column_aspect : 1.0;
  const double size = std::hypot(extent.right - extent.left, extent.bottom - extent.top);
  const double margin = result.scale.mm_per_pixel > 0.0
                            ? std::max(margin_mm / result.scale.mm_per_pixel, 0.05 * size)
                            : 0.15 * size;
  const double tall_wanted = extent.bottom - extent.top + 2.0 * margin;
  const double wide_wanted = extent.right - extent.left + 2.0 * margin;
  const double proportion = frame.width / frame.height * aspect;  // columns per row that fill the frame
  const Interval x =
      widened(extent.left, extent.right, std::max(wide_wanted, tall_wanted * proportion), columns);
  const Interval y =
      widened(extent.top, extent.bottom, std::max(tall_wanted, wide_wanted / proportion), rows);
  if ((x.high - x.low) * (y.high - y.low) > whole_film_share * columns * rows) return whole_film(film);
  Crop crop;
  crop.left = static_cast<int>(std::floor(x.low));
  crop.top = static_cast<int>(std::floor(y.low));
  crop.columns = std::max(1, static_cast<int>(std::ceil(x.high)) - crop.left);
  crop.rows = std::max(1, static_cast<int>(std::ceil(y.high)) - crop.top);
  return crop;
}

GreyImage look_at(const Film& film, const Result& result, const Crop& crop, int most_columns, int most_rows) {
  ensure(film.grey.type() == CV_32FC1 && crop.columns > 0 && crop.rows > 0,
         "a picture shows a film with pixels");
  const cv::Rect region(crop.left, crop.top, crop.columns, crop.rows);
  cv::Mat grey = film.grey(region);
  cv::Mat unusable = film.unusable.empty() ? cv::Mat() : film.unusable(region);
  const Window window = window_of(grey, unusable);
  const double shrink = std::min(
      {1.0, static_cast<double>(most_columns) / crop.columns, static_cast<double>(most_rows) / crop.rows});
  if (shrink < 1.0) {
    const cv::Size size(std::max(1, static_cast<int>(std::lround(crop.columns * shrink))),
                        std::max(1, static_cast<int>(std::lround(crop.rows * shrink))));
    cv::Mat smaller;
    cv::resize(grey, smaller, size, 0.0, 0.0, cv::INTER_AREA);
    grey = smaller;
    if (!unusable.empty()) {
      cv::Mat smaller_mask;
      cv::resize(unusable, smaller_mask, size, 0.0, 0.0, cv::INTER_NEAREST);
      unusable = smaller_mask;
    }
  }
  const bool invert = dark_is_radiopaque(film, result);
  const float range = window.white > window.black ? window.white - window.black : 1.0F;
  GreyImage image{grey.cols, grey.rows, {}};
  image.grey.reserve(grey.total());
  for (int row = 0; row < grey.rows; ++row) {
    for (int column = 0; column < grey.cols; ++column) {
      const float value = grey.at<float>(row, column);
      const bool blank =
          !std::isfinite(value) || (!unusable.empty() && unusable.at<std::uint8_t>(row, column) != 0);
      const float share = blank ? 0.0F : std::clamp((value - window.black) / range, 0.0F, 1.0F);
      image.grey.push_back(
          static_cast<std::uint8_t>(std::lround(255.0F * (invert && !blank ? 1.0F - share : share))));
    }
  }
  return image;
}

}  // namespace canalrule::report
