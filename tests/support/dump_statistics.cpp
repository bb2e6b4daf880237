// Answers what the statistics make of given numbers, so that an independent program can be held against it:
// dump_statistics REQUEST.json, the answer as JSON on stdout. The request is a list of objects, each with
// "ask" and what that needs; the answer has one object for each. Missing values are null, intervals [low,
// high].
#include <fstream>
#include <iostream>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include <canalrule/statistics/agreement.hpp>
#include <canalrule/statistics/distribution.hpp>
#include <canalrule/statistics/kappa.hpp>
#include <canalrule/statistics/planning.hpp>
#include <canalrule/statistics/proportion.hpp>

namespace {

using namespace canalrule::statistics;
using nlohmann::json;

json number(const std::optional<double>& value) { return value ? json(*value) : json(nullptr); }

json interval(const std::optional<Interval>& found) {
  return found ? json{found->low, found->high} : json(nullptr);
}

json estimate(const Estimate& found) {
  return {{"value", number(found.value)}, {"interval", interval(found.interval)}, {"reason", found.reason}};
}

std::vector<Pair> pairs_of(const json& asked) {
  std::vector<Pair> pairs;
  for (const json& pair : asked.at("pairs")) pairs.push_back({pair.at(0), pair.at(1)});
  return pairs;
}

json distribution_answer(const json& asked) {
  const std::vector<double> values = asked.at("values");
  const Distribution found = distribution_of(values, asked.at("level"));
  json quantiles = json::array();
  for (const double q : asked.at("at").get<std::vector<double>>())
    quantiles.push_back(number(quantile(values, q)));
  const Histogram bins = histogram(values, asked.at("first"), asked.at("width"), asked.at("bins"));
  return {{"mean", estimate(found.mean)},
          {"standard_deviation", number(found.standard_deviation)},
          {"quartiles", {number(found.lower_quartile), number(found.median), number(found.upper_quartile)}},
          {"quantiles", quantiles},
          {"counts", bins.counts},
          {"outside", {bins.below, bins.above}}};
}

json agreement_answer(const json& asked) {
  const std::vector<Pair> pairs = pairs_of(asked);
  const BlandAltman found = bland_altman(pairs, asked.at("level"));
  return {{"bias", estimate(found.bias)},
          {"standard_deviation", number(found.standard_deviation)},
          {"lower", estimate(found.lower_limit)},
          {"upper", estimate(found.upper_limit)},
          {"dahlberg", estimate(dahlberg_error(pairs, asked.at("level")))}};
}

json icc_answer(const json& asked) {
  const Icc found = intraclass_correlation(asked.at("ratings").get<Ratings>(), asked.at("level"));
  json answer{{"agreement", estimate(found.agreement)}, {"consistency", estimate(found.consistency)}};
  if (found.mean_squares)
    answer["mean_squares"] = {found.mean_squares->between_subjects, found.mean_squares->between_raters,
                              found.mean_squares->residual};
  return answer;
}

json kappa_answer(const json& asked) {
  const std::string named = asked.at("weights");
  const KappaWeights weights = named == "linear"      ? KappaWeights::linear
                               : named == "quadratic" ? KappaWeights::quadratic
                                                      : KappaWeights::none;
  const Kappa found = cohen_kappa(asked.at("table").get<CategoryTable>(), weights, asked.at("level"));
  return {{"kappa", estimate(found.kappa)}, {"standard_error", number(found.standard_error)}};
}

json clusters_answer(const json& asked) {
  std::vector<Cluster> clusters;
  for (const json& cluster : asked.at("clusters")) clusters.push_back({cluster.at(0), cluster.at(1)});
  const ClusteredShare found = clustered_share(clusters, asked.at("level"));
  return {{"share", estimate(found.share)},
          {"value", found.design.value},
          {"effective_size", found.design.effective_size}};
}

json split_answer(const json& asked) {
  std::vector<Observation> observations;
  for (const json& one : asked.at("observations"))
    observations.push_back({one.at(0), one.at(1), one.at(2), one.at(3).get<double>()});
  const VarianceSplit found = variance_split(observations);
  return {{"subjects", number(found.between_subjects)},
          {"raters", number(found.between_raters)},
          {"within", number(found.within_rater)},
          {"stated", number(found.stated)}};
}

json plan_answer(const json& asked) {
  ProportionPlan plan{.expected_share = asked.at("share"),
                      .half_width = asked.at("half_width"),
                      .level = asked.at("level"),
                      .population = std::nullopt,
                      .design_effect = asked.at("design_effect")};
  if (asked.contains("population")) plan.population = asked.at("population").get<std::size_t>();
  return {{"normal", sample_size_normal(plan).size}, {"wilson", sample_size_wilson(plan).size}};
}

json answer_to(const json& asked) {
  const std::string what = asked.at("ask");
  if (what == "wilson") return estimate(wilson(asked.at("counted"), asked.at("all"), asked.at("level")));
  if (what == "paired")
    return estimate(difference_of_paired_shares(
        {asked.at("both"), asked.at("first"), asked.at("second"), asked.at("neither")}, asked.at("level")));
  if (what == "funnel")
    return interval(funnel_limits(asked.at("overall"), asked.at("all"), asked.at("level")));
  if (what == "clusters") return clusters_answer(asked);
  if (what == "distribution") return distribution_answer(asked);
  if (what == "agreement") return agreement_answer(asked);
  if (what == "icc") return icc_answer(asked);
  if (what == "kappa") return kappa_answer(asked);
  if (what == "split") return split_answer(asked);
  if (what == "plan") return plan_answer(asked);
  if (what == "draw")
    return draw_without_replacement(asked.at("population"), asked.at("size"),
                                    asked.at("seed").get<std::uint64_t>());
  throw std::invalid_argument("nothing here answers " + what);
}

}  // namespace

int main(int count, char** arguments) {
  if (count != 2) return 2;
  try {
    std::ifstream in(arguments[1]);
    json answers = json::array();
    for (const json& asked : json::parse(in)) answers.push_back(answer_to(asked));
    std::cout << answers.dump() << '\n';
  } catch (const std::exception& failure) {
    std::cerr << failure.what() << '\n';
    return 3;
  }
  return 0;
}
