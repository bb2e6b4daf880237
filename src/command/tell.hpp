#pragma once

#include <string_view>

#include <canalrule/base/refusal.hpp>

#include "subcommand.hpp"

namespace canalrule::command {

/// Prints the refusal's one line on standard error; returns the exit code that says the same.
ExitCode tell(const Refusal& refusal);

/// Prints one line on standard error that says the program itself is at fault.
void tell_fault(std::string_view what);

}  // namespace canalrule::command
