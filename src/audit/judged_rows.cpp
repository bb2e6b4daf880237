#include "judged_rows.hpp"

#include <utility>

#include <canalrule/base/fault.hpp>
#include <canalrule/judge/judge.hpp>

namespace canalrule::audit {

namespace {

Verdict together(const std::vector<CriterionVerdict>& verdicts) {
  Verdict worst = Verdict::within;
  for (const CriterionVerdict& each : verdicts) {
    if (each.verdict == Verdict::outside) return Verdict::outside;
    if (each.verdict == Verdict::not_assessable) worst = Verdict::not_assessable;
    if (each.verdict == Verdict::too_close_to_call && worst == Verdict::within)
      worst = Verdict::too_close_to_call;
  }
  return worst;
}

}  // namespace

/// The judgements stand canal by canal, in each in the criteria's order.
std::vector<CanalRow> judged_rows(std::vector<CanalResult> canals, const Criteria& criteria) {
  Result result;
  result.canals = std::move(canals);
  const Judged judged = judge(result, criteria);
  const std::size_t each = criteria.criteria.size();
  ensure(judged.judgements.size() == each * result.canals.size(), "every canal is judged by every criterion");
  std::vector<CanalRow> rows(result.canals.size());
  for (std::size_t c = 0; c < rows.size(); ++c) {
    rows[c].figures = std::move(result.canals[c]);
    for (std::size_t i = 0; i < each; ++i) {
      const Judgement& judgement = judged.judgements[c * each + i];
      rows[c].verdicts.push_back({judgement.verdict, judgement.probability_within, judgement.reason});
    }
    rows[c].together = together(rows[c].verdicts);
  }
  return rows;
}

}  // namespace canalrule::audit
