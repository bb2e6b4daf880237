#include <algorithm>
#include <cstdio>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <variant>
#include <vector>

#include <canalrule/base/utf8.hpp>
#include <canalrule/base/system.hpp>
#include <canalrule/base/version.hpp>
#include <canalrule/grade/class_summary.hpp>
#include <canalrule/record/case_list.hpp>
#include <canalrule/report/document.hpp>
#include <canalrule/report/grade_pages.hpp>

#include "grade_class.hpp"
#include "grammar.hpp"
#include "shipped_files.hpp"
#include "standard_output.hpp"
#include "subcommand.hpp"
#include "whole_folder.hpp"

namespace canalrule::command {

namespace fs = std::filesystem;
namespace po = boost::program_options;

namespace {

constexpr const char* remarks =
    R"(The class list is CSV (RFC 4180): UTF-8, commas or semicolons, the first row
names the columns. 'student' (a pseudonym), 'case' (a name of its own for each
row) and 'reading' (the teacher's *.reading.json, from the list's folder) must
be there. Where they are, these serve too:
  student_reading   the student's own reading of the same film
  second_reading    a second teacher's reading of it
  date              of the session, YYYY-MM-DD
  technique         warm-vertical, lateral or single-cone
  any column that the rubric calls observed: yes, no, or empty

What it writes to the folder:
  class.html   for the teacher: the class together, and what deserves a second
               look; names every student
  students/    for each student a page, HTML and PDF, that names no other
  marks.csv    one row a student, for a gradebook
  cases.csv    one row a case, with the points of each criterion
  marks.json   every point with its figure, uncertainty and band
The folder is written whole or not at all. A case that can't be measured has
no mark and its reason on the class page; the others go on.

Exit codes:
  0 fine   2 wrong use   3 the list, rubric or feedback file can't be used
  4 an output can't be written   5 finished, but some readings failed

Examples:
  canalrule grade class.csv --rubric three-level --output marks
  canalrule grade class.csv --rubric own.json --against three-level \
    --output marks

Marks are of films, which are projections, and are no diagnosis. A teacher
decides. No exposure is ever justified by a measurement.
)";

Grammar grammar() {
  Grammar grammar{.name = "grade",
                  .usage = "CLASS.csv --rubric NAME|FILE --output FOLDER [options]",
                  .purpose = "Measures a class's films and marks them by a rubric, every point with the "
                             "figure, its uncertainty and the band that gave it; writes a feedback page for "
                             "each student and one of the class for the teacher.",
                  .operand = "class",
                  .most_operands = 1,
                  .options = po::options_description(),
                  .remarks = remarks};
  grammar.options.add_options()
      ("rubric", po::value<std::string>()->value_name("NAME|FILE"),
       "Mark by this rubric: the name of one that came with the program (three-level, escribano-2023) or the "
       "path of a .json file.")
      ("output", po::value<std::string>()->value_name("FOLDER"),
       "Write to this folder: a new or empty one, or one with earlier pages, which it replaces.")
      ("against", po::value<std::string>()->value_name("NAME|FILE"),
       "Say what moves from this other rubric to the one of --rubric.")
      ("feedback", po::value<std::string>()->value_name("NAME|FILE"),
       "Take the words of the feedback from this file; 'questions' unless told, which came with the program.")
      ("help", "Print this text.");
  return grammar;
}

const std::vector<std::string_view> written_names{"class.html", "students/", "marks.csv", "cases.csv",
                                                  "marks.json"};

fs::path needed(const po::variables_map& given, const std::string& option, const std::string& remedy) {
  const std::optional<fs::path> value = path_option(grammar(), given, option);
  if (!value) refuse_use(grammar(), "--" + option, "is missing", remedy);
  return *value;
}

Rubric rubric_named(const fs::path& name, const std::string& option, const Call& call) {
  return load_rubric(shipped_file(ShippedKind::rubrics, {"grade", option, name.string()}, call.program));
}

GradingBasis basis_of(const po::variables_map& given, const Call& call) {
  const fs::path rubric = needed(given, "rubric", "name a rubric, such as three-level");
  const std::string feedback = path_option(grammar(), given, "feedback").value_or("questions").string();
  const fs::path words = shipped_file(ShippedKind::feedback, {"grade", "--feedback", feedback}, call.program);
  GradingBasis basis{rubric_named(rubric, "--rubric", call), std::nullopt, load_feedback(words)};
  if (const auto against = path_option(grammar(), given, "against"))
    basis.earlier = rubric_named(*against, "--against", call);
  return basis;
}

/// Grades a class student by student, so that only one student's pictures are held at a time.
class ClassGrader {
 public:
  ClassGrader(const CaseList& list, const GradingBasis& basis, const report::PageBasis& pages, WholeFolder& folder)
      : list_(list), basis_(basis), pages_(pages), folder_(folder), cases_(list.rows.size()) {}

