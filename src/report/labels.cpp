#include "labels.hpp"

#include <algorithm>
#include <numeric>

namespace canalrule::report {

bool Occupied::free(const Box& box) const {
  return std::none_of(boxes_.begin(), boxes_.end(), [&](const Box& other) {
    return box.left < other.right() && other.left < box.right() && box.top < other.bottom() &&
           other.top < box.bottom();
  });
}

std::vector<Placed> spread(const std::vector<Wish>& wishes, double top, double bottom) {
  std::vector<std::size_t> order(wishes.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  const auto height = [&](double sum, std::size_t i) { return sum + wishes[i].height; };
  while (!order.empty() && std::accumulate(order.begin(), order.end(), 0.0, height) > bottom - top) {
    order.erase(std::min_element(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return wishes[a].rank < wishes[b].rank;
    }));
  }
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return wishes[a].wanted < wishes[b].wanted; });

  // Runs of touching labels, each run's middle where the mean of its wishes is (pool adjacent violators).
  struct Run {
    std::size_t first = 0, count = 0;
    double height = 0.0, wanted_top = 0.0;  // the mean of the tops its members ask for
    double top = 0.0;
  };
  std::vector<Run> runs;
  for (std::size_t i = 0; i < order.size(); ++i) {
    const Wish& wish = wishes[order[i]];
    Run run{i, 1, wish.height, wish.wanted - wish.height / 2.0, 0.0};
    const auto settle = [&](Run& r) { r.top = std::max(top, std::min(r.wanted_top, bottom - r.height)); };
    settle(run);
    while (!runs.empty() && runs.back().top + runs.back().height > run.top) {
      const Run before = runs.back();
      runs.pop_back();
      const double count = static_cast<double>(before.count + run.count);
      run.wanted_top = (static_cast<double>(before.count) * before.wanted_top +
                        static_cast<double>(run.count) * (run.wanted_top - before.height)) /
                       count;
      run.first = before.first;
      run.count += before.count;
      run.height += before.height;
      settle(run);
    }
    runs.push_back(run);
  }
  std::vector<Placed> placed;
  for (const Run& run : runs) {
    double at = run.top;
    for (std::size_t i = run.first; i < run.first + run.count; ++i) {
      placed.push_back({order[i], at + wishes[order[i]].height / 2.0});
      at += wishes[order[i]].height;
    }
  }
  return placed;
}

}  // namespace canalrule::report
