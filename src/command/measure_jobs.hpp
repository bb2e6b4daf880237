#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <canalrule/cases/open_case.hpp>

namespace canalrule::command {

enum class PictureFormat { png, svg };

/// A picture to be written.
struct PictureFile {
  std::filesystem::path file;
  PictureFormat format = PictureFormat::png;
};

/// One reading and the files that its measurement is written to.
struct MeasureJob {
  std::filesystem::path reading;
  std::optional<std::filesystem::path> result;
  std::optional<PictureFile> picture;
};

/// Where --output and --picture lead: to a file, or to a folder that takes one file per reading.
struct MeasureTargets {
  std::optional<std::filesystem::path> output;
  std::optional<std::filesystem::path> picture;
};

/// One job per reading. `molar.reading.json` becomes `molar.result.json` and `molar.picture.png` in a
/// folder. Refuses (wrong_use) one file for several readings, two readings that would be written to the
/// same file, and a picture whose name ends neither in .png nor in .svg.
std::vector<MeasureJob> plan_jobs(const std::vector<std::string>& readings, const MeasureTargets& targets);

/// Makes the folders that are named as such, by a separator at their end, before anything is measured for them.
/// Refuses (unwritable_output) what can't be made.
void make_folders(const MeasureTargets& targets);

/// Refuses (wrong_use) a job that would write over anything it was made from: the film, the reading,
/// the criteria, or what the scale is carried over from.
void protect_inputs(const MeasureJob& job, const Case& opened,
                    const std::optional<std::filesystem::path>& film, const std::filesystem::path& criteria);

}  // namespace canalrule::command
