#pragma once

#include <canalrule/record/case_list.hpp>
#include <canalrule/record/feedback.hpp>
#include <canalrule/record/marks.hpp>
#include <canalrule/record/rubric.hpp>
#include <canalrule/report/scene.hpp>
#include <optional>
#include <string>
#include <vector>

namespace canalrule::command {

/// What a class is graded by.
struct GradingBasis {
  Rubric rubric;
  std::optional<Rubric> earlier;
  Feedback feedback;
};

/// A row of the class list, measured and graded, and its picture.
struct GradedRow {
  ClassCase graded;
  std::optional<report::Scene> picture;
};

/// Never refuses: what is wrong with a row or its readings stands in it, as problem (no mark) or
/// reading_problems.
GradedRow grade_row(const CaseList& list, const CaseListRow& row, const GradingBasis& basis);

/// File names for the students' pages, in the order of `students`: letters, digits, - and _ as they are,
/// others replaced, and a number after a name that stood before, without regard to upper and lower case.
std::vector<std::string> page_names(const std::vector<std::string>& students);

}  // namespace canalrule::command
