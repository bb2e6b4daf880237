#include <canalrule/judge/judge.hpp>

#include <algorithm>
#include <utility>

#include <canalrule/base/fault.hpp>
#include <canalrule/base/plain.hpp>
#include <canalrule/judge/conformity.hpp>

#include "finding.hpp"
#include "limit_words.hpp"

namespace canalrule {

namespace {

using Stretch = std::pair<double, double>;

constexpr double longest_unseen_mm = 0.5;  // see judge.hpp

/// What of the canal a criterion looks at: the fill, or the chosen third of it.
Stretch looked_at(const CanalResult& canal, const Criterion& criterion) {
  if (!canal.terminus || !canal.coronal_level_mm) return {-1e9, 1e9};
  const double start = canal.terminus->to_apex_mm;
  const double third = (canal.coronal_level_mm->value - start) / 3.0;
  if (!criterion.voids.third) return {start, start + 3.0 * third};
  const double skipped = static_cast<double>(*criterion.voids.third);
  return {start + skipped * third, start + (skipped + 1.0) * third};
}

bool is_about(const NotAssessable& entry, std::string_view figure) {
  const std::string_view whole = entry.figure;
  return whole == figure || (whole.starts_with(figure) && whole.substr(figure.size()).starts_with('.'));
}

/// The stretches that can't be assessed, within what is looked at, overlapping ones joined.
std::vector<Stretch> unseen(const CanalResult& canal, const Criterion& criterion,
                            const std::vector<std::string_view>& figures) {
  const auto [start, end] = looked_at(canal, criterion);
  std::vector<Stretch> stretches;
  for (const NotAssessable& entry : canal.not_assessable) {
    if (!entry.from_mm || !entry.to_mm) continue;
    if (std::none_of(figures.begin(), figures.end(),
                     [&](std::string_view figure) { return is_about(entry, figure); }))
      continue;
    const Stretch clipped{std::max(*entry.from_mm, start), std::min(*entry.to_mm, end)};
    if (clipped.first < clipped.second) stretches.push_back(clipped);
  }
  std::sort(stretches.begin(), stretches.end());
  std::vector<Stretch> joined;
  for (const Stretch& next : stretches) {
    if (!joined.empty() && next.first <= joined.back().second)
      joined.back().second = std::max(joined.back().second, next.second);
    else
      joined.push_back(next);
  }
  return joined;
}

/// Adds to the reason what can't be seen, and says how much it is.
Shown::Seen account_for(const std::vector<Stretch>& stretches, std::string& reason) {
  if (stretches.empty()) return Shown::Seen::whole;
  bool too_long = false;
  std::string places;
  for (const auto& [from_mm, to_mm] : stretches) {
    too_long = too_long || to_mm - from_mm > longest_unseen_mm;
    places += (places.empty() ? "" : ", ") + plain_stretch(from_mm, to_mm);
  }
  reason += (reason.empty() ? "" : "; ") + std::string("not assessable at ") + places;
  return too_long ? Shown::Seen::in_part : Shown::Seen::whole;
}

/// Whether a gap shows at the root's end, in a stretch where it can't be told to be a void of the fill.
bool parted_unseen(const CanalResult& canal, const std::vector<Stretch>& stretches) {
  const bool parted = std::any_of(canal.warnings.begin(), canal.warnings.end(),
                                  [](const Note& warning) { return warning.code == "parted-at-apex"; });
  const bool about_apex = std::any_of(stretches.begin(), stretches.end(),
                                      [](const Stretch& one) { return one.first <= 0.0 && one.second >= 0.0; });
  return parted && about_apex;
}

Judgement judge_one(const CanalResult& canal, const Criterion& criterion, double confidence) {
  const Shown shown = look_at(canal, criterion);
  Judgement judgement;
  judgement.canal = canal.name;
  judgement.criterion = criterion.id;
  judgement.text = criterion.text;
  judgement.figure = shown.figure;
  judgement.unit = unit_of(criterion.figure);
  judgement.limit = limit_words(criterion, canal, judgement.unit);
  judgement.reason = shown.reason;
  if (!shown.probability) return judgement;
  judgement.verdict = verdict_of(*shown.probability, confidence);
  if (judgement.verdict == Verdict::within && shown.seen == Shown::Seen::in_part)
    judgement.verdict = Verdict::not_assessable;
  else
    judgement.probability_within = shown.probability;
  return judgement;
}

}  // namespace

std::optional<Note> nothing_to_judge(const CanalResult& canal) {
  for (const Note& warning : canal.warnings)
    for (const char* code : {"file-in-canal", "path-reversed", "path-turns-back", "taper-reversed", "apex-aside",
                             "apex-off-film", "outline-pinched", "scale-implausible"})
      if (warning.code == code) return warning;
  return std::nullopt;
}

Shown look_at(const CanalResult& canal, const Criterion& criterion) {
  const Finding finding =
      on_voids(criterion.figure) ? find_voids(canal, criterion) : find_figure(canal, criterion);
  if (const std::optional<Note> nothing = nothing_to_judge(canal))
    return {{}, finding.figure, nothing->text, Shown::Seen::whole};
  Shown shown{finding.probability, finding.figure, finding.reason, Shown::Seen::whole};
  if (!shown.probability) return shown;
  const std::vector<Stretch> stretches = unseen(canal, criterion, finding.seen_over);
  shown.seen = account_for(stretches, shown.reason);
  if (on_voids(criterion.figure) && parted_unseen(canal, stretches)) {
    shown.seen = Shown::Seen::in_part;
    shown.reason += "; a gap parts the fill there from what lies beyond the apex";
  }
  return shown;
}

Judged judge(const Result& result, const Criteria& criteria) {
  ensure(criteria.confidence > 0.5 && criteria.confidence < 1.0, "a confidence lies between 0.5 and 1");
  Judged judged{criteria.name, criteria.version, criteria.source, {}};
  for (const CanalResult& canal : result.canals)
    for (const Criterion& criterion : criteria.criteria)
      judged.judgements.push_back(judge_one(canal, criterion, criteria.confidence));
  return judged;
}

}  // namespace canalrule
