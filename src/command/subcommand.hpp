#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace canalrule::command {

/// What the program tells whoever started it.
enum class ExitCode {
  fine = 0,
  wrong_use = 2,
  unusable_input = 3,
  unwritable_output = 4,
  some_failed = 5,  ///< a list went to its end, and some of its cases couldn't be measured
  stopped = 6,      ///< an audit was stopped before its end
  own_fault = 70
};

/// What a subcommand is called with.
struct Call {
  std::vector<std::string> arguments;  ///< those after the subcommand's name
  std::filesystem::path program;       ///< where the program itself lies; empty where it can't be told
};

struct Subcommand {
  std::string_view name;
  std::string_view summary;  ///< for the list of subcommands, at most 60 characters
  std::string (*help)();
  ExitCode (*run)(const Call&);
};

std::string measure_help();
ExitCode run_measure(const Call& call);

std::string draw_help();
ExitCode run_draw(const Call& call);

std::string simulate_help();
ExitCode run_simulate(const Call& call);

std::string audit_help();
ExitCode run_audit_command(const Call& call);

std::string plan_audit_help();
ExitCode run_plan_audit(const Call& call);

std::string grade_help();
ExitCode run_grade(const Call& call);

std::string criteria_help();
ExitCode run_criteria(const Call& call);

}  // namespace canalrule::command
