#pragma once

#include <canalrule/record/feedback.hpp>
#include <canalrule/record/result.hpp>
#include <canalrule/record/rubric.hpp>
#include <optional>
#include <string>
#include <vector>

namespace canalrule {

/// A fault and where it is.
struct FoundFault {
  Fault fault = Fault::ends_short;
  std::optional<double> from_mm, to_mm;  ///< from < to
  std::optional<Third> third;
  std::string figure;  ///< in words, with its uncertainty
};

/// What makes `figure` of this canal lie outside the best stretch of its line; `best` has the limits of that
/// stretch. Empty where the figure lies in it or isn't there.
std::vector<FoundFault> find_faults(const CanalResult& canal, const Looked& looked, const Band& best);

}  // namespace canalrule
