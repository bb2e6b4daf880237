#include <algorithm>
#include <canalrule/report/grade_pages.hpp>

#include "class_sections.hpp"
#include "grade_words.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr auto right = Column::Holds::figure;

HistogramChart marks_histogram(const ClassSummary& summary, const Rubric& rubric) {
  const statistics::Histogram counted = statistics::histogram(summary.percents, 0.0, 10.0, 10);
  HistogramChart chart;
  chart.title = "Marks of the class";
  chart.values = {"Mark, %", Axis::Numbers::plain, 0, 0.0, 100.0};
  chart.counted = "cases";
  for (std::size_t i = 0; i < counted.counts.size(); ++i)
    chart.bins.push_back(
        {10.0 * static_cast<double>(i), 10.0 * static_cast<double>(i + 1), counted.counts[i]});
  chart.references.push_back({rubric.pass_mark_percent, "pass mark"});
  return chart;
}

Words student_words(const std::string& student, const std::vector<StudentLink>& pages) {
  const auto page = std::ranges::find(pages, student, &StudentLink::student);
  return page == pages.end() ? Words(student) : Words(Phrase{student, Phrase::Style::plain, page->file});
}

Section overview(const ClassMarks& marks, const ClassSummary& summary,
                 const std::vector<StudentLink>& pages) {
  Section section{"overview", "The class", {}};
  const auto number = [](std::size_t n) { return std::to_string(n); };
  section.blocks.push_back(
      Facts{{{"Cases", number(summary.cases) + ", of which " + number(summary.cases - summary.measured) +
                           " could not be measured and " + number(summary.measured - summary.marked) +
                           " could be measured but not be marked"},
             {"Passed", number(summary.passed) + " of " + number(summary.marked) + " marked; for " +
                            number(summary.open) + " the uncertainty leaves pass or fail open"},
             {"Marks", summary.marks.median ? "median " + percent_words(summary.marks.median) + ", from " +
                                                  percent_words(summary.marks.least) + " to " +
                                                  percent_words(summary.marks.most)
                                            : std::string("none")}}});
  section.blocks.push_back(Figure{marks_histogram(summary, marks.rubric), ""});
  Table table{"Students",
              {{"Student"}, {"Cases", right}, {"Marked", right}, {"Passed", right}, {"Mean mark", right}},
              {}};
  for (const StudentSummary& student : summary.students)
    table.rows.push_back({student_words(student.student, pages), number(student.cases),
                          number(student.marked), number(student.passed),
                          percent_words(student.mean_percent)});
  section.blocks.push_back(std::move(table));
  return section;
}

Section second_looks(const ClassMarks& marks, const std::vector<StudentLink>& pages) {
  Section section{"second-look", "Films that deserve a second look", {}};
  Table table{"Close to a boundary, a poor film, or a large disagreement",
              {{"Case"}, {"Student"}, {"Mark"}, {"Why"}},
              {}};
  for (const ClassCase& one : marks.cases) {
    if (one.second_look.empty()) continue;
    std::string why;
    for (const std::string& reason : one.second_look) why += (why.empty() ? "" : " ") + reason;
    table.rows.push_back({one.name, student_words(one.student, pages), mark_words(one.teacher->mark), why});
  }
  section.blocks.push_back(std::move(table));
  section.blocks.push_back(
      Paragraph{"A second look is one at the films that are there; none is taken again for a mark.",
                Paragraph::Kind::small});
  return section;
}

std::optional<Section> problems(const ClassMarks& marks) {
  Table table{
      "Cases and readings that could not be used", {{"Line", right}, {"Case"}, {"Student"}, {"Why"}}, {}};
  for (const ClassCase& one : marks.cases) {
    std::vector<std::string> reasons = one.reading_problems;
    if (!one.problem.empty()) reasons.insert(reasons.begin(), one.problem);
    for (const std::string& reason : reasons)
      table.rows.push_back({std::to_string(one.line), one.name, one.student, reason});
  }
  if (table.rows.empty()) return std::nullopt;
  return Section{"problems", "What could not be measured", {std::move(table)}};
}

Section all_cases(const ClassMarks& marks, const std::vector<StudentLink>& pages) {
  Section section{"cases", "Every case", {}};
  Table table{"Points by criterion", {{"Case"}, {"Student"}, {"Date"}}, {}};
  for (const RubricCriterion& criterion : marks.rubric.criteria)
    table.columns.push_back({criterion.id + " (" + points_words(criterion.points) + ")", right});
  table.columns.push_back({"Mark"});
  table.columns.push_back({"Left open", right});
  for (const ClassCase& one : marks.cases) {
    if (!one.teacher) continue;
    const Mark& mark = one.teacher->mark;
    std::vector<Words> row{one.name, student_words(one.student, pages),
                           one.date.empty() ? std::string(unknown) : one.date};
    for (const CriterionMark& criterion : mark.criteria) row.push_back(points_words(criterion.points));
    row.push_back(mark_words(mark));
    row.push_back(mark.percent && mark.least_percent != mark.most_percent
                      ? fixed(mark.least_percent, 0) + " to " + percent_words(mark.most_percent)
                      : std::string(unknown));
    table.rows.push_back(std::move(row));
  }
  section.blocks.push_back(std::move(table));
  return section;
}

}  // namespace

Document class_document(const ClassMarks& marks, const ClassSummary& summary, const PageBasis& basis,
                        const std::vector<StudentLink>& pages) {
  Document document;
  document.title = "The class's marks";
  document.lead = "Rubric: " + basis.rubric.name + ", version " + basis.rubric.version +
                  ". For teachers: this page names every student.";
  const auto add = [&](std::optional<Section> section) {
    if (section) document.sections.push_back(std::move(*section));
  };
  add(overview(marks, summary, pages));
  add(second_looks(marks, pages));
  add(problems(marks));
  add(criteria_section(summary, marks.rubric));
  add(faults_section(summary));
  add(progress_section(summary));
  add(self_section(summary, marks.rubric));
  add(moderation_section(summary, marks.rubric));
  add(regrade_section(summary, marks));
  add(all_cases(marks, pages));
  add(basis_section(basis));
  document.foot = foot_lines(basis);
  return document;
}

}  // namespace canalrule::report
