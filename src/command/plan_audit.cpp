#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include <canalrule/audit/sample.hpp>
#include <canalrule/base/plain.hpp>
#include <canalrule/base/whole_file.hpp>

#include "file_names.hpp"
#include "grammar.hpp"
#include "numbers.hpp"
#include "standard_output.hpp"
#include "subcommand.hpp"

namespace canalrule::command {

namespace fs = std::filesystem;
namespace po = boost::program_options;

namespace {

constexpr const char* remarks =
    R"(A share of canals is known the better the more are looked at: this says how
many cases suffice, should the share be as expected, and which to take. The
number is the least for which Wilson's interval (1927) is narrow enough,
multiplied by a design effect where several canals are of one patient (Kish
1965: 1 + (canals a patient - 1) x correlation) and lessened where the cases
that could be drawn are few (Cochran 1977, 4.4).

CASES is a list as 'canalrule audit' takes it; the column 'reading' may still be
missing. Its column 'patient', where there is one, tells how many cases a
patient has. A row is a case: leave second readings of a film out. The drawn
rows are written as a list of the same columns and order. The same list and seed
give the same cases on any machine, and a larger sample by the same seed holds
the smaller one. Choose the seed before you look at the cases, and keep it with
the list: then anyone can draw again.

Exit codes:
  0 fine   2 wrong use   3 the list can't be used
  4 an output can't be written

Examples:
  canalrule plan-audit --expected 0.7 --half-width 0.05
  canalrule plan-audit year.csv --canals-per-case 1.8 --correlation 0.3 \
    --seed 2026 --output sample.csv

Draw from films that exist: no exposure is ever justified by an audit.
)";

Grammar grammar() {
  Grammar grammar{.name = "plan-audit",
                  .usage = "[CASES] [options]",
                  .purpose =
                      "Says how many cases an audit needs for an interval that is narrow enough, and draws "
                      "them from a list.",
                  .operand = "cases-list",
                  .most_operands = -1,
                  .options = po::options_description(),
                  .remarks = remarks};
  grammar.options.add_options()
      ("expected", po::value<std::string>()->value_name("SHARE"),
       "The share of canals that is expected to meet the criteria, 0 to 1; 0.5 unless told, which asks for "
       "the most.")
      ("half-width", po::value<std::string>()->value_name("SHARE"),
       "How far the interval may reach to either side on average (half its length), 0.0005 to 0.499; 0.05 unless "
       "told.")
      ("level", po::value<std::string>()->value_name("SHARE"), "The interval's level, 0.5 to 0.9999; 0.95 unless told.")
      ("cases", po::value<std::string>()->value_name("N"),
       "How many cases could be drawn, where no list is named; without end unless told.")
      ("canals-per-case", po::value<std::string>()->value_name("M"), "Mean number of canals; 1 unless told.")
      ("canals-per-patient", po::value<std::string>()->value_name("M"),
       "Mean number of canals over all cases of a patient; as the list's patients have it unless told, or that of a "
       "case.")
      ("correlation", po::value<std::string>()->value_name("R"),
       "How alike canals of one patient are, 0 (independent) to 1 (a patient counts as one canal: the most "
       "cautious, unless told).")
      ("design-effect", po::value<std::string>()->value_name("D"),
       "The design effect, where an earlier audit's summary.json tells it, in place of the two before.")
      ("seed", po::value<std::string>()->value_name("NUMBER"), "Draw by this seed, a whole number.")
      ("draw", po::value<std::string>()->value_name("N"), "Draw so many cases in place of those needed.")
      ("output", po::value<std::string>()->value_name("FILE"), "Write the drawn cases to this list (CSV).")
      ("help", "Print this text.");
  return grammar;
}

struct Bounds {
  double least, most;
};

/// The number that an option gives. Refuses what isn't one or lies out of bounds.
double number_option(const po::variables_map& given, const std::string& option, double otherwise,
                     const Bounds& bounds) {
  if (given.count(option) == 0) return otherwise;
  const auto& text = given[option].as<std::string>();
  double number = 0.0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, number);
  const bool inside = bounds.least <= number && number <= bounds.most;
  if (error != std::errc() || stop != end || !inside)
    refuse_use(grammar(), "--" + option, "'" + text + "' won't do",
               "give a number from " + plain_shortest(bounds.least) + " to " + plain_shortest(bounds.most) +
                   ", with a point for the decimals");
  return number;
}