  /// The rows of one student, and the student's pages; none for rows that name no student.
  void grade_student(const std::string& student, const std::vector<std::size_t>& rows, const std::string& file) {
    std::vector<report::StudentCase> shown;
    for (const std::size_t row : rows) {
      GradedRow graded = grade_row(list_, list_.rows[row], basis_);
      cases_[row] = graded.graded;
      shown.push_back({std::move(graded.graded), std::move(graded.picture)});
      show_progress();
    }
    if (student.empty()) return;
    const report::Document document = report::student_document(student, shown, pages_);
    folder_.add(fs::path("students") / (file + ".html"), report::html_document(document));
    folder_.add(fs::path("students") / (file + ".pdf"), report::pdf_document(document));
  }

  /// In the list's order.
  std::vector<ClassCase> take_cases() { return std::move(cases_); }

 private:
  void show_progress() {
    ++done_;
    if (!standard_error_is_terminal()) return;
    std::fprintf(stderr, done_ < cases_.size() ? "\r%zu of %zu cases" : "\r\033[K", done_, cases_.size());
  }

  const CaseList& list_;
  const GradingBasis& basis_;
  const report::PageBasis& pages_;
  WholeFolder& folder_;
  std::vector<ClassCase> cases_;
  std::size_t done_ = 0;
};

/// The rows of each student, students by name.
using StudentRows = std::map<std::string, std::vector<std::size_t>>;

StudentRows rows_of_students(const CaseList& list) {
  StudentRows rows;
  for (std::size_t row = 0; row < list.rows.size(); ++row)
    rows[list.value(list.rows[row], "student")].push_back(row);
  return rows;
}

/// The columns that a rubric calls observed.
void add_observed(const Rubric& rubric, std::vector<std::string>& columns) {
  for (const std::vector<RubricCondition>* conditions : {&rubric.deductions, &rubric.automatic_fails})
    for (const RubricCondition& condition : *conditions)
      if (const auto* observed = std::get_if<ObservedCondition>(&condition.when)) columns.push_back(observed->column);
}

/// Says on standard error which columns of the list nothing is read from: a misspelt one would let what a teacher saw
/// count for nothing.
void tell_unread_columns(const CaseList& list, const GradingBasis& basis, const std::string& file) {
  std::vector<std::string> observed;
  add_observed(basis.rubric, observed);
  if (basis.earlier) add_observed(*basis.earlier, observed);
  std::vector<std::string> read{"student", "case", "reading", "student_reading", "second_reading", "date", "technique"};
  read.insert(read.end(), observed.begin(), observed.end());
  std::set<std::size_t> used;
  for (const std::string& name : read)
    if (const std::optional<std::size_t> column = list.find_column(name)) used.insert(*column);
  std::string looked_for;
  for (const std::string& name : std::set<std::string>(observed.begin(), observed.end()))
    looked_for += (looked_for.empty() ? "; the rubric looks for '" : ", '") + name + "'";
  for (std::size_t column = 0; column < list.columns.size(); ++column)
    if (!used.contains(column))
      std::fprintf(stderr, "canalrule: %s: nothing is read from the column '%s'%s\n", file.c_str(),
                   printable_line(list.columns[column]).c_str(), looked_for.c_str());
}

/// Says on standard error what could not be used.
ExitCode tell_problems(const ClassMarks& marks, const std::string& list) {
  ExitCode code = ExitCode::fine;
  const auto tell = [&](const ClassCase& one, const std::string& problem) {
    std::fprintf(stderr, "canalrule: %s: line %zu, case %s: %s\n", list.c_str(), one.line,
                 printable_line(one.name).c_str(), printable_line(problem).c_str());
    code = ExitCode::some_failed;
  };
  for (const ClassCase& one : marks.cases) {
    if (!one.problem.empty()) tell(one, one.problem);
    for (const std::string& problem : one.reading_problems) tell(one, problem);
  }
  return code;
}

std::string summary_words(const ClassSummary& summary, const ClassMarks& marks, std::size_t students,
                          const fs::path& output) {
  const auto looks =
      std::ranges::count_if(marks.cases, [](const ClassCase& one) { return !one.second_look.empty(); });
  const auto counted = [](std::size_t count, const char* one) {
    return std::to_string(count) + " " + one + (count == 1 ? "" : "s");
  };
  std::string text = counted(summary.cases, "case") + " of " + counted(students, "student") + ": " +
                     std::to_string(summary.marked) + " marked, " + std::to_string(summary.passed) +
                     " passed, " + std::to_string(looks) +
                     " for a second look.\n";
  if (summary.regrade)
    text += std::to_string(summary.regrade->moved.size()) + " marks moved against the other rubric.\n";
  return text + "The class page is " + (output / "class.html").string() + "\n";
}

}  // namespace

