#include <algorithm>
#include <canalrule/grade/grade.hpp>
#include <canalrule/report/grade_pages.hpp>
#include <cmath>
#include <map>

#include "grade_words.hpp"
#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr auto right = Column::Holds::figure;

Phrase strong(std::string text) { return {std::move(text), Phrase::Style::strong}; }

std::string case_heading(const ClassCase& one) {
  return "Case " + one.name + (one.date.empty() ? "" : ", " + one.date);
}

Facts mark_facts(const ClassCase& one, const Rubric& rubric) {
  const Mark& mark = one.teacher->mark;
  Facts facts;
  facts.facts.push_back({"Mark", strong(mark_words(mark))});
  if (mark.percent && mark.least_percent != mark.most_percent)
    facts.facts.push_back({"Left open", "The uncertainty of the figures leaves " +
                                            percent_words(mark.least_percent) + " to " +
                                            percent_words(mark.most_percent) + " open. Pass mark " +
                                            percent_words(rubric.pass_mark_percent) + "."});
  if (mark.out_of < rubric.most_points())
    facts.facts.push_back({"Left out", points_words(rubric.most_points() - mark.out_of) + " of " +
                                           points_words(rubric.most_points()) +
                                           " points could not be assessed on this film and don't count."});
  if (one.technique != Technique::any)
    facts.facts.push_back({"Technique", std::string(technique_words(one.technique))});
  return facts;
}

/// Where there is no figure.
std::string none_words(const Award& award) {
  return award.sureness == Sureness::not_assessable ? std::string(unknown) : "none found";
}

Table points_table(const Mark& mark, const Rubric& rubric) {
  Table table{"Points and what gave them",
              {{"Criterion"},
               {"Canal"},
               {"Figure, ± k = 2"},
               {"Lies in"},
               {"Points", right},
               {"Of", right},
               {"How sure: chance of each band (its points)"}},
              {}};
  for (std::size_t i = 0; i < mark.criteria.size(); ++i) {
    const RubricCriterion& criterion = rubric.criteria[i];
    for (const Award& award : mark.criteria[i].awards) {
      const Band* band = award.band ? &criterion.bands[*award.band] : nullptr;
      const std::string limits =
          band == nullptr
              ? std::string(unknown)
              : band->text + " (" + limits_words(band->lower, band->upper, unit_of(criterion.looked.figure)) +
                    ")";
      const std::string figure = canalrule::figure_words(award.figure, criterion.looked.figure);
      table.rows.push_back({criterion.text, award.canal, figure.empty() ? none_words(award) : figure, limits,
                            points_words(award.points), points_words(criterion.points),
                            award_words(award, mark.criteria[i], criterion, rubric)});
    }
    if (mark.criteria[i].awards.size() > 1)
      table.rows.push_back(
          {criterion.text, strong("all"), "", "", strong(points_words(mark.criteria[i].points)),
           points_words(criterion.points),
           std::string(rubric.several_canals == SeveralCanals::worst ? "the worst canal" : "mean of the canals") +
               (criterion.not_assessable.value_or(rubric.not_assessable) == Unassessed::left_out
                    ? " that could be assessed"
                    : "")});
  }
  return table;
}

/// Deductions and automatic fails that take something, or may; what was surely not there is said in one line.
struct Taken {
  enum class Kind { deduction, fail };

  Taken(const std::vector<ConditionMark>& marks, const std::vector<RubricCondition>& conditions,
        const Rubric& rubric, Kind kind) {
    for (std::size_t i = 0; i < marks.size(); ++i) {
      const ConditionMark& mark = marks[i];
      if (!mark.applied && mark.sureness != Sureness::too_close_to_call) {
        (mark.sureness == Sureness::sure ? not_there : not_known).push_back(conditions[i].text);
        continue;
      }
      const auto* measured = std::get_if<MeasuredCondition>(&conditions[i].when);
      const std::string figure =
          measured == nullptr ? "" : canalrule::figure_words(mark.figure, measured->looked.figure);
      const std::string taken = !mark.applied        ? "nothing"
                                : kind == Kind::fail ? "fails"
                                                     : "−" + points_words(mark.points);
      rows.push_back({conditions[i].text, mark.canal.empty() ? std::string(unknown) : mark.canal,
                      figure.empty() ? std::string(unknown) : figure,
                      mark.applied ? Words(strong(taken)) : Words(taken), condition_words(mark, rubric)});
    }
  }

