#pragma once

#include <canalrule/film/film.hpp>
#include <canalrule/grade/class_summary.hpp>
#include <canalrule/record/marks.hpp>
#include <canalrule/report/document.hpp>
#include <canalrule/report/scene.hpp>
#include <optional>
#include <string>
#include <vector>

/// The pages of a graded class, as values.
namespace canalrule::report {

/// The film with the found fill and its faults, and each canal unrolled beside its planned cone; as wide as
/// the column of an upright A4 sheet.
Scene case_scene(const Film& film, const Result& result);

/// A case on its student's page; without a picture where it could not be measured.
struct StudentCase {
  ClassCase shown;
  std::optional<Scene> picture;
};

/// What all pages of a class rest on.
struct PageBasis {
  std::string program;  ///< and its version
  Rubric rubric;
  Feedback feedback;
};

/// One student's page: nothing on it is about another student, nor from a second teacher's reading. `cases`
/// are this student's.
Document student_document(const std::string& student, const std::vector<StudentCase>& cases,
                          const PageBasis& basis);

/// Where a student's page lies, relative to the class page.
struct StudentLink {
  std::string student;
  std::string file;
};

/// The teacher's page of the whole class.
Document class_document(const ClassMarks& marks, const ClassSummary& summary, const PageBasis& basis,
                        const std::vector<StudentLink>& pages);

}  // namespace canalrule::report
