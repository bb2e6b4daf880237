#pragma once

#include <canalrule/record/marks.hpp>
#include <canalrule/report/document.hpp>
#include <canalrule/report/grade_pages.hpp>
#include <optional>
#include <string>
#include <string_view>

/// Marks as a person reads them.
namespace canalrule::report {

std::string_view standing_words(Standing standing);  ///< "passed", "failed automatically"
/// What a rubric's figure is called: "terminus to apex".
std::string_view figure_name(const RubricFigure& figure);

/// "1 canal", "3 canals".
std::string counted(std::size_t number, std::string_view one);

std::string_view technique_words(Technique technique);            ///< "warm vertical"
std::string percent_words(const std::optional<double>& percent);  ///< "67 %", "–"
std::string points_words(double points);                          ///< "2", "0.25"
std::string points_words(const std::optional<double>& points);
std::string mark_words(const Mark& mark);                                 ///< "67 %, 4 of 6 points: passed"
std::string place_words(const std::optional<Third>& third, Fault fault);  ///< "apical third", "at the apex"

/// The limits of a band: "0.5 to 2 mm".
std::string limits_words(const std::optional<Limit>& lower, const std::optional<Limit>& upper,
                         std::string_view unit);

/// What decided over an award: its band's chance, or what was too close to call and by which rule it was
/// settled, or why it could not be assessed and what then holds. `mark`: the criterion's, with this award.
std::string award_words(const Award& award, const CriterionMark& mark, const RubricCriterion& criterion,
                        const Rubric& rubric);
std::string condition_words(const ConditionMark& mark, const Rubric& rubric);

/// How the rubric makes marks, in a section of its own; the same on every page.
Section basis_section(const PageBasis& basis);
std::vector<std::string> foot_lines(const PageBasis& basis);

}  // namespace canalrule::report
