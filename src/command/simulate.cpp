#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <opencv2/core.hpp>

#include <canalrule/base/whole_file.hpp>
#include <canalrule/dicom/write_film.hpp>
#include <canalrule/intake/open_film.hpp>
#include <canalrule/phantom/simulate.hpp>
#include <canalrule/record/reading.hpp>

#include "file_names.hpp"
#include "grammar.hpp"
#include "standard_output.hpp"
#include "subcommand.hpp"

namespace canalrule::command {

namespace fs = std::filesystem;
namespace po = boost::program_options;

namespace {

constexpr std::uint64_t largest_description_bytes = 16U << 20U;  // chosen here: no description is near it

constexpr const char* remarks =
    R"(The description (schema "canalrule.phantom/1", *.phantom.json) says what stands
before the sensor: lengths in mm, distances along a canal from its apex,
positive towards the crown, angles in degrees, taper in mm per mm. Every field
but "schema" has a default (a canal without "fill" is empty); docs/phantom.md
lists the fields. The same description gives the same film on any machine.

Exit codes:
  0 fine   2 wrong use   3 the description can't be used
  4 an output can't be written

Example:
  canalrule simulate short.phantom.json --output short.png \
    --reading short.reading.json --truth short.truth.json
  canalrule measure short.reading.json

No patient is shown on such a film, and it can't stand in for a real one.
)";

enum class FilmFormat { png, dicom };

/// What one call of `simulate` asks for.
struct Request {
  fs::path description;
  fs::path film;
  FilmFormat format = FilmFormat::png;
  std::optional<fs::path> reading;
  std::optional<fs::path> truth;
};

Grammar grammar() {
  Grammar grammar{
      .name = "simulate",
      .usage = "DESCRIPTION --output FILM [options]",
      .purpose = "Makes a periapical film from a description of root, canal, fill, beam and sensor, "
                 "with every defect at a known place and size: for teaching, and for checking "
                 "what 'canalrule measure' finds against what is true.",
      .operand = "description",
      .most_operands = 1,
      .options = po::options_description(),
      .remarks = remarks};
  grammar.options.add_options()
      ("output", po::value<std::string>()->value_name("FILM"),
       "Write the film to this .png or .dcm file (PNG or DICOM; bit depth as described).")
      ("reading", po::value<std::string>()->value_name("FILE"),
       "Write the reading that goes with it, as a hand would mark it, to this .reading.json file.")
      ("truth", po::value<std::string>()->value_name("FILE"),
       "Write what is true of the film to this JSON file: lengths in mm, areas in mm2.")
      ("help", "Print this text.");
  return grammar;
}

FilmFormat format_of(const fs::path& film) {
  const std::string ending = ending_of(film);
  if (ending == ".png") return FilmFormat::png;
  if (ending == ".dcm") return FilmFormat::dicom;
  refuse_use(grammar(), "--output", "\"" + film.string() + "\" ends neither in .png nor in .dcm",
             "the ending says which of the two is written");
}

Request request_of(const po::variables_map& given) {
  if (given.count("description") == 0)
    refuse_use(grammar(), "DESCRIPTION", "is missing", "name a *.phantom.json file");
  const std::optional<fs::path> film = path_option(grammar(), given, "output");
  if (!film) refuse_use(grammar(), "--output", "is missing", "name the film to write, .png or .dcm");
  Request request{.description = given["description"].as<std::vector<std::string>>().front(),
                  .film = *film,
                  .format = format_of(*film),
                  .reading = path_option(grammar(), given, "reading"),
                  .truth = path_option(grammar(), given, "truth")};
  for (const std::optional<fs::path>& text : {request.reading, request.truth})
    if (text && holds_film(*text))
      refuse_use(grammar(), text->string(), "is a film and would be lost", "name another file");
  std::vector<fs::path> files{request.description, request.film};
  if (request.reading) files.push_back(*request.reading);
  if (request.truth) files.push_back(*request.truth);
  for (auto file = files.begin(); file != files.end(); ++file)
    if (std::any_of(files.begin(), file, [&](const fs::path& earlier) { return same_file(earlier, *file); }))
      refuse_use(grammar(), file->string(), "is named twice", "give each file a name of its own");
  return request;
}

phantom::Description load_description(const fs::path& file) {
  const std::vector<std::uint8_t> bytes = read_whole(file, largest_description_bytes);
  return phantom::parse_description(std::string(bytes.begin(), bytes.end()), file.string());
}

std::vector<std::uint8_t> film_bytes(FilmFormat format, const phantom::Description& description,
                                     const phantom::Simulated& made) {
  if (format == FilmFormat::dicom)
    return dicom::encode_dicom({.grey = made.grey,
                                .bits_stored = description.detector.bits,
                                .radiopaque = description.detector.radiopaque,
                                .response = description.detector.response,
                                .spacing = made.film.spacing,
                                .tooth = description.tooth.number,
                                .seed = description.seed,
                                .description = description.text});
  if (description.detector.bits > 8) return encode_png(made.grey);
  cv::Mat bytes;
  made.grey.convertTo(bytes, CV_8U);
  return encode_png(bytes);
}

/// The reading, naming the film from the folder that the reading itself lies in.
std::string reading_text(Reading reading, const Request& request, const std::vector<std::uint8_t>& film) {
  fs::path folder = fs::absolute(*request.reading).parent_path();
  reading.image.file = fs::absolute(request.film).lexically_proximate(folder).generic_string();
  reading.image.sha256 = sha256_hex(film);
  return write_reading(reading);
}

}  // namespace

std::string simulate_help() { return help_text(grammar()); }

ExitCode run_simulate(const Call& call) {
  const po::variables_map given = parse(grammar(), call.arguments);
  if (given.count("help") != 0) {
    print(simulate_help());
    return ExitCode::fine;
  }
  const Request request = request_of(given);
  const phantom::Description description = load_description(request.description);
  const phantom::Simulated made = phantom::simulate(description);
  const std::vector<std::uint8_t> film = film_bytes(request.format, description, made);
  std::string reading;
  if (request.reading) reading = reading_text(made.reading, request, film);
  const std::string truth = write_truth(made.truth);

  write_whole(request.film, film);
  if (request.reading) write_whole(*request.reading, reading);
  if (request.truth) write_whole(*request.truth, truth);
  return ExitCode::fine;
}

}  // namespace canalrule::command
