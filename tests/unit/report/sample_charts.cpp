#include "sample_charts.hpp"

#include <cmath>

namespace sample {
namespace {

using namespace canalrule::report;

HistogramChart lengths() {
  HistogramChart chart;
  chart.title = "End of the fill to the radiographic apex";
  chart.values = {"Short of the apex, mm", Axis::Numbers::plain, 2, {}, {}};
  for (int i = -4; i < 8; ++i) {
    const double at = 0.5 * i;
    chart.bins.push_back(
        {at, at + 0.5, static_cast<std::size_t>(std::lround(60.0 * std::exp(-std::pow(at - 0.9, 2))))});
  }
  chart.below = 2;
  chart.above = 7;
  chart.references = {{0.0, "at least 0"}, {2.0, "at most 2"}};
  return chart;
}

SharesChart by_tooth() {
  SharesChart chart;
  chart.title = "All criteria together, by tooth group";
  chart.label = "Share within, %";
  chart.shares = {{"upper incisors and canines", 48, 0.71, 0.79, Range{0.57, 0.88}},
                  {"upper premolars", 52, 0.60, 0.60, Range{0.46, 0.72}},
                  {"lower molars", 91, 0.31, 0.43, Range{0.22, 0.53}},
                  {"none seen", 0, 0.0, 0.0, std::nullopt}};
  return chart;
}

FunnelChart operators() {
  using Place = FunnelChart::Point::Place;
  FunnelChart chart;
  chart.title = "Operators against the share of all";
  chart.label = "Share within, %";
  chart.centre = {0.55, 0.61};
  for (double size = 5.0; size < 130.0; size += 5.0) {
    const double half = 0.49 / std::sqrt(size);
    chart.limits.push_back({size,
                            {std::max(0.0, 0.55 - 1.96 * half), std::min(1.0, 0.61 + 1.96 * half)},
                            {std::max(0.0, 0.55 - 3.09 * half), std::min(1.0, 0.61 + 3.09 * half)}});
  }
  chart.points = {{"operator 1", 22.0, 0.55, 0.64, {0.23, 0.93}, Place::inside},
                  {"operator 2", 61.0, 0.30, 0.33, {0.36, 0.80}, Place::below},
                  {"operator 3", 112.0, 0.66, 0.70, {0.41, 0.75}, Place::inside},
                  {"operator 4", 6.0, 1.0, 1.0, {0.0, 1.0}, Place::not_placed}};
  return chart;
}

DifferencesChart readers() {
  DifferencesChart chart;
  chart.title = "Two readers, end of the fill";
  chart.means = {"Mean of both readings, mm", Axis::Numbers::plain, 2, {}, {}};
  chart.differences = {"A1 minus A2, mm", Axis::Numbers::plain, 2, {}, {}};
  for (int i = 0; i < 60; ++i)
    chart.pairs.push_back({-1.0 + 0.07 * i, 0.04 + 0.21 * std::sin(7.0 * i) * std::cos(3.0 * i)});
  chart.mean_difference = 0.04;
  chart.lower_limit = -0.19;
  chart.upper_limit = 0.27;
  chart.mean_interval = Range{0.01, 0.07};
  chart.lower_interval = Range{-0.24, -0.14};
  chart.upper_interval = Range{0.22, 0.32};
  return chart;
}

PlacesChart voids() {
  PlacesChart chart;
  chart.title = "Voids along the canal";
  for (int i = -1; i < 13; ++i)
    chart.places.push_back({1.0 * i, 1.0 * i + 1.0, i < 0 ? 9U : 190U - 12U * static_cast<unsigned>(i),
                            i == 5 ? 41U : static_cast<unsigned>(std::abs(i - 3))});
  return chart;
}

CourseChart sessions() {
  CourseChart chart;
  chart.title = "Marks over the sessions";
  chart.values = {"Mark, %", Axis::Numbers::plain, 1, 0.0, 100.0};
  chart.series = {{"class",
                   {{"2026-02", 61.0, Range{55, 67}, 22},
                    {"2026-03", 66.5, Range{60, 72}, 24},
                    {"2026-04", std::nullopt, std::nullopt, 0},
                    {"2026-05", 74.0, Range{70, 79}, 21}}},
                  {"moderated",
                   {{"2026-02", 58.0, Range{51, 65}, 8},
                    {"2026-03", 66.0, Range{59, 73}, 9},
                    {"2026-04", 70.0, Range{61, 78}, 9},
                    {"2026-05", 71.0, Range{63, 80}, 8}}}};
  return chart;
}

}  // namespace

std::vector<Chart> charts() {
  std::vector<Chart> out;
  out.emplace_back(lengths());
  out.emplace_back(by_tooth());
  out.emplace_back(operators());
  out.emplace_back(readers());
  out.emplace_back(voids());
  out.emplace_back(sessions());
  return out;
}

std::vector<Chart> empty_charts() {
  std::vector<Chart> out(6);
  out[1].emplace<SharesChart>();
  out[2].emplace<FunnelChart>();
  out[3].emplace<DifferencesChart>();
  out[4].emplace<PlacesChart>();
  out[5].emplace<CourseChart>();
  return out;
}

Document document() {
  using canalrule::Verdict;
  Document out;
  out.title = "Every chart with invented figures";
  out.lead = "Nothing here was measured.";
  Section words{"words", "Words"};
  words.blocks = {Paragraph{{{Phrase{"Set apart: "}, Phrase{"strong", Phrase::Style::strong}, Phrase{" and "},
                              Phrase{"soft", Phrase::Style::soft}, Phrase{"."}}},
                            Paragraph::Kind::caution},
                  Facts{{{"Film", "invented"}, {"Read by", "A1"}}}, Bullets{{"one", "two"}},
                  Table{"Verdicts",
                        {{"Canal"}, {"Length, mm", Column::Holds::figure}, {"Verdict"}},
                        {{"ML", "1.23", verdict_phrase(Verdict::within)},
                         {"D", "−0.42", verdict_phrase(Verdict::outside)},
                         {"P", "0.02", verdict_phrase(Verdict::too_close_to_call)},
                         {"MB", "", verdict_phrase(Verdict::not_assessable)}}},
                  Table{"Nobody", {{"Who"}}, {}, "There is nobody."}};
  Section shown{"charts", "Charts"};
  for (const Chart& chart : charts()) shown.blocks.push_back(Figure{chart, "A remark on how to read it."});
  Section nothing{"nothing", "Nothing to show"};
  for (const Chart& chart : empty_charts()) nothing.blocks.push_back(Figure{chart, ""});
  out.sections = {words, shown, nothing};
  out.foot = {"canalrule, for tests"};
  return out;
}

}  // namespace sample
