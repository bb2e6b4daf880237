#include <algorithm>
#include <string>
#include <vector>

#include <canalrule/base/refusal.hpp>
#include <canalrule/record/criteria.hpp>

#include "grammar.hpp"
#include "shipped_files.hpp"
#include "standard_output.hpp"
#include "subcommand.hpp"
#include "wrapped.hpp"

namespace canalrule::command {

namespace po = boost::program_options;

namespace {

Grammar grammar() {
  Grammar grammar{
      .name = "criteria",
      .usage = "[NAME]",
      .purpose = "Lists the criteria that came with the program: the name that 'canalrule measure "
                 "--criteria' takes, the version and the published source. With a NAME, says what "
                 "that set asks of each canal, what its source leaves open, and where its file lies. "
                 "The thresholds of published sources differ, so none is built in: a file of your "
                 "own, made like one of these, serves as well.",
      .operand = "name",
      .most_operands = 1,
      .options = po::options_description(),
      .remarks = "Exit codes:\n  0 fine   2 wrong use   3 a criteria file can't be used\n"};
  grammar.options.add_options()("help", "Print this text.");
  return grammar;
}

constexpr const char* indent = "    ";

std::string listed(const ShippedFile& shipped, const Criteria& criteria) {
  return shipped.name + ": " + criteria.name + ", version " + criteria.version + '\n' +
         wrapped("Source: " + criteria.source, indent);
}

std::string described(const ShippedFile& shipped, const Criteria& criteria) {
  std::string text = listed(shipped, criteria);
  for (const Criterion& criterion : criteria.criteria) text += wrapped("- " + criterion.text, indent);
  if (!criteria.note.empty()) text += wrapped("Note: " + criteria.note, indent);
  return text + indent + "File: " + shipped.file.string() + '\n';
}

}  // namespace

std::string criteria_help() { return help_text(grammar()); }

ExitCode run_criteria(const Call& call) {
  const po::variables_map given = parse(grammar(), call.arguments);
  if (given.count("help") != 0) {
    print(criteria_help());
    return ExitCode::fine;
  }
  const std::vector<ShippedFile> all = shipped_files(ShippedKind::criteria, call.program);
  if (all.empty())
    throw Refusal(RefusalKind::unusable_input, "criteria", "",
                  "the folder of criteria that comes with the program was not found",
                  "install the program again, or give 'canalrule measure --criteria' a path");
  if (given.count("name") != 0) {
    const auto& name = given["name"].as<std::vector<std::string>>().front();
    const auto found = std::ranges::find(all, name, &ShippedFile::name);
    if (found == all.end())
      refuse_use(grammar(), name, "no criteria of this name came with the program", "see canalrule criteria");
    print(described(*found, load_criteria(found->file)));
    return ExitCode::fine;
  }
  std::string text;
  for (const ShippedFile& shipped : all) text += listed(shipped, load_criteria(shipped.file));
  print(text);
  return ExitCode::fine;
}

}  // namespace canalrule::command
