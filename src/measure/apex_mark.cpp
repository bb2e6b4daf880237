#include "apex_mark.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "click.hpp"

namespace canalrule {

UncertaintyPart apex_mark(const CanalMarks& marks, const CanalPath& path, double mm_per_px) {
  if (marks.apex_uncertainty_mm) return {"apex mark", *marks.apex_uncertainty_mm, "stated in the reading"};
  if (marks.apex_marks.size() < 3) return {"apex mark", assumed_apex_mark_mm, "an assumption"};
  std::vector<double> s{path.project(marks.apex).s_px};
  for (const Point& again : marks.apex_marks) s.push_back(path.project(again).s_px);
  const double n = static_cast<double>(s.size());
  double mean = 0.0;
  for (const double one : s) mean += one / n;
  double squares = 0.0;
  for (const double one : s) squares += (one - mean) * (one - mean);
  // The standard deviation of one mark, widened because so few marks know it only so well: the scaled t
  // distribution's (JCGM 101:2008, 6.4.9.4), the sample's variance times (n - 1) / (n - 3).
  // No mark is surer than a click.
  const double deviation = std::max(click_px, std::sqrt(squares / (n - 3.0)));
  return {"apex mark", deviation * mm_per_px, std::to_string(s.size()) + " marks in the reading"};
}

}  // namespace canalrule
