#pragma once

#include <canalrule/report/document.hpp>
#include <vector>

/// One chart of each kind with invented figures, and a document that holds them all.
namespace sample {

std::vector<canalrule::report::Chart> charts();

/// The same kinds with nothing in them.
std::vector<canalrule::report::Chart> empty_charts();

canalrule::report::Document document();

}  // namespace sample
