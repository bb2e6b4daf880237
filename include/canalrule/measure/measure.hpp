#pragma once

#include <cstddef>

#include <canalrule/cases/open_case.hpp>
#include <canalrule/measure/scale.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule {

/// Measures every canal of a case: the one function that the command line, the window, the audit and
/// the tests call. Canals are measured side by side, at most as many at a time as `threads`; the same case gives
/// the same result on any number of them. Refuses (unusable_input) a case without any scale; what the film doesn't
/// show is a null figure with its reason in the result.
Result measure(const Case& opened, std::size_t threads = 1);

/// The same for a scale that find_scale gave before for this film and these marks.
Result measure(const Case& opened, ScaleFound scale);

}  // namespace canalrule
