#include "measure_jobs.hpp"

#include <set>
#include <string_view>
#include <system_error>
#include <variant>

#include <canalrule/base/refusal.hpp>

#include "file_names.hpp"

namespace canalrule::command {

namespace fs = std::filesystem;

namespace {

[[noreturn]] void refuse(const std::string& option, const std::string& problem, const std::string& remedy) {
  throw Refusal(RefusalKind::wrong_use, "measure", option, problem, remedy);
}

bool is_folder(const fs::path& path) {
  std::error_code error;
  return !path.has_filename() || fs::is_directory(path, error);
}

/// The reading's name without ".reading.json" or its last ending.
std::string stem_of(const fs::path& reading) {
  constexpr std::string_view ending = ".reading.json";
  const std::string name = reading.filename().string();
  if (name.size() > ending.size() && name.ends_with(ending)) return name.substr(0, name.size() - ending.size());
  return reading.stem().string();
}

fs::path target(const fs::path& given, const fs::path& reading, const std::string& ending) {
  return is_folder(given) ? given / (stem_of(reading) + ending) : given;
}

PictureFormat format_of(const fs::path& picture) {
  const std::string ending = ending_of(picture);
  if (ending == ".png") return PictureFormat::png;
  if (ending == ".svg") return PictureFormat::svg;
  refuse("--picture", "\"" + picture.string() + "\" ends neither in .png nor in .svg",
         "the ending says which of the two is written");
}

std::vector<fs::path> files_written(const MeasureJob& job) {
  std::vector<fs::path> files;
  if (job.result) files.push_back(*job.result);
  if (job.picture) files.push_back(job.picture->file);
  return files;
}

}  // namespace

std::vector<MeasureJob> plan_jobs(const std::vector<std::string>& readings, const MeasureTargets& targets) {
  if (readings.size() > 1) {
    if (targets.output && !is_folder(*targets.output))
      refuse("--output", "one file can't take several results", "name a folder, ending in /");
    if (targets.picture && !is_folder(*targets.picture))
      refuse("--picture", "one file can't take several pictures", "name a folder, ending in /");
  }
  std::vector<MeasureJob> jobs;
  std::set<fs::path> taken;
  for (const std::string& reading : readings) {
    MeasureJob job{.reading = reading, .result = {}, .picture = {}};
    if (targets.output) job.result = target(*targets.output, reading, ".result.json");
    if (targets.picture) {
      const fs::path file = target(*targets.picture, reading, ".picture.png");
      job.picture = PictureFile{.file = file, .format = format_of(file)};
    }
    for (const fs::path& file : files_written(job))
      if (!taken.insert(file.lexically_normal()).second)
        refuse(file.string(), "would be written twice", "give each result and picture a file of its own");
    jobs.push_back(std::move(job));
  }
  return jobs;
}

void make_folders(const MeasureTargets& targets) {
  for (const std::optional<fs::path>& target : {targets.output, targets.picture}) {
    if (!target || target->has_filename()) continue;
    std::error_code error;
    fs::create_directories(target->parent_path(), error);
    if (error)
      throw Refusal(RefusalKind::unwritable_output, target->string(), "", "can't be made: " + error.message(),
                    "name a folder that can be written to");
  }
}

void protect_inputs(const MeasureJob& job, const Case& opened, const std::optional<fs::path>& film,
                    const fs::path& criteria) {
  const fs::path folder = job.reading.parent_path();
  std::vector<fs::path> inputs{job.reading, film.value_or(folder / opened.reading.image.file), criteria};
  for (const CarriedFrom& carried : opened.carried) {
    const auto& mark = std::get<CarriedLength>(opened.reading.scale.at(carried.scale_index));
    const fs::path from = folder / mark.from_reading;
    inputs.push_back(from);
    inputs.push_back(from.parent_path() / carried.reading.image.file);
  }
  for (const fs::path& written : files_written(job)) {
    for (const fs::path& input : inputs)
      if (same_file(written, input))
        refuse(written.string(), "this is what is measured, it would be lost", "name another file");
    if (holds_film(written)) refuse(written.string(), "this is a film, it would be lost", "name another file");
  }
  if (job.result && holds_no_result(*job.result))
    refuse(job.result->string(), "what lies there is no result, it would be lost", "name another file");
}

}  // namespace canalrule::command
