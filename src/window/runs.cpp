#include "runs.hpp"

#include <algorithm>
#include <cmath>

namespace canalrule::window {

std::vector<std::vector<WidthAt>> runs_of(const std::vector<WidthAt>& widths) {
  std::vector<std::vector<WidthAt>> runs;
  double step = 0.0;  // the shortest one: the stations are evenly spaced but for what was left out
  for (std::size_t i = 1; i < widths.size(); ++i) {
    const double here = widths[i].at_mm - widths[i - 1].at_mm;
    step = i == 1 ? here : std::min(step, here);
  }
  for (const WidthAt& width : widths) {
    if (runs.empty() || width.at_mm - runs.back().back().at_mm > 2.5 * step) runs.emplace_back();
    runs.back().push_back(width);
  }
  return runs;
}

}  // namespace canalrule::window
