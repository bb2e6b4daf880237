#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <canalrule/record/case_list.hpp>
#include <canalrule/statistics/estimate.hpp>

/// How many cases an audit needs, and which.
namespace canalrule {

/// What is wanted of the share of canals that meet the criteria, and what is known beforehand.
struct SampleWish {
  double expected_share = 0.5;  ///< 0 to 1; 0.5 asks for the most
  double half_width = 0.05;     ///< of the interval; above 0, below 0.5
  double level = statistics::usual_level;
  std::optional<std::size_t> cases;  ///< that could be drawn; missing: without end
  double canals_per_case = 1.0;      ///< mean; 1 or more
  double canals_per_patient =
      1.0;  ///< mean, at least canals_per_case: the canals of one patient aren't independent
  /// How alike canals of one patient are, 0 to 1. 1 counts a patient as one: the most cautious.
  double correlation = 1.0;
  std::optional<double>
      design_effect;  ///< known from an earlier audit, in place of the two before; 1 or more
};

struct SampleNeeded {
  std::size_t cases = 0;
  double independent_canals = 0.0;  ///< that the interval takes, before clustering and population
  double design_effect = 1.0;
  std::size_t cases_by_normal_approximation = 0;  ///< Cochran 1977; for comparison, 0 where it says nothing
};

/// By the least number for which Wilson's interval is narrow enough, times the design effect, from a finite
/// population (see statistics/planning.hpp), in cases by their mean number of canals.
SampleNeeded sample_needed(const SampleWish& wish);

/// The interval that so many cases give, should the share be as expected: by the effective size that the
/// finite population makes of them, n (N - 1) / (N - n). Missing where all cases are drawn: nothing is left
/// to chance.
std::optional<statistics::Interval> expected_interval(const SampleWish& wish, std::size_t cases);

/// `size` rows of the list, every set with the same chance, in the list's order; places in CaseList::rows. A
/// larger sample by the same seed holds the smaller one. Refuses (unusable_input) a list with a row that
/// can't be used: it is no frame to draw from.
std::vector<std::size_t> drawn_rows(const CaseList& list, std::size_t size, std::uint64_t seed);

/// These rows as a case list (CSV) that lies in `folder`: relative readings lead from there to where they
/// did.
std::string list_of_rows(const CaseList& list, const std::vector<std::size_t>& rows,
                         const std::filesystem::path& folder);

}  // namespace canalrule
