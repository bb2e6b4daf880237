#include <canalrule/desk/proposal.hpp>

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include <canalrule/desk/marks.hpp>

#include "least_path.hpp"
#include "lines.hpp"

namespace canalrule::desk {

namespace {

constexpr double least_distance_px = 10.0;

/// The search is done with the two ends this many pixels apart, or as far as they are: a canal of 12 mm then
/// has 0.06 mm per pixel. Chosen here, as all that follows, with tests/unit/desk/test_proposal.cpp.
constexpr double apart_px = 200.0;

/// Film searched beyond both ends and to the sides, as a share of their distance: the most curved canals stay
/// within.
constexpr double margin_share = 0.35;

/// Gaussian standard deviations at which ridges are looked for, in those pixels: fills of 0.3 to 1.5 mm.
constexpr double ridge_scales[] = {2.0, 3.5, 6.0};

/// A ridge below this share of a full one is taken for none: the dentine beside an empty canal makes ridges
/// of up to 0.45, the narrow end of a fill makes 0.55 and more.
constexpr float no_fill = 0.45F;

/// A step without any ridge costs the inverse of this, one on a full ridge about 1: an empty stretch is
/// crossed straight, not gone around.
constexpr float least_speed = 0.2F;

/// All of this costs twice as much at this distance from the straight line between the ends, as a share of
/// their distance, and more farther off: a neighbour's fill is no short cut past an empty stretch.
constexpr double wide_share = 0.15;

/// The line is smoothed by this many steps to each side.
constexpr int smoothing = 6;

/// A line through few points stays this close to the path found, in its pixels.
constexpr double most_apart_px = 1.2;
constexpr int fewest_points = 4, most_points = 12;

/// The part of the film that is searched, and how its pixels lie on the film's.
struct Window {
  cv::Mat grey;
  cv::Point2d corner;
  double film_px_per_px_x = 1.0, film_px_per_px_y = 1.0;

