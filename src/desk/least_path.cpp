#include "least_path.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <functional>
#include <limits>
#include <queue>
#include <utility>
#include <vector>

namespace canalrule::desk {

namespace {

struct Step {
  int right, down;
};

constexpr std::array<Step, 16> steps{{{1, 0},
                                      {0, 1},
                                      {-1, 0},
                                      {0, -1},
                                      {1, 1},
                                      {-1, 1},
                                      {-1, -1},
                                      {1, -1},
                                      {2, 1},
                                      {1, 2},
                                      {-1, 2},
                                      {-2, 1},
                                      {-2, -1},
                                      {-1, -2},
                                      {1, -2},
                                      {2, -1}}};

cv::Point pixel_of(const cv::Mat& image, Point at) {
  return {std::clamp(static_cast<int>(std::floor(at.x)), 0, image.cols - 1),
          std::clamp(static_cast<int>(std::floor(at.y)), 0, image.rows - 1)};
}

}  // namespace

Polyline least_path(const cv::Mat& cost, Point from, Point to) {
  const auto index = [&](cv::Point pixel) { return static_cast<std::size_t>(pixel.y * cost.cols + pixel.x); };
  const auto pixel = [&](std::size_t i) {
    return cv::Point(static_cast<int>(i) % cost.cols, static_cast<int>(i) / cost.cols);
  };
  std::array<float, 16> lengths{};
  for (std::size_t k = 0; k < steps.size(); ++k)
    lengths[k] = std::hypot(static_cast<float>(steps[k].right), static_cast<float>(steps[k].down));

  const std::size_t start = index(pixel_of(cost, from)), goal = index(pixel_of(cost, to));
  std::vector<float> least(cost.total(), std::numeric_limits<float>::infinity());
  std::vector<std::size_t> before(cost.total(), start);
  using Reached = std::pair<float, std::size_t>;
  std::priority_queue<Reached, std::vector<Reached>, std::greater<>> open;
  least[start] = 0.0F;
  open.push({0.0F, start});
  while (!open.empty()) {
    const auto [so_far, here] = open.top();
    open.pop();
    if (here == goal) break;
    if (so_far > least[here]) continue;
    const cv::Point at = pixel(here);
    for (std::size_t k = 0; k < steps.size(); ++k) {
      const cv::Point next(at.x + steps[k].right, at.y + steps[k].down);
      if (next.x < 0 || next.y < 0 || next.x >= cost.cols || next.y >= cost.rows) continue;
      const float price = so_far + 0.5F * lengths[k] * (cost.at<float>(at) + cost.at<float>(next));
      if (price >= least[index(next)]) continue;
      least[index(next)] = price;
      before[index(next)] = here;
      open.push({price, index(next)});
    }
  }
  Polyline line;
  for (std::size_t here = goal;; here = before[here]) {
    line.push_back({pixel(here).x + 0.5, pixel(here).y + 0.5});
    if (here == start) break;
  }
  std::reverse(line.begin(), line.end());
  return line;
}

}  // namespace canalrule::desk
