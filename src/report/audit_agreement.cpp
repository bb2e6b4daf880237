#include <cmath>

#include "audit_sections.hpp"
#include "plain_text.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr auto figure = Column::Holds::figure;

std::string who(const PairAgreement& pair) {
  switch (pair.kind) {
    case PairAgreement::Kind::between_readers:
      return group_name(pair.first) + " and " + group_name(pair.second);
    case PairAgreement::Kind::within_reader:
      return group_name(pair.first) + ", first and second reading";
    case PairAgreement::Kind::reader_unnamed:
      return "first and second reading, readers not named";
  }
  return {};
}

std::string difference_words(const PairAgreement& pair) {
  return pair.kind == PairAgreement::Kind::between_readers
             ? group_name(pair.first) + " minus " + group_name(pair.second)
             : "first minus second reading";
}

std::optional<Range> range_of(const statistics::Estimate& estimate) {
  if (!estimate.interval) return std::nullopt;
  return Range{estimate.interval->low, estimate.interval->high};
}

/// Only where there are limits to draw.
std::optional<Figure> differences_figure(const PairAgreement& pair, const FigureAgreement& agreement,
                                         double level) {
  const statistics::BlandAltman& found = agreement.bland_altman;
  if (!found.bias.value || !found.lower_limit.value || !found.upper_limit.value) return std::nullopt;
  const int decimals = decimals_of_spread(agreement.unit, found.standard_deviation);
  DifferencesChart chart;
  chart.title = agreement.title + ": " + who(pair);
  chart.means = {"Mean of both readings, " + agreement.unit, Axis::Numbers::plain, decimals, {}, {}};
  chart.differences = {"Difference, " + agreement.unit, Axis::Numbers::plain, decimals, {}, {}};
  for (const statistics::Pair& each : agreement.points)
    chart.pairs.push_back({(each.first + each.second) / 2.0, each.first - each.second});
  chart.mean_difference = *found.bias.value;
  chart.lower_limit = *found.lower_limit.value;
  chart.upper_limit = *found.upper_limit.value;
  chart.mean_interval = range_of(found.bias);
  chart.lower_interval = range_of(found.lower_limit);
  chart.upper_interval = range_of(found.upper_limit);
  chart.confidence = interval_name(level);
  std::string remark = "Difference: " + difference_words(pair) + ".";
  if (agreement.points.size() < found.pairs)
    remark += " The plot shows " + std::to_string(agreement.points.size()) + " of " +
              std::to_string(found.pairs) + " pairs, evenly thinned; the figures are of all.";
  return Figure{chart, remark};
}

Table figures_table(const PairAgreement& pair, double level) {
  Table table{
      "Figures (" + interval_name(level) + "s in brackets; difference: " + difference_words(pair) + ")",
      {{"Figure"},
       {"Canals", figure},
       {"Without it", figure},
       {"Mean difference", figure},
       {"Limits of agreement", figure},
       {"Dahlberg's error", figure},
       {"ICC(2,1)", figure},
       {"ICC(3,1)", figure}},
      {},
      "No figure was read twice."};
  for (const FigureAgreement& each : pair.figures) {
    const statistics::BlandAltman& found = each.bland_altman;
    const int decimals = decimals_of_spread(each.unit, found.standard_deviation);
    table.rows.push_back({each.title + ", " + each.unit, std::to_string(found.pairs),
                          std::to_string(each.missing), estimate_text(found.bias, decimals),
                          found.lower_limit.value ? estimate_text(found.lower_limit, decimals) + " to " +
                                                        estimate_text(found.upper_limit, decimals)
                                                  : estimate_text(found.lower_limit, decimals),
                          estimate_text(each.dahlberg, decimals), estimate_text(each.icc.agreement, 2),
                          estimate_text(each.icc.consistency, 2)});
  }
  return table;
}

/// "80.0 %, chance alone 52.1 %"
std::string agreed(const statistics::Kappa& kappa) {
  if (!kappa.observed_agreement) return std::string(unknown);
  std::string out = percent(*kappa.observed_agreement, 1);
  if (kappa.chance_agreement) out += ", by chance " + percent(*kappa.chance_agreement, 1);
  return out;
}

Table verdicts_table(const PairAgreement& pair, double level) {
  Table table{"Verdicts (" + interval_name(level) + "s in brackets): " + who(pair),
              {{"Criterion"},
               {"Canals", figure},
               {"Not assessable once", figure},
               {"Not assessable twice", figure},
               {"Agreed", figure},
               {"Kappa", figure},
               {"Linear weights", figure},
               {"Quadratic weights", figure},
               {"Share within, difference in points", figure}},
              {},
              "No verdict was given twice."};
  for (const VerdictAgreement& each : pair.verdicts) {
    table.rows.push_back(
        {each.criterion.empty() ? "All criteria together" : each.text, std::to_string(each.simple.pairs),
         std::to_string(each.not_assessable_once), std::to_string(each.not_assessable_twice),
         agreed(each.simple), estimate_text(each.simple.kappa, 2), estimate_text(each.linear.kappa, 2),
         estimate_text(each.quadratic.kappa, 2), estimate_text(each.within_difference, 1, 100.0)});
  }
  return table;
}

