#include <algorithm>
#include <cstdio>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/cases/open_case.hpp>
#include <canalrule/judge/judge.hpp>
#include <canalrule/measure/measure.hpp>
#include <canalrule/report/report.hpp>

#include "grammar.hpp"
#include "measure_jobs.hpp"
#include "shipped_files.hpp"
#include "standard_output.hpp"
#include "subcommand.hpp"
#include "tell.hpp"

namespace canalrule::command {

namespace fs = std::filesystem;
namespace po = boost::program_options;

namespace {

enum class Printed { report, result };

/// What one call of `measure` asks for.
struct Request {
  std::vector<MeasureJob> jobs;
  std::optional<fs::path> film;
  fs::path criteria;
  Printed printed = Printed::report;
};

constexpr const char* remarks =
    R"(What it prints and writes:
  Distances along a canal are in mm from the radiographic apex: positive
  towards the crown, negative beyond the apex. Taper is in mm per mm (0.06).
  Uncertainties in the result file are standard uncertainties (k = 1); the
  report says which coverage factor it shows. A figure that the film can't
  give is said to be not assessable, with the reason; this is no failure.
  A result or picture is written whole or not at all, and nothing is written
  for a reading that can't be used; the others of the same call go on. The
  film itself is never written to.

Exit codes:
  0 fine   2 wrong use   3 a film, reading or criteria file can't be used
  4 an output can't be written

Examples:
  canalrule measure molar.reading.json
  canalrule measure molar.reading.json --output molar.result.json \
    --picture molar.picture.png
  canalrule measure audit/*.reading.json --criteria default --output results/

The figures describe a projection, not a volume. They are no diagnosis: a
licensed clinician judges. The report ends with all cautions.
)";

Grammar grammar() {
  Grammar grammar{
      .name = "measure",
      .usage = "READING... [options]",
      .purpose = "Measures the root canal fillings that a reading marks on its film: where each fill "
                 "ends relative to the radiographic apex, gaps in it, its width and its taper, each "
                 "with its uncertainty, and judges them by a set of criteria. READING is a "
                 "*.reading.json file; it names its film, a PNG or DICOM file.",
      .operand = "reading",
      .most_operands = -1,
      .options = po::options_description(),
      .remarks = remarks};
  grammar.options.add_options()
      ("film", po::value<std::string>()->value_name("FILE"),
       "Where the film lies, if not where the reading says (one reading only). Where the reading holds the film's "
       "sha256, it must be that film.")
      ("criteria", po::value<std::string>()->value_name("NAME|FILE"),
       "Judge by these criteria: the name of a set that came with the program ('canalrule criteria' lists "
       "them; 'default' unless told) or the path of a .json file.")
      ("output", po::value<std::string>()->value_name("FILE|FOLDER/"),
       "Write the result as JSON to this file, or to NAME.result.json in this folder for each NAME.reading.json.")
      ("picture", po::value<std::string>()->value_name("FILE|FOLDER/"),
       "Write a picture of the measurement to this .png or .svg file, or to NAME.picture.png in this folder.")
      ("json",
       "Print the result as JSON, the bytes of --output, in place of the report; of several readings one after "
       "the other.")
      ("help", "Print this text.");
  return grammar;
}

Request request_of(const po::variables_map& given, const Call& call) {
  if (given.count("reading") == 0)
    refuse_use(grammar(), "READING", "none is given", "name at least one *.reading.json file");
  const auto& readings = given["reading"].as<std::vector<std::string>>();
  for (const std::string& reading : readings)
    if (reading.empty()) refuse_use(grammar(), "READING", "names nothing", "");
  Request request;
  request.film = path_option(grammar(), given, "film");
  if (request.film && readings.size() > 1)
    refuse_use(grammar(), "--film", "one film can't serve several readings", "measure them one by one");
  const MeasureTargets targets{.output = path_option(grammar(), given, "output"),
                               .picture = path_option(grammar(), given, "picture")};
  request.jobs = plan_jobs(readings, targets);
  make_folders(targets);
  const fs::path criteria = path_option(grammar(), given, "criteria").value_or("default");
  request.criteria = shipped_file(ShippedKind::criteria, {"measure", "--criteria", criteria.string()},
                                  call.program);
  if (given.count("json") != 0) request.printed = Printed::result;
  return request;
}

std::vector<std::uint8_t> picture_bytes(PictureFormat format, const Film& film, const Result& result) {
  if (format == PictureFormat::png) return png_picture(film, result);
  const std::string svg = svg_picture(film, result);
  return {svg.begin(), svg.end()};
}

/// Measures one reading; writes and prints only once everything that is to be written has been made.
void measure_one(const MeasureJob& job, const Request& request, const Criteria& criteria) {
  const std::size_t threads = std::thread::hardware_concurrency();
  const Case opened = open_case(job.reading, request.film, threads);
  protect_inputs(job, opened, request.film, request.criteria);
  Result result = measure(opened, threads);
  result.judged = judge(result, criteria);
  const std::string json = write_result(result);
  std::vector<std::uint8_t> picture;
  if (job.picture) picture = picture_bytes(job.picture->format, opened.film, result);
  std::string printed = json;
  if (request.printed == Printed::report) {
    printed = text_report(result);
    if (request.jobs.size() > 1) printed = "==> " + job.reading.string() + " <==\n" + printed + '\n';
  }
  if (job.result) write_whole(*job.result, json);
  if (job.picture) write_whole(job.picture->file, picture);
  print(printed);
}

}  // namespace

std::string measure_help() { return help_text(grammar()); }

ExitCode run_measure(const Call& call) {
  const po::variables_map given = parse(grammar(), call.arguments);
  if (given.count("help") != 0) {
    print(measure_help());
    return ExitCode::fine;
  }
  const Request request = request_of(given, call);
  const Criteria criteria = load_criteria(request.criteria);
  ExitCode worst = ExitCode::fine;
  for (const MeasureJob& job : request.jobs) {
    try {
      measure_one(job, request, criteria);
    } catch (const Refusal& refusal) {
      worst = std::max(worst, tell(refusal));
    }
  }
  return worst;
}

}  // namespace canalrule::command
