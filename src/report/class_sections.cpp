#include "class_sections.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "chart_frame.hpp"
#include "grade_words.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr auto right = Column::Holds::figure;

std::string number(std::size_t n) { return std::to_string(n); }

/// A step in which the figure is worth telling apart: a tenth of a band of the shipped rubrics or so. Chosen
/// here.
double narrowest_bin(const RubricFigure& figure) {
  if (figure == RubricFigure(CriterionFigure::void_count)) return 1.0;
  if (figure == RubricFigure(FilmFigure::contrast_to_texture)) return 1.0;
  return unit_of(figure) == "mm per mm" ? 0.005 : 0.05;
}

/// Bins of a round width, at most 15 of them, that hold all values. Chosen here: what a small chart can show.
HistogramChart histogram_of(const ClassSpread& figure, const RubricCriterion& criterion) {
  constexpr double most_bins = 15.0;
  HistogramChart chart;
  const std::string unit(unit_of(figure.figure));
  const std::string name(figure_name(figure.figure));
  chart.title = criterion.text + ": " + name;
  chart.values.label = unit.empty() ? name : name + ", " + unit;
  // Figures of which less or more is better begin at nothing.
  const bool from_nothing = better_values(figure.figure) != Better::between;
  const double low = from_nothing ? 0.0 : *figure.spread.least, high = *figure.spread.most;
  double width = narrowest_bin(figure.figure);
  for (std::size_t i = 0; width * (most_bins - 1.0) < high - low; ++i) width *= i % 3 == 1 ? 2.5 : 2.0;
  chart.values.decimals = width >= 1.0 ? 0 : (width >= 0.1 ? 1 : (width >= 0.01 ? 2 : 3));
  const double first = width * std::floor(low / width);
  const auto bins = static_cast<std::size_t>(std::floor((high - first) / width)) + 1;
  const statistics::Histogram counted = statistics::histogram(figure.values, first, width, bins);
  for (std::size_t i = 0; i < bins; ++i)
    chart.bins.push_back({first + width * static_cast<double>(i), first + width * static_cast<double>(i + 1),
                          counted.counts[i]});
  chart.below = counted.below;
  chart.above = counted.above;
  std::set<double> edges;
  for (const Band& band : criterion.bands)
    if (band.upper) edges.insert(band.upper->value);
  for (const double edge : edges)
    if (edge >= first && edge <= first + width * static_cast<double>(bins))
      chart.references.push_back({edge, "edge " + axis_text(edge, {})});
  return chart;
}

std::string interval_words(const statistics::Estimate& estimate, int decimals) {
  if (!estimate.value) return std::string(unknown);
  std::string words = fixed(*estimate.value, decimals);
  if (estimate.interval)
    words += " (" + fixed(estimate.interval->low, decimals) + " to " +
             fixed(estimate.interval->high, decimals) + ")";
  return words;
}

int decimals_of(const ReadingsAgreement& agreement) {
  return agreement.unit == "%" ? 0 : (agreement.unit == "mm per mm" ? 4 : 2);
}

Table agreement_table(const ReadingsComparison& comparison, const std::string& other) {
  Table table{
      "Agreement of figures, 95 % intervals in brackets: Bland and Altman 1986, Shrout and Fleiss 1979",
      {{"Figure"},
       {"Pairs", right},
       {"Mean difference, " + other + " less teacher's", right},
       {"Lower limit", right},
       {"Upper limit", right},
       {"ICC(2,1)", right},
       {"ICC(3,1)", right}},
      {}};
  for (const ReadingsAgreement& figure : comparison.figures) {
    const int decimals = decimals_of(figure);
    table.rows.push_back({figure.name + ", " + figure.unit, number(figure.pairs.size()),
                          interval_words(figure.differences.bias, decimals),
                          interval_words(figure.differences.lower_limit, decimals),
                          interval_words(figure.differences.upper_limit, decimals),
                          interval_words(figure.correlation.agreement, 2),
                          interval_words(figure.correlation.consistency, 2)});
  }
  return table;
}

Table kappa_table(const ReadingsComparison& comparison, const Rubric& rubric) {
  Table table{"Agreement of points, quadratic weights (Cohen 1968), by the bands that the figures lie in",
              {{"Criterion"}, {"Pairs", right}, {"Agreed, weighted", right}, {"Weighted kappa", right}},
              {}};
  for (std::size_t i = 0; i < comparison.criteria.size(); ++i) {
    const statistics::Kappa& kappa = comparison.criteria[i].kappa;
    table.rows.push_back(
        {rubric.criteria[i].text, number(kappa.pairs),
         kappa.observed_agreement ? percent(*kappa.observed_agreement, 0) : std::string(unknown),
         kappa.kappa.value ? interval_words(kappa.kappa, 2)
                           : std::string(unknown) + " " + kappa.kappa.reason});
  }
  return table;
}

