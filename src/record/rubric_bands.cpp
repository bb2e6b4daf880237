#include "rubric_bands.hpp"

#include <algorithm>
#include <cstddef>

#include "criterion_fields.hpp"
#include "rubric_words.hpp"

namespace canalrule {

namespace {

bool meet(const Limit& upper, const Limit& lower) {
  return upper.value == lower.value && upper.inclusive != lower.inclusive;
}

bool overlap(const Limit& upper, const Limit& lower) {
  return upper.value > lower.value || (upper.value == lower.value && upper.inclusive && lower.inclusive);
}

void check_tiling(const std::vector<Band>& bands, const std::vector<Field>& fields) {
  if (bands.front().lower)
    fields.front().refuse("the first band has a lower limit", "leave it open below: bands tile the line");
  if (bands.back().upper)
    fields.back().refuse("the last band has an upper limit", "leave it open above: bands tile the line");
  for (std::size_t i = 0; i + 1 < bands.size(); ++i) {
    if (!bands[i].upper)
      fields[i].refuse("this band has no upper limit and isn't the last", "give bands from low to high");
    if (!bands[i + 1].lower)
      fields[i + 1].refuse("this band has no lower limit and isn't the first", "give bands from low to high");
    const Limit& upper = *bands[i].upper;
    const Limit& lower = *bands[i + 1].lower;
    if (meet(upper, lower)) continue;
    fields[i + 1].refuse(overlap(upper, lower) ? "this band overlaps the one before it"
                                               : "there is a gap between this band and the one before it",
                         "begin it where that one ends, the value itself in one of the two");
  }
}

/// Points may rise to the best band and must fall from there.
void check_order(const std::vector<Band>& bands, Better better, const std::vector<Field>& fields) {
  bool falling = better == Better::smaller;
  for (std::size_t i = 1; i < bands.size(); ++i) {
    const double change = bands[i].points - bands[i - 1].points;
    if (change < 0.0 && better == Better::larger)
      fields[i]["points"].refuse(
          "more of this figure is better, and this band earns less than the one below it",
          "give it as many points or more");
    if (change > 0.0 && falling)
      fields[i]["points"].refuse("this band is worse than the one below it and earns more",
                                 "give it as many points or fewer");
    falling = falling || change < 0.0;
  }
}

bool same(const VoidSelection& a, const VoidSelection& b) {
  return a.least_score == b.least_score && a.least_length_mm == b.least_length_mm &&
         a.least_deficit == b.least_deficit && a.third == b.third;
}

bool touches(const MeasuredCondition& condition, const Band& band) {
  if (condition.lower && band.upper && !overlap(*band.upper, *condition.lower)) return false;
  return !(condition.upper && band.lower && !overlap(*condition.upper, *band.lower));
}

}  // namespace

RubricFigure figure_of(const Field& field) {
  for (const auto& [figure, word] : film_figure_words)
    if (field.text() == word) return figure;
  std::string expected;
  for (const auto& [figure, word] : figure_words) {
    if (field.text() == word) return figure;
    expected += "'" + std::string(word) + "', ";
  }
  for (const auto& [figure, word] : film_figure_words)
    expected += (word == film_figure_words.front().second ? "'" : ", '") + std::string(word) + "'";
  field.refuse("one of " + expected);
}

std::string_view word_of(const RubricFigure& figure) {
  if (const auto* measured = std::get_if<CriterionFigure>(&figure)) return word_of(figure_words, *measured);
  return word_of(film_figure_words, std::get<FilmFigure>(figure));
}

Better better_values(const RubricFigure& figure) {
  if (const auto* measured = std::get_if<CriterionFigure>(&figure))
    return upper_limit_only(*measured) ? Better::smaller : Better::between;
  return std::get<FilmFigure>(figure) == FilmFigure::blur_mm ? Better::smaller : Better::larger;
}

std::string_view unit_of(const RubricFigure& figure) {
  if (const auto* film = std::get_if<FilmFigure>(&figure))
    return *film == FilmFigure::contrast_to_texture ? "standard deviations" : "mm";
  return unit_of(std::get<CriterionFigure>(figure));
}

void check_bands(const RubricCriterion& criterion, const Field& bands) {
  const std::vector<Field> fields = bands.items();
  check_tiling(criterion.bands, fields);
  check_order(criterion.bands, better_values(criterion.looked.figure), fields);
  const bool earned = std::any_of(criterion.bands.begin(), criterion.bands.end(),
                                  [&](const Band& band) { return band.points == criterion.points; });
  if (!earned) bands.refuse("no band earns the criterion's full points", "let the best band earn them");
}

void check_condition(const MeasuredCondition& condition, const Field& field) {
  if (condition.lower.has_value() == condition.upper.has_value())
    field.refuse(condition.lower ? "this condition has a limit at both ends" : "this condition has no limit",
                 "give it one of at_least, more_than, at_most and less_than");
  const Better better = better_values(condition.looked.figure);
  if (better == Better::smaller && !condition.lower)
    field.refuse("less of this figure is better, and the limit takes the smaller values",
                 "use at_least or more_than");
  if (better == Better::larger && !condition.upper)
    field.refuse("more of this figure is better, and the limit takes the larger values",
                 "use at_most or less_than");
}

void check_against_criteria(const RubricCondition& condition, const std::vector<RubricCriterion>& criteria,
                            const Field& field) {
  const auto* measured = std::get_if<MeasuredCondition>(&condition.when);
  if (measured == nullptr) return;
  for (const RubricCriterion& criterion : criteria) {
    if (criterion.looked.figure != measured->looked.figure) continue;
    if (!same(criterion.looked.voids, measured->looked.voids)) continue;
    for (const Band& band : criterion.bands)
      if (band.points == criterion.points && touches(*measured, band))
        field.refuse("this reaches into the band that earns full points for '" + criterion.id + "'",
                     "set the limit in a band that earns less");
  }
}

}  // namespace canalrule
