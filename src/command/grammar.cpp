#include "grammar.hpp"

#include <sstream>

#include <canalrule/base/refusal.hpp>

#include "wrapped.hpp"

namespace canalrule::command {

namespace po = boost::program_options;

namespace {

std::string see_help(const Grammar& grammar) { return "see canalrule " + grammar.name + " --help"; }

/// Boost leaves the space at which it broke a line.
std::string without_trailing_spaces(const std::string& text) {
  std::istringstream lines(text);
  std::string kept;
  for (std::string line; std::getline(lines, line);) kept += line.substr(0, line.find_last_not_of(' ') + 1) + '\n';
  return kept;
}

}  // namespace

po::variables_map parse(const Grammar& grammar, const std::vector<std::string>& arguments) {
  po::options_description all;
  all.add(grammar.options);
  po::positional_options_description operands;
  if (!grammar.operand.empty()) {
    all.add_options()(grammar.operand.c_str(), po::value<std::vector<std::string>>());
    operands.add(grammar.operand.c_str(), grammar.most_operands);
  }
  // An abbreviated option would change its meaning once a second one begins alike.
  const int style = po::command_line_style::unix_style & ~po::command_line_style::allow_guessing;
  po::variables_map given;
  try {
    po::store(po::command_line_parser(arguments).options(all).positional(operands).style(style).run(), given);
    po::notify(given);
  } catch (const po::error& error) {
    throw Refusal(RefusalKind::wrong_use, grammar.name, "", error.what(), see_help(grammar));
  }
  return given;
}

std::optional<std::filesystem::path> path_option(const Grammar& grammar, const po::variables_map& given,
                                                 const std::string& option) {
  if (given.count(option) == 0) return std::nullopt;
  const auto& value = given[option].as<std::string>();
  if (value.empty()) refuse_use(grammar, "--" + option, "names nothing", "");
  return std::filesystem::path(value);
}

std::string help_text(const Grammar& grammar) {
  std::ostringstream text;
  text << "Usage: canalrule " << grammar.name << ' ' << grammar.usage << "\n\n"
       << wrapped(grammar.purpose) << "\nOptions:\n"
       << grammar.options;
  if (!grammar.remarks.empty()) text << '\n' << grammar.remarks;
  return without_trailing_spaces(text.str());
}

void refuse_use(const Grammar& grammar, const std::string& argument, const std::string& problem,
                const std::string& remedy) {
  throw Refusal(RefusalKind::wrong_use, grammar.name, argument, problem,
                remedy.empty() ? see_help(grammar) : remedy);
}

}  // namespace canalrule::command