  std::vector<std::vector<Words>> rows;
  std::vector<std::string> not_there, not_known;
};

void add_taken(Section& section, const Mark& mark, const Rubric& rubric) {
  const Taken deductions(mark.deductions, rubric.deductions, rubric, Taken::Kind::deduction);
  const Taken fails(mark.automatic_fails, rubric.automatic_fails, rubric, Taken::Kind::fail);
  Table table{"Deductions and automatic fails",
              {{"What"}, {"Canal"}, {"Figure, ± k = 2"}, {"Taken", right}, {"How sure"}},
              {}};
  std::vector<std::string> not_there, not_known;
  for (const Taken* taken : {&deductions, &fails}) {
    table.rows.insert(table.rows.end(), taken->rows.begin(), taken->rows.end());
    not_there.insert(not_there.end(), taken->not_there.begin(), taken->not_there.end());
    not_known.insert(not_known.end(), taken->not_known.begin(), taken->not_known.end());
  }
  if (!table.rows.empty()) section.blocks.push_back(std::move(table));
  if (!not_there.empty())
    section.blocks.push_back(
        Paragraph{"Looked for and not there, so nothing is taken away: " + joined(not_there, "; ") + ".",
                  Paragraph::Kind::small});
  if (!not_known.empty())
    section.blocks.push_back(
        Paragraph{"Not known of this case, so nothing is taken away: " + joined(not_known, "; ") + ".",
                  Paragraph::Kind::small});
}

Section questions(const ClassCase& one, const Feedback& feedback, const std::string& id) {
  Section section{id + "-questions", "To talk over", {}};
  if (one.advice.empty()) {
    section.blocks.push_back(Paragraph{"No figure lies outside the rubric's best bands."});
    return section;
  }
  section.blocks.push_back(Paragraph{feedback.opening, Paragraph::Kind::caution});
  for (const Advice& advice : one.advice) {
    section.blocks.push_back(Paragraph{strong(advice.title)});
    section.blocks.push_back(Paragraph{advice.looks_like + " " + advice.where});
    Bullets bullets;
    for (const Question& question : advice.questions) {
      std::vector<Phrase> phrases;
      if (question.technique != Technique::any)
        phrases.push_back({std::string(technique_words(question.technique)) + ": ", Phrase::Style::soft});
      phrases.push_back({question.text});
      bullets.items.push_back(std::move(phrases));
    }
    if (!bullets.items.empty()) section.blocks.push_back(std::move(bullets));
  }
  return section;
}

const Award* award_of(const CriterionMark& mark, const std::string& canal) {
  const auto found = std::find_if(mark.awards.begin(), mark.awards.end(),
                                  [&](const Award& award) { return award.canal == canal; });
  return found == mark.awards.end() ? nullptr : &*found;
}

std::string difference_words(const Award& own, const Award& teacher, const RubricFigure& figure) {
  if (!own.figure || !teacher.figure) return std::string(unknown);
  const Quantity difference{own.figure->value - teacher.figure->value, 0.0};
  return canalrule::figure_words(difference, figure);
}

