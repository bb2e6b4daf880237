#include <canalrule/audit/sample.hpp>

#include <algorithm>
#include <cmath>

#include <canalrule/base/fault.hpp>
#include <canalrule/base/refusal.hpp>
#include <canalrule/record/csv.hpp>
#include <canalrule/statistics/planning.hpp>
#include <canalrule/statistics/proportion.hpp>

namespace canalrule {

namespace fs = std::filesystem;

namespace {

double design_effect_of(const SampleWish& wish) {
  if (wish.design_effect) return *wish.design_effect;
  return statistics::design_effect_of(wish.canals_per_patient, wish.correlation);
}

double canals_of(const SampleWish& wish, std::size_t cases) {
  return static_cast<double>(cases) * wish.canals_per_case;
}

statistics::ProportionPlan plan_of(const SampleWish& wish) {
  ensure(wish.canals_per_case >= 1.0, "a case has a canal at least");
  ensure(wish.canals_per_patient >= wish.canals_per_case, "a patient has the canals of a case at least");
  statistics::ProportionPlan plan{.expected_share = wish.expected_share,
                                  .half_width = wish.half_width,
                                  .level = wish.level,
                                  .population = std::nullopt,
                                  .design_effect = design_effect_of(wish)};
  if (wish.cases) plan.population = static_cast<std::size_t>(std::llround(canals_of(wish, *wish.cases)));
  return plan;
}

std::size_t in_cases(const SampleWish& wish, std::size_t canals) {
  const double cases = std::ceil(static_cast<double>(canals) / wish.canals_per_case - 1e-9);
  const auto whole = static_cast<std::size_t>(cases);
  return wish.cases ? std::min(whole, *wish.cases) : whole;
}

}  // namespace

SampleNeeded sample_needed(const SampleWish& wish) {
  const statistics::ProportionPlan plan = plan_of(wish);
  const statistics::SampleSize wilson = statistics::sample_size_wilson(plan);
  return {in_cases(wish, wilson.size), wilson.unlimited, plan.design_effect,
          in_cases(wish, statistics::sample_size_normal(plan).size)};
}

std::optional<statistics::Interval> expected_interval(const SampleWish& wish, std::size_t cases) {
  ensure(cases > 0 && (!wish.cases || cases <= *wish.cases), "no more is drawn than there is");
  if (wish.cases && cases == *wish.cases) return std::nullopt;
  const double canals = canals_of(wish, cases);
  double effective = canals / design_effect_of(wish);
  if (wish.cases) {
    const double population = canals_of(wish, *wish.cases);
    effective *= (population - 1.0) / (population - canals);
  }
  return statistics::wilson_of_share(wish.expected_share, effective, wish.level).interval;
}

std::vector<std::size_t> drawn_rows(const CaseList& list, std::size_t size, std::uint64_t seed) {
  for (const CaseListRow& row : list.rows)
    if (!row.problem.empty())
      throw Refusal(RefusalKind::unusable_input, list.file, "line " + std::to_string(row.line), row.problem,
                    "a sample is drawn from a list without faults");
  std::vector<std::size_t> rows = statistics::draw_without_replacement(list.rows.size(), size, seed);
  std::sort(rows.begin(), rows.end());
  return rows;
}

std::string list_of_rows(const CaseList& list, const std::vector<std::size_t>& rows, const fs::path& folder) {
  const std::optional<std::size_t> reading = list.find_column("reading");
  const auto whole = [](const fs::path& one) {  // of nothing there is no absolute path
    return fs::absolute(one.empty() ? fs::path(".") : one).lexically_normal();
  };
  const fs::path from = whole(list.folder), to = whole(folder);
  std::string text = csv_row(list.columns);
  for (const std::size_t row : rows) {
    std::vector<std::string> values = list.rows.at(row).values;
    if (reading && !values[*reading].empty() && from != to && fs::path(values[*reading]).is_relative())
      values[*reading] = (from / values[*reading]).lexically_relative(to).generic_string();
    text += csv_row(values);
  }
  return text;
}

}  // namespace canalrule