std::string grade_help() { return help_text(grammar()); }

ExitCode run_grade(const Call& call) {
  const po::variables_map given = parse(grammar(), call.arguments);
  if (given.count("help") != 0) {
    print(grade_help());
    return ExitCode::fine;
  }
  if (given.count("class") == 0) refuse_use(grammar(), "CLASS.csv", "is missing", "name the class list");
  const fs::path file = given["class"].as<std::vector<std::string>>().front();
  const fs::path output = needed(given, "output", "name the folder for what comes out");
  const GradingBasis basis = basis_of(given, call);
  const CaseList list = load_case_list(file, {.further_columns = {"student"}});
  WholeFolder folder(output, written_names);

  const StudentRows rows_of = rows_of_students(list);
  std::vector<std::string> students;
  for (const auto& [student, rows] : rows_of)
    if (!student.empty()) students.push_back(student);
  const std::vector<std::string> names = page_names(students);

  ClassMarks marks{"canalrule " + std::string(version()), list.sha256, basis.rubric, basis.earlier,
                   basis.feedback.name, basis.feedback.version, {}};
  const report::PageBasis pages{marks.program, basis.rubric, basis.feedback};
  ClassGrader grader(list, basis, pages, folder);
  std::vector<report::StudentLink> links;
  for (const auto& [student, rows] : rows_of) {
    const std::string name = student.empty() ? "" : names[links.size()];
    grader.grade_student(student, rows, name);
    if (!student.empty()) links.push_back({student, "students/" + name + ".html"});
  }
  marks.cases = grader.take_cases();
  const ClassSummary summary = summarise(marks.cases, basis.rubric);
  folder.add("class.html", report::html_document(report::class_document(marks, summary, pages, links)));
  folder.add("marks.csv", marks_csv(marks));
  folder.add("cases.csv", cases_csv(marks));
  folder.add("marks.json", write_marks(marks));
  folder.finish();
  tell_unread_columns(list, basis, file.string());
  const ExitCode code = tell_problems(marks, file.string());
  print(summary_words(summary, marks, students.size(), output));
  return code;
}

}  // namespace canalrule::command
