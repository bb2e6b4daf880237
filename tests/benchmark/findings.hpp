#pragma once

#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

/// What the rows of many films say together.
namespace canalrule_benchmark {

using Rows = std::vector<nlohmann::json>;
using AllRows = std::map<std::string, Rows>;  ///< by the part's name

/// Errors, and the uncertainties stated with them (nought: none stated).
struct Errors {
  std::vector<double> error, uncertainty;

  void add(const nlohmann::json& pair);
  std::size_t count() const { return error.size(); }
  double bias() const;
  double rms() const;
  double quantile(double share) const;      ///< of the errors' size
  double standardised_rms() const;          ///< of error over uncertainty
  double covered() const;                   ///< share within two uncertainties
  std::vector<double> standardised() const;
};

enum class Which { all, unflagged, flagged };
/// Errors of one figure ("terminus", "coronal", "width", "overall", "apical", "middle", "coronal taper") over the
/// canals of the rows that have it.
Errors errors_of(const Rows& rows, const std::string& figure, Which which);

bool flagged(const nlohmann::json& canal);
double share_flagged_or_refused(const Rows& rows);
/// Fills; refused; terminus errors over 0.3 mm that carry no flag.
struct Count {
  int fills = 0, refused = 0, flagged = 0, gross = 0, gross_unflagged = 0;
};
Count count_of(const Rows& rows);

/// Gaps: the score from which on fills without gaps show at most 0.1 false ones each, and what is found with it.
struct Detection {
  double threshold = 0.0;
  int gaps = 0, found = 0;               ///< all films
  int compared = 0, compared_found = 0, ideal_found = 0, learning_found = 0;  ///< films with observers
  double share_of_ideal() const;
};
struct GapRange {
  double length_from = 0.0, length_to = 10.0, deficit_from = 0.0, deficit_to = 1.01;
};
Detection detection(const Rows& without_gaps, const Rows& with_gaps, const GapRange& range);
/// Errors of the gaps found from `threshold` on: "place", "length" or "deficit"; deficits but on display films.
Errors gap_errors(const Rows& with_gaps, double threshold, const std::string& figure);

/// Root mean square of a bound ("terminus", "width", "straight", "taper", "place", "length", "deficit").
double rms_bound(const Rows& rows, const std::string& figure);
/// Root mean square error over those rows that have that bound, to be held against it.
double rms_where_bounded(const Rows& rows, const std::string& figure, const std::string& bound);

/// Spread of a figure over redrawn paths: the standard deviation within films, pooled.
double spread_within_films(const Rows& rows, const std::string& figure);

}  // namespace canalrule_benchmark
