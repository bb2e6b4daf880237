#pragma once

#include <canalrule/record/criteria.hpp>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace canalrule {

/// What a rubric can look at of the film itself; without uncertainty.
enum class FilmFigure {
  contrast_to_texture,  ///< CanalFilm::contrast_to_texture, standard deviations: more is better
  blur_mm,              ///< CanalFilm::blur_mm: less is better
  bone_beyond_apex_mm   ///< CanalFilm::bone_beyond_apex_mm: more is better
};

using RubricFigure = std::variant<CriterionFigure, FilmFigure>;

/// Which values of a figure are the better ones.
enum class Better {
  smaller,  ///< voids, narrowing, steps, material beyond the apex, blur
  larger,   ///< contrast, bone seen beyond the apex
  between   ///< the rubric's own best band: length, taper, width against plan
};
Better better_values(const RubricFigure& figure);

/// "mm", "mm per mm", "standard deviations", or empty for a number or a share.
std::string_view unit_of(const RubricFigure& figure);

/// A figure and, where it is about voids, which of them count.
struct Looked {
  RubricFigure figure = CriterionFigure::terminus_to_apex_mm;
  VoidSelection voids;
};

/// One stretch of the line of a figure's values and what it earns. A missing limit is infinitely far.
struct Band {
  std::optional<Limit> lower, upper;
  double points = 0.0;
  std::string text;  ///< for a person: what a value in this band means
};

/// What is given where the uncertainty of a figure reaches over the edge of a band, so that no band has the
/// rubric's confidence (JCGM 106:2012, 8).
enum class CloseCall {
  benefit_of_the_doubt,  ///< the most points that can't be ruled out
  nearest_band,          ///< the points of the band that the figure itself lies in
  expected_points,       ///< the mean of the points, each band by its probability
  no_benefit             ///< the points that are sure to be reached
};

/// What a criterion earns where the film can't give its figure.
enum class Unassessed {
  left_out,  ///< no points, and none that could have been had: the mark is out of less
  full_points,
  no_points
};

enum class SeveralCanals { worst, mean };

struct RubricCriterion {
  std::string id;    ///< unique within the rubric, also among deductions and automatic fails
  std::string text;  ///< what is asked, for a person
  Looked looked;
  double points = 0.0;                       ///< the most it earns; above 0
  std::vector<Band> bands;                   ///< ascending; they tile the line
  std::optional<Unassessed> not_assessable;  ///< in place of the rubric's own rule
};

/// A figure that lies between limits at its bad end.
struct MeasuredCondition {
  Looked looked;
  std::optional<Limit> lower, upper;  ///< one of them
};

/// What a teacher saw and wrote down: a column of the case list that says yes.
struct ObservedCondition {
  std::string column;
};

/// What takes points away, or fails the case whatever its points.
struct RubricCondition {
  std::string id;
  std::string text;
  std::variant<MeasuredCondition, ObservedCondition> when;
  double points = 0.0;  ///< a deduction's; 0 for an automatic fail
};

/// How a teacher turns figures into marks: `canalrule.rubric/1`.
struct Rubric {
  std::string name;
  std::string version;
  std::string source;        ///< the teaching form it is modelled on: authors, journal, year
  std::string note;          ///< which edges the source doesn't give, and who chose them; may be empty
  double confidence = 0.95;  ///< from which a figure lies in a band; above 0.5, below 1
  double pass_mark_percent = 60.0;
  CloseCall too_close_to_call = CloseCall::benefit_of_the_doubt;
  Unassessed not_assessable = Unassessed::left_out;
  /// A case of which less than this share of the points could be assessed gets no mark. 0 to 100.
  double least_assessed_percent = 0.0;
  double automatic_fail_percent =
      0.0;  ///< the most that a case gets that fails automatically; below the pass mark
  SeveralCanals several_canals = SeveralCanals::worst;
  std::vector<RubricCriterion> criteria;  ///< 1 or more
  std::vector<RubricCondition> deductions;
  std::vector<RubricCondition> automatic_fails;

  double most_points() const;  ///< the sum of the criteria's
};

/// Refusals as parse_criteria; also a key that no rubric has (a misspelt rule would silently be another one),
/// bands that leave a gap or overlap, bands by which a worse value earns more, a criterion whose full
/// points no band earns, and a deduction or automatic fail that touches what earns full points.
Rubric parse_rubric(std::string_view json, const std::string& name);

/// The same from a file of at most 1 MiB.
Rubric load_rubric(const std::filesystem::path& file);

}  // namespace canalrule
