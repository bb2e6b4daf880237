#pragma once

#include <array>
#include <canalrule/record/result.hpp>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace canalrule {

/// What a fill or its film can show that a rubric takes points for.
enum class Fault {
  ends_short,            ///< above the rubric's best band of the terminus
  canal_seen_empty,      ///< the same, and the canal is seen empty beyond the fill
  ends_close_to_apex,    ///< below the best band, not beyond the apex
  fill_beyond_apex,      ///< below the best band, beyond the apex
  material_beyond_apex,  ///< material apart from the fill
  gap_at_backfill,
  gap_across,
  bubble_inside,
  gap_along_wall,  ///< voids by kind
  narrowing_towards_crown,
  step_of_width,
  taper_small,
  taper_large,
  narrower_than_planned,
  wider_than_planned,
  short_of_working_length,
  past_working_length,
  fill_too_low,
  fill_too_high,  ///< filled length below and above its best band
  film_low_contrast,
  film_blurred,
  apex_at_film_edge
};
inline constexpr std::size_t fault_count = 22;

/// A fault's word in files, e.g. "ends-short".
std::string_view word_of(Fault fault);

enum class Technique { any, warm_vertical, lateral, single_cone };
inline constexpr std::size_t technique_count = 4;

/// A technique's word in files and in the case list, e.g. "warm-vertical".
std::string_view word_of(Technique technique);

/// A step that often leads to a fault, as a question.
struct Question {
  Technique technique = Technique::any;
  std::string text;
};

/// What is said of one fault. `where` may hold {place} (stretch, third and canal) and {figure} (the figure
/// with its uncertainty).
struct FaultText {
  std::string title;
  std::string looks_like;
  std::string where;
  std::vector<Question> questions;  ///< 1 or more
};

/// The words that feedback is made of: `canalrule.feedback/1`, meant to be edited.
struct Feedback {
  std::string name, version, source;
  std::string opening;                        ///< said before all: these are questions, no findings
  std::array<FaultText, fault_count> faults;  ///< by Fault

  const FaultText& of(Fault fault) const { return faults.at(static_cast<std::size_t>(fault)); }
};

/// Refusals as parse_criteria; also a fault that is missing or unknown, a key that is unknown, braces round
/// any other word, and a question that doesn't end in a question mark: what is asked must not read as a
/// finding.
Feedback parse_feedback(std::string_view json, const std::string& name);

/// The same from a file of at most 1 MiB.
Feedback load_feedback(const std::filesystem::path& file);

}  // namespace canalrule
