#include <charconv>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <optional>
#include <string>
#include <system_error>

#include <boost/dll/shared_library.hpp>

#include <canalrule/base/refusal.hpp>
#include <canalrule/window/start.hpp>

#include "grammar.hpp"
#include "shipped_files.hpp"
#include "standard_output.hpp"
#include "subcommand.hpp"

namespace canalrule::command {

namespace fs = std::filesystem;
namespace po = boost::program_options;

namespace {

constexpr const char* remarks =
    R"(The window shows three steps, in any order: the scale, the canals, the apex of
each. The measurement beside the film is redone at each change, by the same
call that 'canalrule measure' makes; docs/drawing.md goes through it once.
Readings are saved as they change, beside the film unless --readings says
where, whole or not at all. The film itself is never written to. What can't be
opened is told in the window.

Exit codes:
  0 fine   2 wrong use   3 a criteria file can't be used
  4 there is no display, or no window in this build

Examples:
  canalrule draw molar.png
  canalrule draw audit/ --reader A1 --blind 7 --readings second-reading/

The figures describe a projection, not a volume. They are no diagnosis: a
licensed clinician judges. No exposure is ever justified by a measurement.
)";

Grammar grammar() {
  Grammar grammar{
      .name = "draw",
      .usage = "[FILM|READING|FOLDER|CASES.csv] [options]",
      .purpose = "Opens a window to mark films in and to read the measurement beside them: one film, a "
                 "reading made before, every film of a folder, or a list of cases.",
      .operand = "what",
      .most_operands = 1,
      .options = po::options_description(),
      .remarks = remarks};
  grammar.options.add_options()
      ("reader", po::value<std::string>()->value_name("NAME"),
       "Who marks the films; a second reader's readings never touch those of the first.")
      ("readings", po::value<std::string>()->value_name("FOLDER"),
       "Keep the readings in this folder in place of beside the films.")
      ("blind", po::value<std::string>()->value_name("SEED"),
       "Blind mode for repeat readings: names, readers and earlier readings are hidden, and the films come in "
       "an order shuffled by this whole number.")
      ("criteria", po::value<std::string>()->value_name("NAME|FILE"),
       "Judge by these criteria: the name of a set that came with the program ('canalrule criteria' lists "
       "them; 'default' unless told) or the path of a .json file.")
      ("help", "Print this text.");
  return grammar;
}

std::uint64_t seed_of(const std::string& text) {
  std::uint64_t seed = 0;
  const char* const end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, seed);
  if (error != std::errc{} || stop != end)
    refuse_use(grammar(), "--blind", "\"" + text + "\" is no whole number", "any from 0 up will do");
  return seed;
}

window::Opening opening_of(const po::variables_map& given, const Call& call) {
  window::Opening opening;
  if (given.count("what") != 0) {
    const auto& words = given["what"].as<std::vector<std::string>>();
    if (words.front().empty()) refuse_use(grammar(), "FILM", "names nothing", "");
    opening.what = fs::path(words.front());
  }
  opening.criteria = shipped_file(ShippedKind::criteria,
                   {"draw", "--criteria", path_option(grammar(), given, "criteria").value_or("default").string()},
                   call.program);
  if (given.count("reader") != 0) opening.reader = given["reader"].as<std::string>();
  opening.readings = path_option(grammar(), given, "readings");
  if (given.count("blind") != 0) opening.blind_seed = seed_of(given["blind"].as<std::string>());
  return opening;
}

/// The module beside the program (a build folder), else in the installation's library folder.
std::optional<fs::path> window_module(const fs::path& program) {
  if (program.empty()) return std::nullopt;
  const fs::path folder = program.parent_path();
  for (const fs::path& place : {folder / CANALRULE_WINDOW_FILE, folder / CANALRULE_WINDOW_FROM_PROGRAM}) {
    std::error_code error;
    if (fs::is_regular_file(place, error)) return place;
  }
  return std::nullopt;
}

}  // namespace

std::string draw_help() { return help_text(grammar()); }

ExitCode run_draw(const Call& call) {
  const po::variables_map given = parse(grammar(), call.arguments);
  if (given.count("help") != 0) {
    print(draw_help());
    return ExitCode::fine;
  }
  const window::Opening opening = opening_of(given, call);
  const std::optional<fs::path> module = window_module(call.program);
  if (!module)
    throw Refusal(RefusalKind::unwritable_output, "draw", "", "this build has no window",
                  "build with Qt 6 Widgets and without -DCANALRULE_WINDOW=OFF");
  boost::dll::fs::error_code error;
  boost::dll::shared_library library(*module, error);
  if (error)
    throw Refusal(RefusalKind::unwritable_output, module->string(), "", "can't be loaded: " + error.message(),
                  "Qt 6 Widgets may be missing on this machine");
  const window::Ending ending = library.get<window::Start>(window::start_symbol)(opening);
  if (ending == window::Ending::no_display)
    throw Refusal(RefusalKind::unwritable_output, "draw", "", "there is no display to open a window on",
                  "start it from a desktop session");
  return ExitCode::fine;
}

}  // namespace canalrule::command
