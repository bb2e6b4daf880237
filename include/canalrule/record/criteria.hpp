#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace canalrule {

/// One end of an interval of acceptance.
struct Limit {
  double value = 0.0;
  bool inclusive = true;
};

/// What a criterion looks at.
enum class CriterionFigure {
  terminus_to_apex_mm,
  longest_void_mm,             ///< longest void that counts
  void_count,
  largest_void_deficit,
  taper_overall, taper_apical, taper_middle, taper_coronal,
  narrowing_towards_crown_mm,  ///< largest reversal
  taper_step_mm,               ///< largest break, absolute
  material_beyond_apex_mm,     ///< longest
  width_against_plan_mm,
  terminus_to_working_length_mm,
  filled_length_mm
};

/// Which voids count for a criterion on voids.
struct VoidSelection {
  double least_score = 5.0;       ///< standard deviations
  double least_length_mm = 0.0;
  double least_deficit = 0.0;
  std::optional<std::string> third;  ///< "apical", "middle", "coronal"
};

struct Criterion {
  std::string id;
  std::string text;    ///< for a person, in the trade's words
  CriterionFigure figure = CriterionFigure::terminus_to_apex_mm;
  std::optional<Limit> at_least, at_most;
  VoidSelection voids;
};

/// A rule set: `canalrule.criteria/1`.
struct Criteria {
  std::string name;
  std::string version;
  std::string source;      ///< the published source, authors, journal, year
  /// A verdict is given where the probability of being within (or outside) is at least this (JCGM
  /// 106:2012, 8); between, it is too close to call.
  double confidence = 0.95;
  std::vector<Criterion> criteria;
};

/// Refusals as parse_reading.
Criteria parse_criteria(std::string_view json, const std::string& name);
Criteria load_criteria(const std::filesystem::path& file);

}  // namespace canalrule