DifferencesChart differences_of(const ReadingsAgreement& agreement, const std::string& other) {
  DifferencesChart chart;
  chart.title = "Bland and Altman: " + agreement.name;
  const int decimals = decimals_of(agreement);
  chart.means = {"Mean of both, " + agreement.unit, Axis::Numbers::plain, decimals, {}, {}};
  chart.differences = {other + " less teacher's, " + agreement.unit, Axis::Numbers::plain, decimals, {}, {}};
  for (const statistics::Pair& pair : agreement.pairs)
    chart.pairs.push_back({0.5 * (pair.first + pair.second), pair.first - pair.second});
  const statistics::BlandAltman& limits = agreement.differences;
  const auto range = [](const statistics::Estimate& estimate) {
    return estimate.interval ? std::optional<Range>({estimate.interval->low, estimate.interval->high})
                             : std::nullopt;
  };
  chart.mean_difference = *limits.bias.value;
  chart.lower_limit = *limits.lower_limit.value;
  chart.upper_limit = *limits.upper_limit.value;
  chart.mean_interval = range(limits.bias);
  chart.lower_interval = range(limits.lower_limit);
  chart.upper_interval = range(limits.upper_limit);
  return chart;
}

std::string change_words(const Moved& moved) {
  return percent_words(moved.before) + " " + std::string(standing_words(moved.standing_before)) + " → " +
         percent_words(moved.after) + " " + std::string(standing_words(moved.standing_after));
}

Table moved_table(const std::vector<Moved>& all, const std::string& caption) {
  Table table{caption, {{"Case"}, {"Student"}, {"Mark"}, {"Pass or fail"}, {"By"}}, {}};
  for (const Moved& moved : all) {
    std::string by;
    for (const std::string& id : moved.criteria) by += (by.empty() ? "" : ", ") + id;
    const bool turned =
        (moved.standing_before == Standing::passed) != (moved.standing_after == Standing::passed);
    table.rows.push_back({moved.name, moved.student, change_words(moved),
                          turned ? Words(Phrase{"changes", Phrase::Style::strong}) : Words("same"),
                          by.empty() ? std::string(unknown) : by});
  }
  return table;
}

void add_agreement(Section& section, const ReadingsComparison& comparison, const Rubric& rubric,
                   const std::string& other) {
  section.blocks.push_back(agreement_table(comparison, other));
  section.blocks.push_back(kappa_table(comparison, rubric));
  for (const ReadingsAgreement& figure : comparison.figures)
    if ((figure.name == "mark" || figure.name == "terminus to apex") && figure.differences.lower_limit.value)
      section.blocks.push_back(Figure{differences_of(figure, other), ""});
  if (comparison.canals_unmatched > 0)
    section.blocks.push_back(Paragraph{counted(comparison.canals_unmatched, "canal") +
                                           " in one of two readings only, by their names: not compared.",
                                       Paragraph::Kind::small});
}

std::string_view view_words(SelfView view) {
  switch (view) {
    case SelfView::over_rates:
      return "rates higher than the teacher";
    case SelfView::under_rates:
      return "rates lower than the teacher";
    case SelfView::as_the_teacher:
      return "rates as the teacher";
  }
  return "";
}

}  // namespace

std::optional<Section> criteria_section(const ClassSummary& summary, const Rubric& rubric) {
  if (summary.measured == 0) return std::nullopt;
  Section section{"criteria", "Criteria and figures", {}};
  Table table{"How each criterion came out, canals",
              {{"Criterion"},
               {"Sure", right},
               {"Too close to call", right},
               {"Not assessable", right},
               {"Mean points of cases", right},
               {"Of", right},
               {"Canals in each band"}},
              {}};
  for (std::size_t i = 0; i < summary.criteria.size(); ++i) {
    const CriterionOutcome& outcome = summary.criteria[i];
    std::string bands;
    for (std::size_t b = 0; b < outcome.per_band.size(); ++b)
      bands +=
          (bands.empty() ? "" : "; ") + number(outcome.per_band[b]) + " " + rubric.criteria[i].bands[b].text;
    table.rows.push_back({rubric.criteria[i].text, number(outcome.sure), number(outcome.too_close_to_call),
                          number(outcome.not_assessable),
                          outcome.mean_points ? fixed(*outcome.mean_points, 2) : std::string(unknown),
                          points_words(rubric.criteria[i].points), bands});
  }
  section.blocks.push_back(std::move(table));
  for (std::size_t i = 0; i < summary.figures.size(); ++i) {
    const ClassSpread& figure = summary.figures[i];
    if (figure.values.empty()) continue;
    section.blocks.push_back(Figure{histogram_of(figure, rubric.criteria[i]),
                                    figure.without == 0
                                        ? ""
                                        : counted(figure.without, "canal") +
                                              " without such a figure: nothing found, or not assessable."});
  }
  return section;
}

