#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <boost/program_options.hpp>

namespace canalrule::command {

/// A subcommand's arguments, described once: what is parsed and what the help says follow from it.
struct Grammar {
  std::string name;         ///< of the subcommand
  std::string usage;        ///< the lines after "canalrule NAME "
  std::string purpose;      ///< one paragraph
  std::string operand;      ///< what the arguments without an option are called; empty: there are none
  int most_operands = 0;    ///< -1 for any number
  boost::program_options::options_description options;
  std::string remarks;      ///< what follows the options
};

/// Refuses (wrong_use) an unknown, repeated or incomplete option and operands too many.
boost::program_options::variables_map parse(const Grammar& grammar, const std::vector<std::string>& arguments);

/// The file or folder that an option names, where it is given. Refuses (wrong_use) an empty name.
std::optional<std::filesystem::path> path_option(const Grammar& grammar,
                                                 const boost::program_options::variables_map& given,
                                                 const std::string& option);

/// The help text, at most 80 columns wide.
std::string help_text(const Grammar& grammar);

/// Throws the refusal (wrong_use) for one option or operand of a subcommand.
[[noreturn]] void refuse_use(const Grammar& grammar, const std::string& argument, const std::string& problem,
                             const std::string& remedy);

}  // namespace canalrule::command