Section own_reading(const ClassCase& one, const Rubric& rubric, const std::string& id) {
  const Mark& teacher = one.teacher->mark;
  const Mark& own = one.student_own->mark;
  Section section{id + "-own", "Your own reading", {}};
  section.blocks.push_back(Paragraph{"By your own marks on this film: " + mark_words(own) +
                                     ". By your teacher's: " + mark_words(teacher) + "."});
  Table table{"Your reading beside your teacher's",
              {{"Criterion"},
               {"Canal"},
               {"Yours"},
               {"Teacher's"},
               {"Difference", right},
               {"Points by yours", right},
               {"by your teacher's", right}},
              {}};
  for (std::size_t i = 0; i < rubric.criteria.size(); ++i) {
    const RubricFigure& figure = rubric.criteria[i].looked.figure;
    for (const Award& award : teacher.criteria[i].awards) {
      const Award* yours = award_of(own.criteria[i], award.canal);
      if (yours == nullptr) continue;
      const auto words = [&](const Award& of) {
        const std::string text = canalrule::figure_words(of.figure, figure);
        return text.empty() ? none_words(of) : text;
      };
      table.rows.push_back({rubric.criteria[i].text, award.canal, words(*yours), words(award),
                            difference_words(*yours, award, figure), points_words(yours->points),
                            points_words(award.points)});
    }
  }
  section.blocks.push_back(std::move(table));
  return section;
}

Section case_section(const StudentCase& item, const PageBasis& basis, std::size_t number) {
  const ClassCase& one = item.shown;
  const std::string id = "case-" + std::to_string(number);
  Section section{id, case_heading(one), {}, {}, Section::Begins::on_a_new_sheet};
  if (!one.teacher) {
    section.blocks.push_back(
        Paragraph{"This case could not be measured, so it has no mark. Your teacher knows why.",
                  Paragraph::Kind::caution});
    return section;
  }
  section.blocks.push_back(mark_facts(one, basis.rubric));
  if (item.picture)
    section.blocks.push_back(
        Drawing{*item.picture, "The film, and each canal unrolled beside its planned cone"});
  section.blocks.push_back(points_table(one.teacher->mark, basis.rubric));
  add_taken(section, one.teacher->mark, basis.rubric);
  section.parts.push_back(questions(one, basis.feedback, id));
  if (one.student_own) section.parts.push_back(own_reading(one, basis.rubric, id));
  return section;
}

Section overview(const std::vector<StudentCase>& cases) {
  Section section{"overview", "Your cases", {}};
  Table table{"Marks", {{"Case"}, {"Date"}, {"Mark"}, {"Percent", right}}, {}};
  std::map<std::string, std::pair<double, std::size_t>> by_date;
  for (std::size_t i = 0; i < cases.size(); ++i) {
    const ClassCase& one = cases[i].shown;
    const std::optional<double> percent = one.teacher ? one.teacher->mark.percent : std::nullopt;
    table.rows.push_back(
        {Phrase{one.name, Phrase::Style::plain, "#case-" + std::to_string(i + 1)},
         one.date.empty() ? std::string(unknown) : one.date,
         one.teacher ? std::string(standing_words(one.teacher->mark.standing)) : "could not be measured",
         percent_words(percent)});
    if (percent && !one.date.empty()) {
      by_date[one.date].first += *percent;
      ++by_date[one.date].second;
    }
  }
  section.blocks.push_back(std::move(table));
  if (by_date.size() < 2) return section;
  CourseChart course;
  course.title = "Your marks over the sessions";
  course.values = {"Mark, %", Axis::Numbers::plain, 0, 0.0, 100.0};
  course.series.push_back({"mean of the session", {}});
  for (const auto& [date, sum] : by_date)
    course.series[0].moments.push_back(
        {date, sum.first / static_cast<double>(sum.second), std::nullopt, static_cast<double>(sum.second)});
  section.blocks.push_back(Figure{course, ""});
  return section;
}

}  // namespace

Document student_document(const std::string& student, const std::vector<StudentCase>& cases,
                          const PageBasis& basis) {
  Document document;
  document.title = "Feedback on your fillings: " + student;
  document.lead = "Rubric: " + basis.rubric.name + ", version " + basis.rubric.version;
  document.sections.push_back(overview(cases));
  for (std::size_t i = 0; i < cases.size(); ++i)
    document.sections.push_back(case_section(cases[i], basis, i + 1));
  document.sections.push_back(basis_section(basis));
  document.foot = foot_lines(basis);
  return document;
}

}  // namespace canalrule::report