  Point inside(Point on_film) const {
    return {(on_film.x - corner.x) / film_px_per_px_x, (on_film.y - corner.y) / film_px_per_px_y};
  }
  Point on_film(Point inside_window) const {
    return {inside_window.x * film_px_per_px_x + corner.x, inside_window.y * film_px_per_px_y + corner.y};
  }
};

Window window_of(const Film& film, Point orifice, Point apex) {
  const double apart = distance_px(orifice, apex);
  const double margin = margin_share * apart + 20.0;
  const auto corner = [&](double x, double y) {
    return cv::Point(static_cast<int>(std::floor(x)), static_cast<int>(std::floor(y)));
  };
  const cv::Rect wanted(corner(std::min(orifice.x, apex.x) - margin, std::min(orifice.y, apex.y) - margin),
                        corner(std::max(orifice.x, apex.x) + margin, std::max(orifice.y, apex.y) + margin));
  const cv::Rect seen = wanted & cv::Rect(0, 0, film.grey.cols, film.grey.rows);
  Window window;
  window.corner = {static_cast<double>(seen.x), static_cast<double>(seen.y)};
  const double shrink = std::min(1.0, apart_px / apart);
  const cv::Size size(std::max(1, static_cast<int>(std::lround(seen.width * shrink))),
                      std::max(1, static_cast<int>(std::lround(seen.height * shrink))));
  cv::resize(film.grey(seen), window.grey, size, 0.0, 0.0, cv::INTER_AREA);
  window.film_px_per_px_x = static_cast<double>(seen.width) / size.width;
  window.film_px_per_px_y = static_cast<double>(seen.height) / size.height;
  return window;
}

/// How much a bright ridge passes each pixel: the largest of -lambda * sigma^2 over the scales, lambda the
/// lesser eigenvalue of the Hessian (Lindeberg, Int. J. Comput. Vis. 1998;30:117-154, with gamma = 1).
cv::Mat ridges(const cv::Mat& bright) {
  cv::Mat strongest = cv::Mat::zeros(bright.size(), CV_32FC1);
  cv::Mat smooth, xx, yy, xy;
  for (const double sigma : ridge_scales) {
    cv::GaussianBlur(bright, smooth, {}, sigma, sigma, cv::BORDER_REPLICATE);
    cv::Sobel(smooth, xx, CV_32F, 2, 0, 3, 0.25);
    cv::Sobel(smooth, yy, CV_32F, 0, 2, 3, 0.25);
    cv::Sobel(smooth, xy, CV_32F, 1, 1, 3, 0.25);
    const auto weight = static_cast<float>(sigma * sigma);
    for (int row = 0; row < bright.rows; ++row) {
      const float *a = xx.ptr<float>(row), *b = yy.ptr<float>(row), *c = xy.ptr<float>(row);
      float* out = strongest.ptr<float>(row);
      for (int column = 0; column < bright.cols; ++column) {
        const float mean = 0.5F * (a[column] + b[column]);
        const float half = 0.5F * (a[column] - b[column]);
        const float lesser = mean - std::sqrt(half * half + c[column] * c[column]);
        out[column] = std::max(out[column], -lesser * weight);
      }
    }
  }
  return strongest;
}

/// The strength of a ridge that counts as full: of the strongest ridges on cuts across the way from end to
/// end the median, so that neither a restoration nor an empty stretch sets it.
float full_strength(const cv::Mat& ridge, Point from, Point to) {
  const double length = distance_px(from, to);
  const Point along{(to.x - from.x) / length, (to.y - from.y) / length};
  std::vector<float> strongest;
  for (double s = 0.0; s <= length; s += 2.0) {
    float most = 0.0F;
    for (double n = -margin_share * length / 2.0; n <= margin_share * length / 2.0; n += 1.0) {
      const int column = static_cast<int>(from.x + s * along.x - n * along.y);
      const int row = static_cast<int>(from.y + s * along.y + n * along.x);
      if (column >= 0 && row >= 0 && column < ridge.cols && row < ridge.rows)
        most = std::max(most, ridge.at<float>(row, column));
    }
    strongest.push_back(most);
  }
  const auto middle = strongest.begin() + static_cast<std::ptrdiff_t>(strongest.size() / 2);
  std::nth_element(strongest.begin(), middle, strongest.end());
  return *middle;
}

struct Candidate {
  Polyline line;
  double strength = 0.0;  ///< mean ridge along it, in grey
};

Candidate along_ridges(const cv::Mat& bright, Point from, Point to) {
  const cv::Mat ridge = ridges(bright);
  const float full = std::max(full_strength(ridge, from, to), 1e-12F);
  const double length = distance_px(from, to);
  const Point along{(to.x - from.x) / length, (to.y - from.y) / length};
  cv::Mat cost(ridge.size(), CV_32FC1);
  for (int row = 0; row < ridge.rows; ++row) {
    const float* strength = ridge.ptr<float>(row);
    float* out = cost.ptr<float>(row);
    for (int column = 0; column < ridge.cols; ++column) {
      const float share = strength[column] / full;
      const double side =
          ((row + 0.5 - from.y) * along.x - (column + 0.5 - from.x) * along.y) / (wide_share * length);
      out[column] = static_cast<float>(1.0 + side * side) /
                    (least_speed + std::clamp((share - no_fill) / (1.0F - no_fill), 0.0F, 1.0F));
    }
  }
  Candidate found{least_path(cost, from, to), 0.0};
  for (const Point& point : found.line)
    found.strength +=
        static_cast<double>(ridge.at<float>(static_cast<int>(point.y), static_cast<int>(point.x)));
  found.strength /= static_cast<double>(found.line.size());
  return found;
}

/// A running mean, its window cut at the ends so that these stay.
Polyline smoothed(const Polyline& line) {
  Polyline out;
  const int count = static_cast<int>(line.size());
  for (int i = 0; i < count; ++i) {
    const int reach = std::min({smoothing, i, count - 1 - i});
    Point sum;
    for (int k = i - reach; k <= i + reach; ++k) {
      sum.x += line[static_cast<std::size_t>(k)].x;
      sum.y += line[static_cast<std::size_t>(k)].y;
    }
    out.push_back({sum.x / (2 * reach + 1), sum.y / (2 * reach + 1)});
  }
  return out;
}

Polyline spread(const Polyline& line, int count) {
  Polyline points;
  for (int i = 0; i < count; ++i)
    points.push_back(
        line[static_cast<std::size_t>(i) * (line.size() - 1) / static_cast<std::size_t>(count - 1)]);
  return points;
}

double most_apart(const Polyline& line, const Polyline& from) {
  double most = 0.0;
  for (const Point& point : line) {
    double nearest = 1e9;
    for (const Point& other : from) nearest = std::min(nearest, distance_px(point, other));
    most = std::max(most, nearest);
  }
  return most;
}

/// As few points as the line needs, evenly spread.
Polyline few_points(const Polyline& line) {
  for (int count = fewest_points;; ++count) {
    Polyline points = spread(line, count);
    if (count == most_points || most_apart(line, smooth_line(points, 1.0, 1.0)) <= most_apart_px)
      return points;
  }
}

bool on_film(const Film& film, Point at) {
  return at.x >= 0.0 && at.y >= 0.0 && at.x < film.grey.cols && at.y < film.grey.rows;
}

}  // namespace

std::optional<Polyline> propose_line(const Film& film, std::optional<Radiopaque> radiopaque, Point orifice,
                                     Point apex) {
  if (!on_film(film, orifice) || !on_film(film, apex) || distance_px(orifice, apex) < least_distance_px)
    return std::nullopt;
  const Window window = window_of(film, orifice, apex);
  const Point from = window.inside(orifice), to = window.inside(apex);
  if (!radiopaque) radiopaque = film.radiopaque;
  Candidate best;
  if (radiopaque != Radiopaque::dark) best = along_ridges(window.grey, from, to);
  if (radiopaque != Radiopaque::bright) {
    Candidate dark = along_ridges(-window.grey, from, to);
    if (best.line.empty() || dark.strength > best.strength) best = std::move(dark);
  }
  Polyline line = few_points(smoothed(best.line));
  for (Point& point : line) point = window.on_film(point);
  line.front() = orifice;
  line.back() = apex;
  return line;
}

}  // namespace canalrule::desk
