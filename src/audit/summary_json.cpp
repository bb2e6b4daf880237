#include "summary_json.hpp"

#include <utility>

#include <canalrule/record/json_text.hpp>

namespace canalrule::audit {

namespace {

const char* word(statistics::DesignEffect::Method method) {
  using Method = statistics::DesignEffect::Method;
  switch (method) {
    case Method::none:
      return "none";
    case Method::independent:
      return "independent";
    case Method::ratio_estimator:
      return "ratio-estimator";
    case Method::not_below_one:
      return "not-below-one";
    case Method::most_cautious:
      return "most-cautious";
  }
  fault("a design effect is estimated in one of the ways there are");
}

const char* word(Grouping::By by) {
  switch (by) {
    case Grouping::By::tooth_group:
      return "tooth-group";
    case Grouping::By::operated_by:
      return "operator";
    case Grouping::By::read_by:
      return "reader";
    case Grouping::By::column:
      return "column";
  }
  fault("a grouping is by one of the things there are");
}

const char* word(FunnelPoint::Place place) {
  switch (place) {
    case FunnelPoint::Place::inside:
      return "inside";
    case FunnelPoint::Place::below:
      return "below";
    case FunnelPoint::Place::above:
      return "above";
    case FunnelPoint::Place::too_few:
      return "too-few-cases";
  }
  fault("a point lies in one of the places there are");
}

ordered_json reasons_json(const std::vector<ReasonCount>& reasons) {
  return list(reasons, [](const ReasonCount& reason) {
    return ordered_json{{"reason", reason.reason}, {"text", reason.text}, {"count", reason.count}};
  });
}

ordered_json clustered_json(const statistics::ClusteredShare& share) {
  ordered_json out = estimate_json(share.share);
  out["counted"] = share.counted;
  out["all"] = share.all;
  out["design_effect"] = {{"value", number(share.design.value)},
                          {"method", word(share.design.method)},
                          {"clusters", share.design.clusters},
                          {"effective_size", number(share.design.effective_size)}};
  return out;
}

ordered_json share_json(const CriterionShare& share) {
  return {{"canals", share.canals()},
          {"assessable", share.assessable()},
          {"within", share.within},
          {"outside", share.outside},
          {"too_close_to_call", share.too_close_to_call},
          {"not_assessable", share.not_assessable},
          {"not_assessable_for", reasons_json(share.not_assessable_for)},
          {"lowest", clustered_json(share.lowest)},
          {"highest", clustered_json(share.highest)}};
}

ordered_json counts_json(const Counts& counts) {
  return {{"cases", counts.cases},
          {"measured", counts.measured},
          {"failed", counts.failed},
          {"failed_for", reasons_json(counts.failed_for)},
          {"failed_for_left_out", counts.failed_for_left_out},
          {"films", counts.films},
          {"films_of_several_teeth", counts.films_of_several_teeth},
          {"read_again", counts.read_again},
          {"same_reading_again", counts.same_reading_again},
          {"canals", counts.canals},
          {"canals_read_again", counts.canals_read_again},
          {"canals_fully_assessable", counts.canals_fully_assessable},
          {"patients", counts.patients},
          {"cases_without_patient", counts.cases_without_patient},
          {"warnings", reasons_json(counts.warnings)}};
}

ordered_json named_shares(const std::vector<CriterionShare>& shares, const Criteria& criteria) {
  ensure(shares.size() == criteria.criteria.size(), "there is a share for every criterion");
  ordered_json out = ordered_json::array();
  for (std::size_t i = 0; i < shares.size(); ++i) {
    ordered_json share{{"criterion", criteria.criteria[i].id}};
    share.update(share_json(shares[i]));
    out.push_back(std::move(share));
  }
  return out;
}

ordered_json group_json(const Group& group, const Criteria& criteria) {
  return {{"name", text_or_null(group.name)},
          {"cases", group.cases},
          {"failed", group.failed},
          {"clusters", group.clusters},
          {"enough_cases", group.enough},
          {"criteria", named_shares(group.criteria, criteria)},
          {"together", share_json(group.together)}};
}

ordered_json grouping_json(const Grouping& grouping, const Criteria& criteria) {
  return {{"by", word(grouping.by)},
          {"column", text_or_null(grouping.column)},
          {"groups", list(grouping.groups, [&](const Group& group) { return group_json(group, criteria); })},
          {"clear_differences", list(grouping.clear_differences,
                                     [](const ClearDifference& difference) {
                                       return ordered_json{{"higher", difference.higher},
                                                           {"lower", difference.lower},
                                                           {"least", estimate_json(difference.least)}};
                                     })},
          {"clear_differences_left_out", grouping.clear_differences_left_out}};
}

ordered_json distribution_json(const statistics::Distribution& values) {
  return {{"count", values.count},
          {"mean", estimate_json(values.mean)},
          {"standard_deviation", number(values.standard_deviation)},
          {"least", number(values.least)},
          {"lower_quartile", number(values.lower_quartile)},
          {"median", number(values.median)},
          {"upper_quartile", number(values.upper_quartile)},
          {"most", number(values.most)}};
}

ordered_json spread_json(const FigureSpread& spread) {
  ordered_json out{
      {"figure", spread.figure}, {"title", spread.title}, {"unit", spread.unit}, {"missing", spread.missing}};
  out["root_mean_square_standard_uncertainty"] = number(spread.mean_standard_uncertainty);
  out["values"] = distribution_json(spread.values);
  out["histogram"] = {{"first", number(spread.histogram.first)},
                      {"width", number(spread.histogram.width)},
                      {"below", spread.histogram.below},
                      {"counts", spread.histogram.counts},
                      {"above", spread.histogram.above}};
  out["limits"] = list(spread.limits, [](const Limit& limit) {
    return ordered_json{{"value", number(limit.value)}, {"inclusive", limit.inclusive}};
  });
  return out;
}

ordered_json thirds_json(const ThirdShares& thirds) {
  return {{"criterion", thirds.criterion},
          {"text", thirds.text},
          {"apical", share_json(thirds.apical)},
          {"middle", share_json(thirds.middle)},
          {"coronal", share_json(thirds.coronal)}};
}

ordered_json voids_json(const VoidsAlong& along) {
  return {{"selected_by_criterion", text_or_null(along.selected_by)},
          {"score_at_least", number(along.selection.least_score)},
          {"length_at_least_mm", number(along.selection.least_length_mm)},
          {"deficit_at_least", number(along.selection.least_deficit)},
          {"voids", along.voids},
          {"across", along.across},
          {"inside", along.inside},
          {"along_wall", along.along_wall},
          {"at_backfill", along.at_backfill},
          {"canals_unknown", along.canals_unknown},
          {"length_mm", distribution_json(along.lengths_mm)},
          {"places", list(along.places, [](const VoidPlace& place) {
             return ordered_json{{"from_mm", number(place.from_mm)},
                                 {"to_mm", number(place.to_mm)},
                                 {"filled", place.filled},
                                 {"with_void", place.with_void},
                                 {"share", clustered_json(place.share)}};
           })}};
}

ordered_json limits_json(const statistics::Interval& limits) {
  return {{"low", number(limits.low)}, {"high", number(limits.high)}};
}

ordered_json funnel_json(const Funnel& funnel) {
  if (!funnel.reason.empty()) return {{"reason", funnel.reason}};
  return {{"overall_lowest", number(funnel.overall_lowest)},
          {"overall_highest", number(funnel.overall_highest)},
          {"design_effect", number(funnel.design_effect)},
          {"points", list(funnel.points,
                          [](const FunnelPoint& point) {
                            return ordered_json{{"name", point.name},
                                                {"cases", point.cases},
                                                {"canals", point.canals},
                                                {"lowest", number(point.lowest)},
                                                {"highest", number(point.highest)},
                                                {"effective_size", number(point.effective_size)},
                                                {"warning_limits", limits_json(point.warning)},
                                                {"action_limits", limits_json(point.action)},
                                                {"place", word(point.place)}};
                          })},
          {"lines", list(funnel.lines, [](const FunnelLine& line) {
             return ordered_json{{"effective_size", line.effective_size},
                                 {"warning_limits", limits_json(line.warning)},
                                 {"action_limits", limits_json(line.action)}};
           })}};
}

ordered_json head_json(const AuditHead& head) {
  return {{"program", head.program},
          {"opencv", head.opencv},
          {"list_mark", head.list_mark},
          {"cases", head.cases},
          {"identities", head.identities == Identities::pseudonyms ? "pseudonyms" : "as-given"},
          {"columns", head.columns},
          {"columns_left_out", head.columns_left_out},
          {"criteria",
           {{"name", head.criteria.name},
            {"version", head.criteria.version},
            {"source", head.criteria.source},
            {"note", head.criteria.note},
            {"confidence", number(head.criteria.confidence)},
            {"sha256", head.criteria_sha256},
            {"criteria", list(head.criteria.criteria, [](const Criterion& criterion) {
               return ordered_json{{"id", criterion.id}, {"text", criterion.text}};
             })}}}};
}

ordered_json change_json(const ShareChange& change) {
  return {{"earlier", share_json(change.earlier)},
          {"now", share_json(change.now)},
          {"lowest", estimate_json(change.lowest)},
          {"highest", estimate_json(change.highest)}};
}

ordered_json group_change_json(const GroupChange& change, const Criteria& criteria) {
  ordered_json each = ordered_json::array();
  for (std::size_t i = 0; i < change.criteria.size(); ++i) {
    ordered_json one{{"criterion", criteria.criteria[i].id}};
    one.update(change_json(change.criteria[i]));
    each.push_back(std::move(one));
  }
  return {{"name", text_or_null(change.name)},
          {"enough_cases", change.enough},
          {"criteria", each},
          {"together", change_json(change.together)}};
}

ordered_json comparison_json(const Comparison& comparison, const Criteria& criteria) {
  return {{"earlier", head_json(comparison.earlier_head)},
          {"earlier_counts", counts_json(comparison.earlier_counts)},
          {"judged_anew", comparison.judged_anew},
          {"caution", text_or_null(comparison.caution)},
          {"overall", group_change_json(comparison.overall, criteria)},
          {"tooth_groups", list(comparison.tooth_groups, [&](const GroupChange& change) {
             return group_change_json(change, criteria);
           })}};
}

ordered_json summary_json(const AuditSummary& summary, const std::optional<Comparison>& against) {
  const Criteria& criteria = summary.head.criteria;
  ordered_json out;
  out["schema"] = "canalrule.summary/1";
  out["audit"] = head_json(summary.head);
  out["options"] = {{"level", number(summary.options.level)},
                    {"least_cases", summary.options.least_cases},
                    {"most_groups", summary.options.most_groups},
                    {"group_by", summary.options.group_by}};
  out["counts"] = counts_json(summary.counts);
  out["overall"] = group_json(summary.overall, criteria);
  out["groupings"] =
      list(summary.groupings, [&](const Grouping& grouping) { return grouping_json(grouping, criteria); });
  out["columns_not_grouped"] = list(summary.columns_left_out, [](const ColumnLeftOut& left_out) {
    return ordered_json{{"column", left_out.column}, {"reason", left_out.reason}};
  });
  out["thirds"] = list(summary.thirds, thirds_json);
  out["figures"] = list(summary.figures, spread_json);
  out["voids"] = voids_json(summary.voids);
  out["funnel"] = funnel_json(summary.funnel);
  out["agreement"] = agreement_json(summary.agreement);
  out["against"] = against ? comparison_json(*against, criteria) : ordered_json(nullptr);
  return out;
}

}  // namespace

}  // namespace canalrule::audit

namespace canalrule {

std::string write_summary(const AuditSummary& summary, const std::optional<Comparison>& against) {
  return write_json(audit::summary_json(summary, against));
}

}  // namespace canalrule