std::optional<std::size_t> whole_option(const po::variables_map& given, const std::string& option,
                                        std::size_t least) {
  if (given.count(option) == 0) return std::nullopt;
  const auto& text = given[option].as<std::string>();
  const std::optional<std::size_t> number = whole_number(text);
  if (!number || *number < least)
    refuse_use(grammar(), "--" + option, "'" + text + "' won't do",
               "give a whole number, " + std::to_string(least) + " or more");
  return number;
}

constexpr double most_canals = 1000.0;  // chosen here: of a case or a patient; more is a slip of the keyboard
constexpr std::size_t most_cases = 1000000000;  // chosen here: far more than there are films

/// Cases a patient by a list's column of patients; a case without one is its own.
double cases_per_patient(const std::optional<CaseList>& list) {
  if (!list || !list->find_column("patient")) return 1.0;
  std::set<std::string> patients;
  std::size_t alone = 0;
  for (const CaseListRow& row : list->rows) {
    const std::string& patient = list->value(row, "patient");
    if (patient.empty())
      ++alone;
    else
      patients.insert(patient);
  }
  return static_cast<double>(list->rows.size()) / static_cast<double>(patients.size() + alone);
}

SampleWish wish_of(const po::variables_map& given, const std::optional<CaseList>& list) {
  SampleWish wish;
  wish.expected_share = number_option(given, "expected", wish.expected_share, {0.0, 1.0});
  // Chosen here: a narrower interval, or a surer one, takes more films than there are.
  wish.half_width = number_option(given, "half-width", wish.half_width, {0.0005, 0.499});
  wish.level = number_option(given, "level", wish.level, {0.5, 0.9999});
  wish.canals_per_case = number_option(given, "canals-per-case", 1.0, {1.0, most_canals});
  wish.canals_per_patient =
      number_option(given, "canals-per-patient", std::min(most_canals, wish.canals_per_case * cases_per_patient(list)),
                    {1.0, most_canals});
  if (wish.canals_per_patient < wish.canals_per_case)
    refuse_use(grammar(), "--canals-per-patient", "is less than a case has", "give as many or more");
  wish.correlation = number_option(given, "correlation", wish.correlation, {0.0, 1.0});
  if (given.count("design-effect") != 0) {
    for (const char* other : {"canals-per-patient", "correlation"})
      if (given.count(other) != 0)
        refuse_use(grammar(), "--design-effect", std::string("stands beside --") + other,
                   "give one of the two");
    wish.design_effect = number_option(given, "design-effect", 1.0, {1.0, most_canals});
  }
  return wish;
}

std::optional<CaseList> list_of(const po::variables_map& given) {
  if (given.count("cases-list") == 0) return std::nullopt;
  const auto& operands = given["cases-list"].as<std::vector<std::string>>();
  if (operands.size() > 1)
    refuse_use(grammar(), "CASES", "more than one is named", "one list holds all cases");
  if (operands.front().empty()) refuse_use(grammar(), "CASES", "names nothing", "");
  return load_case_list(operands.front(),
                        {.further_columns = {}, .readings = CaseListNeeds::Readings::may_be_missing});
}

/// What is to be drawn, and where it goes.
struct Draw {
  std::size_t seed = 0;
  fs::path output;
};

std::optional<Draw> draw_of(const po::variables_map& given, const std::optional<CaseList>& list) {
  const std::optional<std::size_t> seed = whole_option(given, "seed", 0);
  const std::optional<fs::path> output = path_option(grammar(), given, "output");
  if (!seed && !output) {
    if (given.count("draw") != 0)
      refuse_use(grammar(), "--draw", "nothing is drawn", "give --seed and --output");
    return std::nullopt;
  }
  if (!list)
    refuse_use(grammar(), seed ? "--seed" : "--output", "there is no list to draw from", "name CASES");
  if (!seed) refuse_use(grammar(), "--output", "there is no seed to draw by", "give --seed, a whole number");
  if (!output)
    refuse_use(grammar(), "--seed", "there is nowhere to write the drawn cases", "give --output FILE");
  if (same_file(*output, list->file))
    refuse_use(grammar(), "--output", "'" + list->file + "' would be written over", "name another file");
  if (holds_film(*output))
    refuse_use(grammar(), "--output", "'" + output->string() + "' is a film and would be lost", "name another file");
  return Draw{*seed, *output};
}

