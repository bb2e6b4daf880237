#include <doctest/doctest.h>

#include <algorithm>
#include <canalrule/grade/grade.hpp>
#include <canalrule/report/grade_pages.hpp>
#include <string>
#include <vector>

using namespace canalrule;
using namespace canalrule::report;

namespace {

CanalResult canal_ending(double to_apex_mm) {
  CanalResult canal;
  canal.name = "1";
  canal.terminus = Terminus{{100, 900}, to_apex_mm, 0.05, Side::short_of, {}};
  canal.coronal_level_mm = Quantity{12.0, 0.1};
  canal.voids = std::vector<Void>{};
  canal.width = {{2.0, 0.41, 0.02}, {3.0, 0.47, 0.02}};
  return canal;
}

PageBasis basis() {
  const std::string docs = std::string(CANALRULE_SOURCE_DIR) + "/docs";
  return {"canalrule 0", load_rubric(docs + "/rubrics/three-level.json"),
          load_feedback(docs + "/feedback/questions.json")};
}

MarkedReading reading_of(double to_apex_mm, const Rubric& rubric) {
  Result result;
  result.canals.push_back(canal_ending(to_apex_mm));
  Mark mark = grade(result, rubric, {});
  return {std::move(result), std::move(mark)};
}

ClassCase case_of(const std::string& student, const std::string& name, double to_apex_mm,
                  const PageBasis& by) {
  ClassCase one;
  one.student = student;
  one.name = name;
  one.teacher = reading_of(to_apex_mm, by.rubric);
  one.advice = advise(one.teacher->result, one.teacher->mark, by.rubric, by.feedback, Technique::any);
  return one;
}

std::vector<std::string> section_ids(const Document& document) {
  std::vector<std::string> ids;
  for (const Section& section : document.sections) ids.push_back(section.id);
  return ids;
}

Document class_page(std::vector<ClassCase> cases, const PageBasis& by) {
  const ClassMarks marks{by.program,      "", by.rubric, std::nullopt, by.feedback.name, by.feedback.version,
                         std::move(cases)};
  return class_document(marks, summarise(marks.cases, by.rubric), by, {});
}

}  // namespace

TEST_CASE("a student's page has its cases and how the marks are made") {
  const PageBasis by = basis();
  const Document page =
      student_document("S1", {{case_of("S1", "a", 3.5, by), {}}, {case_of("S1", "b", 1.0, by), {}}}, by);
  CHECK(section_ids(page) == std::vector<std::string>{"overview", "case-1", "case-2", "basis"});
  const std::string html = html_document(page);
  for (const char* words : {"more than 3 mm short (above 3 mm)", "67 %, 4 of 6 points: not passed",
                            "3.50 ± 0.10 mm", "The fill ends short", "Was the working length confirmed",
                            "not findings", "the benefit of the doubt gives the most points"}) {
    CAPTURE(words);
    CHECK(html.find(words) != std::string::npos);
  }
}

TEST_CASE("a case that could not be measured says so and no more to its student") {
  const PageBasis by = basis();
  ClassCase failed;
  failed.student = "S1";
  failed.name = "a";
  failed.problem = "film.png: does not exist; check the name";
  const std::string html = html_document(student_document("S1", {{failed, {}}}, by));
  CHECK(html.find("could not be measured") != std::string::npos);
  CHECK(html.find("film.png") == std::string::npos);
  const std::string page = html_document(class_page({failed}, by));
  CHECK(page.find("film.png: does not exist") != std::string::npos);
}

TEST_CASE("the class page has only the parts that the list gives something for") {
  const PageBasis by = basis();
  const auto has = [](const Document& page, const std::string& id) {
    const std::vector<std::string> ids = section_ids(page);
    return std::find(ids.begin(), ids.end(), id) != ids.end();
  };
  std::vector<ClassCase> cases{case_of("S1", "a", 3.5, by), case_of("S2", "b", 1.0, by)};
  const Document bare = class_page(cases, by);
  for (const char* id : {"progress", "self-assessment", "moderation", "regrade", "problems"})
    CHECK_FALSE(has(bare, id));
  for (const char* id : {"overview", "second-look", "criteria", "faults", "cases", "basis"})
    CHECK(has(bare, id));
  cases[0].date = "2026-03-02";
  cases[0].student_own = reading_of(1.0, by.rubric);
  cases[1].second = reading_of(1.1, by.rubric);
  const Document full = class_page(cases, by);
  for (const char* id : {"progress", "self-assessment", "moderation"}) CHECK(has(full, id));
}

TEST_CASE("same marks, same bytes, on screen and on paper") {
  const PageBasis by = basis();
  const std::vector<ClassCase> cases{case_of("S1", "a", 3.5, by), case_of("S2", "b", 1.0, by)};
  CHECK(html_document(class_page(cases, by)) == html_document(class_page(cases, by)));
  const Document page = student_document("S1", {{cases[0], {}}}, by);
  CHECK(pdf_document(page) == pdf_document(page));
  CHECK(pdf_document(page).rfind("%PDF-", 0) == 0);
}