std::optional<Section> faults_section(const ClassSummary& summary) {
  Section section{"faults", "The commonest faults, by place", {}};
  Table table{"", {{"Fault"}, {"Place"}, {"Canals", right}, {"Students", right}}, {}};
  table.caption = "Figures outside the rubric's best bands";
  table.when_empty = "No figure lies outside the rubric's best bands.";
  for (const FaultCount& fault : summary.faults)
    table.rows.push_back(
        {fault.title, place_words(fault.third, fault.fault), number(fault.canals), number(fault.students)});
  section.blocks.push_back(std::move(table));
  return section;
}

std::optional<Section> progress_section(const ClassSummary& summary) {
  if (summary.sessions.empty()) return std::nullopt;
  Section section{"progress", "Progress over the sessions", {}};
  CourseChart course;
  course.title = "Mean mark of each session";
  course.values = {"Mark, %", Axis::Numbers::plain, 0, 0.0, 100.0};
  course.series.push_back({"class", {}});
  for (const Session& session : summary.sessions) {
    std::optional<Range> interval;
    if (session.spread.mean.interval)
      interval = Range{std::max(0.0, session.spread.mean.interval->low),
                       std::min(100.0, session.spread.mean.interval->high)};
    course.series[0].moments.push_back(
        {session.date, session.spread.mean.value, interval, static_cast<double>(session.percents.size())});
  }
  section.blocks.push_back(
      Figure{course,
             "Students and teeth differ from session to session: a change of the mean is no "
             "proof of progress."});
  Table table{"Each student, mean mark of the day in %", {{"Student"}}, {}};
  for (const Session& session : summary.sessions) table.columns.push_back({session.date, right});
  for (const StudentSummary& student : summary.students) {
    std::vector<Words> row{student.student};
    for (const Session& session : summary.sessions) {
      const auto day = std::ranges::find(student.progress, session.date, &StudentSummary::Point::date);
      row.push_back(day == student.progress.end() ? std::string(unknown) : fixed(day->percent, 0));
    }
    table.rows.push_back(std::move(row));
  }
  section.blocks.push_back(std::move(table));
  return section;
}

std::optional<Section> self_section(const ClassSummary& summary, const Rubric& rubric) {
  if (summary.self.cases == 0) return std::nullopt;
  Section section{"self-assessment", "Self-assessment: the students' own readings", {}};
  section.blocks.push_back(
      Paragraph{counted(summary.self.cases, "case") + " with a reading by the student as well."});
  Table table{"Who rates the own work higher or lower than the teacher",
              {{"Student"},
               {"Own readings", right},
               {"Mean difference of the mark, %", right},
               {"Surely higher", right},
               {"Surely lower", right},
               {"On the whole"}},
              {}};
  for (const StudentSummary& student : summary.students) {
    if (student.own_readings == 0) continue;
    const std::string view = student.view ? std::string(view_words(*student.view)) : "too few to say";
    table.rows.push_back({student.student, number(student.own_readings),
                          fixed(*student.own_difference_percent, 0), number(student.own_higher),
                          number(student.own_lower), view});
  }
  section.blocks.push_back(std::move(table));
  section.blocks.push_back(
      Paragraph{"Surely: even when the uncertainty of both marks is allowed for.", Paragraph::Kind::small});
  add_agreement(section, summary.self, rubric, "student's");
  return section;
}

std::optional<Section> moderation_section(const ClassSummary& summary, const Rubric& rubric) {
  if (summary.moderation.cases == 0) return std::nullopt;
  Section section{"moderation", "Moderation: a second teacher's readings", {}};
  section.blocks.push_back(Paragraph{counted(summary.moderation.cases, "case") +
                                     " with a second teacher's reading, by which " +
                                     counted(summary.moderation.moved.size(), "mark") + " would change."});
  section.blocks.push_back(
      moved_table(summary.moderation.moved, "Marks that the second reading would change"));
  add_agreement(section, summary.moderation, rubric, "second");
  return section;
}

std::optional<Section> regrade_section(const ClassSummary& summary, const ClassMarks& marks) {
  if (!summary.regrade || !marks.earlier) return std::nullopt;
  Section section{"regrade", "Compared with another rubric", {}};
  section.blocks.push_back(Facts{{{"Before", marks.earlier->name + ", version " + marks.earlier->version +
                                                 ": " + number(summary.regrade->passed_before) + " passed"},
                                  {"Now", marks.rubric.name + ", version " + marks.rubric.version + ": " +
                                              number(summary.regrade->passed_after) + " passed"},
                                  {"Unmoved", counted(summary.regrade->unmoved, "case")}}});
  section.blocks.push_back(moved_table(summary.regrade->moved, "What moved"));
  return section;
}

}  // namespace canalrule::report