std::string line(std::string name, const std::string& text) {
  name.resize(22, ' ');
  return name + text + '\n';
}

/// Enough decimals that a figure given by hand stands as it was given.
std::string share(double value) { return plain(value, 3); }

std::string clustering(const SampleWish& wish, double design_effect) {
  const std::string text = plain(design_effect, 2);
  if (wish.design_effect) return text + " (given)";
  if (wish.canals_per_patient == 1.0) return text + " (one canal a patient)";
  return text + " (" + plain(wish.canals_per_patient, 1) + " canals a patient, correlation " +
         plain(wish.correlation, 2) + ")";
}

std::string plan_text(const SampleWish& wish, const SampleNeeded& needed) {
  std::string text = line("Expected share", share(wish.expected_share));
  text += line("Interval wanted", plain(100.0 * wish.level, 1) + " %, up to " + share(wish.half_width) +
                                      " on average to either side (Wilson)");
  text += line("Independent canals", plain(std::ceil(needed.independent_canals - 1e-9), 0));
  text += line("Design effect", clustering(wish, needed.design_effect));
  text += line("Canals a case", plain(wish.canals_per_case, 1));
  text += line("Cases needed",
               std::to_string(needed.cases) + (wish.cases ? " of " + std::to_string(*wish.cases) : ""));
  if (needed.cases_by_normal_approximation > 0)
    text += line(
        "", "(by the normal approximation " + std::to_string(needed.cases_by_normal_approximation) + ")");
  return text;
}

std::string interval_text(const SampleWish& wish, std::size_t cases) {
  const std::optional<statistics::Interval> interval = expected_interval(wish, cases);
  return line("Expected interval", interval ? share(interval->low) + " to " + share(interval->high)
                                            : "none: all cases are looked at, and nothing is left to chance");
}

std::string draw_text(const CaseList& list, const Draw& draw, std::size_t cases) {
  return line("Drawn",
              std::to_string(cases) + " of " + std::to_string(list.rows.size()) + " cases of " + list.file) +
         line("By the seed", std::to_string(draw.seed)) +
         line("From the list with", "SHA-256 " + list.sha256) + line("Written to", draw.output.string());
}

}  // namespace

std::string plan_audit_help() { return help_text(grammar()); }

ExitCode run_plan_audit(const Call& call) {
  const po::variables_map given = parse(grammar(), call.arguments);
  if (given.count("help") != 0) {
    print(plan_audit_help());
    return ExitCode::fine;
  }
  const std::optional<CaseList> list = list_of(given);
  SampleWish wish = wish_of(given, list);
  wish.cases = whole_option(given, "cases", 1);
  if (wish.cases && *wish.cases > most_cases)
    refuse_use(grammar(), "--cases", "is too many", "give what there is");
  if (list && wish.cases)
    refuse_use(grammar(), "--cases", "stands beside a list", "the list says how many there are");
  if (list) wish.cases = list->rows.size();
  const std::optional<Draw> draw = draw_of(given, list);
  const SampleNeeded needed = sample_needed(wish);
  const std::size_t cases = whole_option(given, "draw", 1).value_or(needed.cases);
  if (draw && cases > list->rows.size())
    refuse_use(grammar(), "--draw", "the list has " + std::to_string(list->rows.size()) + " cases",
               "draw as many or fewer");
  std::string text = plan_text(wish, needed) + interval_text(wish, cases);
  if (draw) {
    write_whole(draw->output,
                list_of_rows(*list, drawn_rows(*list, cases, draw->seed), draw->output.parent_path()));
    text += draw_text(*list, *draw, cases);
  }
  print(text);
  return ExitCode::fine;
}

}  // namespace canalrule::command
