#include <algorithm>
#include <array>
#include <canalrule/audit/run.hpp>
#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/report/report.hpp>
#include <opencv2/core.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <system_error>
#include <thread>
#include <vector>

#include "audit_progress.hpp"
#include "audit_results.hpp"
#include "file_names.hpp"
#include "grammar.hpp"
#include "numbers.hpp"
#include "shipped_files.hpp"
#include "standard_output.hpp"
#include "stop_request.hpp"
#include "subcommand.hpp"
#include "tell.hpp"

namespace canalrule::command {

namespace fs = std::filesystem;
namespace po = boost::program_options;

namespace {

constexpr const char* remarks =
    R"(The case list is CSV (RFC 4180): UTF-8, commas or semicolons, the first row
names the columns. 'case' (a name of its own for each row) and 'reading' (a
*.reading.json file, from the list's folder) must be there; 'operator',
'reader', 'patient' and 'tooth' are understood, all others are kept and can be
grouped by. A film that several readings mark is a film read several times.

What it writes to the folder:
  report.html   the page, self-contained     summary.json  all that it says
  canals.csv    one row a canal, with units  cases.csv     one row a case
  pictures/     one picture a case           audit.rows    what was measured
A case that can't be measured is a row with its reason; the others go on. Cut
off at any moment, the same command goes on where it was. Cases whose film,
reading, criteria and program are unchanged are not measured again.

Privacy:
  Operators, readers and patients stand under pseudonyms; the key lies outside
  the folder. Columns whose English name says that they hold a patient or a
  file (name, patient_id, birth date, address, path, …) are left out. All other
  columns and the list's 'case' are written as they are: take out of the list
  what names a patient before you run it.
  The key file of an earlier audit, named by --key, keeps pseudonyms the same.

Exit codes:
  0 fine   2 wrong use   3 the list, the criteria or an audit can't be used
  4 an output can't be written   5 finished, but some cases failed
  6 stopped before the end (Ctrl-C); the same command goes on

Examples:
  canalrule audit cases.csv --output results
  canalrule audit cases.csv --part 3/16 --output part-3
  canalrule audit --join part-1 part-2 part-3 --output results
  canalrule audit cases.csv --output this-year --against last-year

The figures describe projections, not volumes, and are no diagnosis: a licensed
clinician judges. No exposure is ever justified by a measurement.
)";

Grammar grammar() {
  Grammar grammar{.name = "audit",
                  .usage =
                      "CASES --output FOLDER [options]\n"
                      "       canalrule audit --join PART... --output FOLDER [options]",
                  .purpose =
                      "Measures the fills of many cases, judges them by one set of criteria and says how "
                      "many meet it, how sure that is, and where it differs. CASES is a list (CSV) or a "
                      "folder of readings.",
                  .operand = "cases",
                  .most_operands = -1,
                  .options = po::options_description(),
                  .remarks = remarks};
  grammar.options.add_options()
      ("output", po::value<std::string>()->value_name("FOLDER"), "Write to this folder; it is made if need be.")
      ("criteria", po::value<std::string>()->value_name("NAME|FILE"),
       "Judge by these criteria: the name of a set that came with the program ('default' unless told) or the "
       "path of a .json file.")
      ("jobs", po::value<std::string>()->value_name("N"), "Measure N cases at a time; all cores unless told.")
      ("part", po::value<std::string>()->value_name("K/N"),
       "Measure the Kth of N parts of the list, for --join.")
      ("join", "Put the finished parts of one audit together.")
      ("against", po::value<std::string>()->value_name("FOLDER"),
       "Compare with the earlier audit in this folder, judged by the same criteria.")
      ("group-by", po::value<std::string>()->value_name("COLUMN,..."),
       "Of the list's further columns group by these; by all that can be unless told. Tooth group, operator and "
       "reader are always grouped by.")
      ("pictures", po::value<std::string>()->value_name("svg|png|none"),
       "Format of the cases' pictures; svg unless told.")
      ("key", po::value<std::string>()->value_name("FILE"),
       "Keep the key to the pseudonyms here; FOLDER.key.csv unless told.")
      ("named", "Write operators, readers, patients, files and all columns as the list and the readings name "
                "them; no pseudonyms.")
      ("help", "Print this text.");
  return grammar;
}

std::vector<std::string> operands_of(const po::variables_map& given) {
  return given.count("cases") == 0 ? std::vector<std::string>()
                                   : given["cases"].as<std::vector<std::string>>();
}

std::optional<std::string> text_option(const po::variables_map& given, const std::string& option) {
  if (given.count(option) == 0) return std::nullopt;
  return given[option].as<std::string>();
}

AuditPart part_of(const po::variables_map& given) {
  const std::optional<std::string> text = text_option(given, "part");
  if (!text) return {};
  const std::size_t slash = text->find('/');
  const auto number = whole_number(text->substr(0, slash));
  const auto of = slash == std::string::npos ? std::nullopt : whole_number(text->substr(slash + 1));
  constexpr std::size_t most_parts = 100000;
  if (!number || !of || *number < 1 || *number > *of || *of > most_parts)
    refuse_use(grammar(), "--part", "'" + *text + "' is no part", "write 3/16 for the third of 16 parts");
  return {*number, *of};
}

std::size_t jobs_of(const po::variables_map& given) {
  const std::optional<std::string> text = text_option(given, "jobs");
  if (!text) return std::max(1U, std::thread::hardware_concurrency());
  const auto jobs = whole_number(*text);
  constexpr std::size_t most_jobs = 1024;
  if (!jobs || *jobs < 1 || *jobs > most_jobs)
    refuse_use(grammar(), "--jobs", "'" + *text + "' is no number of workers",
               "write a number from 1 to 1024");
  return *jobs;
}

CasePicture picture_of(const po::variables_map& given) {
  const std::string format = text_option(given, "pictures").value_or("svg");
  if (format == "none") return {};
  if (format == "png") return {".png", png_picture};
  if (format != "svg") refuse_use(grammar(), "--pictures", "'" + format + "' is none of svg, png, none", "");
  return {".svg", [](const Film& film, const Result& result) {
            const std::string svg = svg_picture(film, result);
            return std::vector<std::uint8_t>(svg.begin(), svg.end());
          }};
}

SummaryOptions summary_options(const po::variables_map& given) {
  SummaryOptions options;
  std::string_view rest;
  const std::string columns = text_option(given, "group-by").value_or("");
  for (rest = columns; !rest.empty();) {
    const std::size_t comma = std::min(rest.find(','), rest.size());
    options.group_by.emplace_back(rest.substr(0, comma));
    rest.remove_prefix(std::min(comma + 1, rest.size()));
  }
  return options;
}

fs::path output_of(const po::variables_map& given) {
  const std::optional<fs::path> output = path_option(grammar(), given, "output");
  if (!output) refuse_use(grammar(), "--output", "is missing", "name the folder for what comes out");
  return *output;
}

constexpr std::array written_names{"canals.csv", "cases.csv", "summary.json", "report.html"};

/// The audit writes over what it has written itself, and over nothing else.
void protect_what_is_there(const fs::path& output, const std::vector<std::optional<fs::path>>& inputs) {
  for (const std::optional<fs::path>& input : inputs) {
    if (!input) continue;
    for (const char* name : written_names)
      if (same_file(*input, output / name))
        refuse_use(grammar(), "--output", "'" + input->string() + "' would be written over",
                   "name another folder");
    if (same_file(*input, output))
      refuse_use(grammar(), "--output", "this folder is what is read, too", "name another folder");
  }
  if (const std::optional<fs::path> foreign = no_audits_in(output))
    refuse_use(grammar(), "--output", "'" + foreign->string() + "' was not written by an audit",
               "name a folder that is empty, new, or holds an earlier audit: what comes out may be given away");
}

/// The folder can be given away, the key can't: it lies outside.
fs::path key_file_of(const po::variables_map& given, const fs::path& output) {
  const fs::path key = path_option(grammar(), given, "key").value_or(key_file_beside(output));
  std::error_code ignored;
  const fs::path within = fs::weakly_canonical(fs::absolute(key), ignored)
                              .lexically_relative(fs::weakly_canonical(fs::absolute(output), ignored));
  if (!within.empty() && *within.begin() != "..")
    refuse_use(grammar(), "--key", "'" + key.string() + "' lies in the folder that comes out, which may be given away",
               "name a file outside it");
  return key;
}

std::string text_of(const fs::path& criteria) {
  constexpr std::uint64_t largest_criteria_bytes = 1U << 20U;  // as load_criteria
  const std::vector<std::uint8_t> bytes = read_whole(criteria, largest_criteria_bytes);
  return {bytes.begin(), bytes.end()};
}

AuditPlan plan_of(const po::variables_map& given, const Call& call) {
  const std::vector<std::string> operands = operands_of(given);
  if (operands.empty())
    refuse_use(grammar(), "CASES", "is missing", "name a case list or a folder of readings");
  if (operands.size() > 1)
    refuse_use(grammar(), "CASES", "more than one is named", "one list holds all cases");
  AuditPlan plan;
  plan.output = output_of(given);
  const fs::path criteria = shipped_file(
      ShippedKind::criteria,
      {"audit", "--criteria", path_option(grammar(), given, "criteria").value_or("default").string()},
      call.program);
  protect_what_is_there(plan.output, {operands.front(), criteria, path_option(grammar(), given, "against")});
  plan.part = part_of(given);
  plan.jobs = jobs_of(given);
  plan.picture = picture_of(given);
  plan.key_file = key_file_of(given, plan.output);
  if (given.count("named") != 0) plan.identities = Identities::as_given;
  plan.opencv = cv::getVersionString();
  plan.criteria_json = text_of(criteria);
  plan.criteria_file = criteria.string();
  plan.list = load_case_list(operands.front());
  return plan;
}

ExitCode measure_all(const po::variables_map& given, const Call& call) {
  const std::optional<fs::path> against = path_option(grammar(), given, "against");
  const SummaryOptions options = summary_options(given);
  const AuditPlan plan = plan_of(given, call);
  if (plan.part.of != 1 && (against || !options.group_by.empty()))
    refuse_use(grammar(), "--part", "a part is measured and no more",
               "give --against and --group-by to --join");
  const std::vector<std::string> kept = columns_of(plan.list, plan.identities).kept;
  check_columns(kept, options);
  listen_for_stop();
  ProgressDisplay display;
  if (plan.identities == Identities::pseudonyms && !kept.empty())
    display.say("canalrule: these columns are written as the list has them, so look whether one names a patient: " +
                in_a_row(kept));
  const AuditOutcome outcome =
      run_audit(plan, {[&](const AuditProgress& progress) { display.show(progress); },
                       [&](const std::string& line) { display.say("canalrule: " + line); }, stop_requested});
  display.finish(outcome.progress);
  if (outcome.end == AuditEnd::stopped) {
    display.say("canalrule: stopped; the same command goes on from here");
    return ExitCode::stopped;
  }
  if (plan.part.of == 1) write_audit_results(plan.output, options, against);
  if (outcome.own_faults > 0) return ExitCode::own_fault;
  return outcome.progress.failed > 0 ? ExitCode::some_failed : ExitCode::fine;
}

ExitCode join_all(const po::variables_map& given) {
  for (const char* option : {"criteria", "jobs", "part", "pictures", "named"})
    if (given.count(option) != 0)
      refuse_use(grammar(), "--" + std::string(option), "has no say in --join", "it was said to the parts");
  const std::vector<std::string> operands = operands_of(given);
  if (operands.empty())
    refuse_use(grammar(), "--join", "no part is named", "name the --output folder of each part");
  const fs::path output = output_of(given);
  const std::optional<fs::path> against = path_option(grammar(), given, "against");
  protect_what_is_there(output, {against});
  join_audits({operands.begin(), operands.end()}, output, key_file_of(given, output));
  return write_audit_results(output, summary_options(given), against) > 0 ? ExitCode::some_failed
                                                                          : ExitCode::fine;
}

}  // namespace

std::string audit_help() { return help_text(grammar()); }

ExitCode run_audit_command(const Call& call) {
  const po::variables_map given = parse(grammar(), call.arguments);
  if (given.count("help") != 0) {
    print(audit_help());
    return ExitCode::fine;
  }
  return given.count("join") != 0 ? join_all(given) : measure_all(given, call);
}

}  // namespace canalrule::command
