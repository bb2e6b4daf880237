#include "summary_json.hpp"

namespace canalrule::audit {

namespace {

const char* word(PairAgreement::Kind kind) {
  switch (kind) {
    case PairAgreement::Kind::between_readers:
      return "between-readers";
    case PairAgreement::Kind::within_reader:
      return "within-reader";
    case PairAgreement::Kind::reader_unnamed:
      return "reader-unnamed";
  }
  fault("a pair of readings is of one of the kinds there are");
}

ordered_json icc_json(const statistics::Icc& icc) {
  return {{"subjects", icc.subjects},
          {"raters", icc.raters},
          {"agreement_2_1", estimate_json(icc.agreement)},
          {"consistency_3_1", estimate_json(icc.consistency)}};
}

ordered_json kappa_json(const statistics::Kappa& kappa) {
  ordered_json out = estimate_json(kappa.kappa);
  out["standard_error"] = number(kappa.standard_error);
  out["observed_agreement"] = number(kappa.observed_agreement);
  out["chance_agreement"] = number(kappa.chance_agreement);
  return out;
}

/// The pairs themselves are for the page's plot and stay out.
ordered_json figure_json(const FigureAgreement& figure) {
  return {{"figure", figure.figure},
          {"title", figure.title},
          {"unit", figure.unit},
          {"missing", figure.missing},
          {"pairs", figure.bland_altman.pairs},
          {"bias", estimate_json(figure.bland_altman.bias)},
          {"standard_deviation", number(figure.bland_altman.standard_deviation)},
          {"lower_limit", estimate_json(figure.bland_altman.lower_limit)},
          {"upper_limit", estimate_json(figure.bland_altman.upper_limit)},
          {"dahlberg_error", estimate_json(figure.dahlberg)},
          {"icc", icc_json(figure.icc)}};
}

ordered_json verdict_json(const VerdictAgreement& verdict) {
  return {{"criterion", text_or_null(verdict.criterion)},
          {"text", text_or_null(verdict.text)},
          {"categories", {"outside", "too-close-to-call", "within"}},
          {"table", verdict.table},
          {"not_assessable_once", verdict.not_assessable_once},
          {"not_assessable_twice", verdict.not_assessable_twice},
          {"kappa", kappa_json(verdict.simple)},
          {"kappa_linear", kappa_json(verdict.linear)},
          {"kappa_quadratic", kappa_json(verdict.quadratic)},
          {"within",
           {{"both", verdict.within.both},
            {"first_only", verdict.within.first_only},
            {"second_only", verdict.within.second_only},
            {"neither", verdict.within.neither}}},
          {"within_difference", estimate_json(verdict.within_difference)}};
}

ordered_json pair_json(const PairAgreement& pair) {
  return {{"kind", word(pair.kind)},
          {"first", text_or_null(pair.first)},
          {"second", text_or_null(pair.second)},
          {"films", pair.films},
          {"canals", pair.canals},
          {"figures", list(pair.figures, figure_json)},
          {"verdicts", list(pair.verdicts, verdict_json)}};
}

ordered_json joint_json(const JointAgreement& joint) {
  if (!joint.reason.empty()) return {{"reason", joint.reason}};
  return {{"readers", joint.readers},
          {"canals", joint.canals},
          {"figures", list(joint.figures, [](const JointAgreement::Figure& figure) {
             return ordered_json{{"figure", figure.figure},
                                 {"title", figure.title},
                                 {"unit", figure.unit},
                                 {"missing", figure.missing},
                                 {"icc", icc_json(figure.icc)}};
           })}};
}

ordered_json split_json(const SpreadSplit& spread) {
  const statistics::VarianceSplit& split = spread.split;
  const auto variance = [](const std::optional<double>& part) { return number(part, Decimals::variance); };
  ordered_json out{{"figure", spread.figure},
                   {"title", spread.title},
                   {"unit", spread.unit},
                   {"canals", split.subjects},
                   {"measurements", split.measurements},
                   {"variance",
                    {{"between_canals", variance(split.between_subjects)},
                     {"between_readers", variance(split.between_raters)},
                     {"within_reader", variance(split.within_rater)},
                     {"stated_of_measuring", variance(split.stated)},
                     {"beyond_stated", variance(split.beyond_stated)}}}};
  if (!split.reason.empty()) out["reason"] = split.reason;
  return out;
}

}  // namespace

ordered_json agreement_json(const Agreement& agreement) {
  if (!agreement.reason.empty()) return {{"reason", agreement.reason}};
  return {
      {"films_read_again", agreement.films_read_again}, {"canals_read_again", agreement.canals_read_again},
      {"pairs", list(agreement.pairs, pair_json)},      {"pairs_left_out", agreement.pairs_left_out},
      {"readers_left_out", agreement.readers_left_out},
      {"joint", joint_json(agreement.joint)},           {"spread", list(agreement.spread, split_json)}};
}

}  // namespace canalrule::audit