std::string spread_text(const std::optional<double>& variance, int decimals) {
  return variance ? fixed(std::sqrt(*variance), decimals) : std::string(unknown);
}

Table split_table(const std::vector<SpreadSplit>& spread) {
  Table table{"How much of the spread is the reader, how much the measuring: standard deviations",
              {{"Figure"},
               {"Canals read again", figure},
               {"From canal to canal", figure},
               {"From reader to reader", figure},
               {"Same reader again", figure},
               {"Stated uncertainty", figure},
               {"Readers beyond it", figure},
               {"Remark"}},
              {},
              "Too few films were read again."};
  for (const SpreadSplit& each : spread) {
    const int decimals = decimals_of(each.unit) + 1;
    const statistics::VarianceSplit& split = each.split;
    table.rows.push_back({each.title + ", " + each.unit, std::to_string(split.subjects),
                          spread_text(split.between_subjects, decimals),
                          spread_text(split.between_raters, decimals),
                          spread_text(split.within_rater, decimals), spread_text(split.stated, decimals),
                          spread_text(split.beyond_stated, decimals), split.reason});
  }
  return table;
}

Block joint_block(const JointAgreement& joint, double level) {
  if (!joint.reason.empty()) return Paragraph{"All readers at once: " + joint.reason, Paragraph::Kind::small};
  Table table{"All " + std::to_string(joint.readers.size()) + " readers at once, over " +
                  std::to_string(joint.canals) + " canals that each of them read (" + interval_name(level) +
                  "s in brackets)",
              {{"Figure"}, {"Without it", figure}, {"ICC(2,1)", figure}, {"ICC(3,1)", figure}},
              {},
              "No figure was read by all."};
  for (const JointAgreement::Figure& each : joint.figures)
    table.rows.push_back({each.title + ", " + each.unit, std::to_string(each.missing),
                          estimate_text(each.icc.agreement, 2), estimate_text(each.icc.consistency, 2)});
  return table;
}

}  // namespace

std::optional<std::string> readers_beyond_stated(const AuditSummary& summary) {
  for (const SpreadSplit& each : summary.agreement.spread) {
    const statistics::VarianceSplit& split = each.split;
    if (each.figure != "terminus_to_apex_mm" || !split.stated || !split.beyond_stated) continue;
    if (*split.beyond_stated <= *split.stated) continue;
    return "Readings of the same canal differ about the end of the fill by " +
           fixed(std::sqrt(*split.stated + *split.beyond_stated), 2) + " mm (standard deviation), but state " +
           fixed(std::sqrt(*split.stated), 2) +
           " mm: verdicts on length near a limit are less sure than they say. State in each reading how sure its apex "
           "mark is (apex_uncertainty_mm, or three or more repeated marks in apex_marks), and audit again.";
  }
  return std::nullopt;
}

Section agreement_section(const AuditSummary& summary) {
  const Agreement& agreement = summary.agreement;
  const double level = summary.options.level;
  Section section{"agreement", "How well the readings agree"};
  if (!agreement.reason.empty()) {
    section.blocks.emplace_back(Paragraph{agreement.reason});
    return section;
  }
  section.blocks.emplace_back(Paragraph{std::to_string(agreement.films_read_again) + " films with " +
                                        std::to_string(agreement.canals_read_again) +
                                        " canals were read more than once."});
  if (std::optional<std::string> beyond = readers_beyond_stated(summary))
    section.blocks.emplace_back(Paragraph{*std::move(beyond), Paragraph::Kind::caution});
  section.blocks.emplace_back(split_table(agreement.spread));
  section.blocks.emplace_back(joint_block(agreement.joint, level));
  std::size_t number = 0;
  for (const PairAgreement& pair : agreement.pairs) {
    Section part{"pair-" + std::to_string(++number), who(pair)};
    part.blocks.emplace_back(Paragraph{std::to_string(pair.films) + " films, " + std::to_string(pair.canals) +
                                       " canals in both readings."});
    part.blocks.emplace_back(figures_table(pair, level));
    for (const FigureAgreement& each : pair.figures) {
      if (std::optional<Figure> shown = differences_figure(pair, each, level))
        part.blocks.emplace_back(std::move(*shown));
    }
    part.blocks.emplace_back(verdicts_table(pair, level));
    section.parts.push_back(std::move(part));
  }
  if (agreement.pairs_left_out > 0)
    section.blocks.emplace_back(Paragraph{
        std::to_string(agreement.pairs_left_out) + " more pairs of readers with fewer canals are left out.",
        Paragraph::Kind::small});
  if (agreement.readers_left_out > 0)
    section.blocks.emplace_back(
        Paragraph{std::to_string(agreement.readers_left_out) +
                      " more readers, who read fewer of these canals, are not set side by side with others.",
                  Paragraph::Kind::small});
  section.blocks.emplace_back(
      Paragraph{"Limits of agreement: Bland and Altman 1986. ICC: Shrout and Fleiss 1979, single readings; "
                "(2,1) counts "
                "systematic differences between readers, (3,1) leaves them out. Kappa: Cohen 1960, weighted "
                "1968, over outside, "
                "too close to call, within.",
                Paragraph::Kind::small});
  return section;
}

}  // namespace canalrule::report
