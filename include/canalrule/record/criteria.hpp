#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <canalrule/record/result.hpp>

namespace canalrule {

/// One end of an interval of acceptance. In the file its key says both the end and whether the value
/// itself still conforms: `at_least` and `at_most` include it, `more_than` and `less_than` don't.
struct Limit {
  double value = 0.0;
  bool inclusive = true;
};

/// What a criterion looks at; the file's word for it is the same. The ones called largest, longest or count
/// are judged over all that was found, and take an upper limit only.
enum class CriterionFigure {
  terminus_to_apex_mm,
  longest_void_mm,             ///< longest void that counts
  void_count,                  ///< of voids that count
  largest_void_deficit,        ///< of voids that count
  taper_overall, taper_apical, taper_middle, taper_coronal,  ///< mm per mm
  narrowing_towards_crown_mm,  ///< largest reversal
  taper_step_mm,               ///< largest step of the width, either way
  material_beyond_apex_mm,     ///< longest
  width_against_plan_mm,       ///< mean difference, measured minus planned
  terminus_to_working_length_mm,
  filled_length_mm
};

/// Whether a criterion on this figure looks at voids.
bool on_voids(CriterionFigure figure);

/// "mm", "mm per mm", or nothing where it is a number or a share.
std::string_view unit_of(CriterionFigure figure);

/// Which voids count for a criterion on voids; no published source seen gives a size, so that each criteria
/// file states its own.
struct VoidSelection {
  double least_score = 0.0;      ///< standard deviations
  double least_length_mm = 0.0;
  double least_deficit = 0.0;    ///< share, 0 to 1
  std::optional<Third> third;    ///< only voids of this third
};

struct Criterion {
  std::string id;      ///< unique within its file
  std::string text;    ///< for a person, in the trade's words
  CriterionFigure figure = CriterionFigure::terminus_to_apex_mm;
  std::optional<Limit> lower, upper;  ///< one or both
  VoidSelection voids;                ///< for the figures on voids
};

/// A rule set: `canalrule.criteria/1`.
struct Criteria {
  std::string name;
  std::string version;
  std::string source;      ///< the published source: authors, journal, year
  std::string note;        ///< which thresholds the source doesn't give, and who chose them; may be empty
  /// A verdict is given where the probability of being within (or outside) is at least this (JCGM
  /// 106:2012, 8); between, it is too close to call. Above 0.5, below 1.
  double confidence = 0.95;
  std::vector<Criterion> criteria;  ///< 1 or more
};

/// Refusals as parse_reading; also a criterion without limits, with limits that leave nothing between, or
/// on voids without saying which count.
Criteria parse_criteria(std::string_view json, const std::string& name);

/// The same from a file of at most 1 MiB.
Criteria load_criteria(const std::filesystem::path& file);

}  // namespace canalrule
