#pragma once

#include <optional>
#include <string>

#include <canalrule/base/quantity.hpp>
#include <canalrule/record/criteria.hpp>
#include <canalrule/record/result.hpp>

namespace canalrule {

/// Why nothing of a canal can be judged, or counted among fills: it is no filling but an instrument, or its marks or
/// the scale are wrong. The warning that says so; missing: it can.
std::optional<Note> nothing_to_judge(const CanalResult& canal);

/// Why a canal's record lacks a figure that a criterion looks at: its first `not_assessable` entry about that, the
/// nearest first; missing: it gives none.
std::optional<Note> why_missing(const CanalResult& canal, CriterionFigure figure);

/// What one canal shows for one criterion, before the verdict.
struct Shown {
  enum class Seen { whole, in_part };
  std::optional<double> probability;  ///< of conforming, over what could be seen; empty: not assessable
  std::optional<Quantity> figure;     ///< also where the film shows it and it is not judged
  std::string reason;                 ///< why not assessable, or what decided
  /// In part: of the stretch that the figure is about, too much can't be assessed (see judge).
  Seen seen = Seen::whole;
};
Shown look_at(const CanalResult& canal, const Criterion& criterion);

/// Applies every criterion to every canal of a result (canals in the result's order, criteria in the file's),
/// by the decision rule of JCGM 106:2012: within where the probability p of conforming is at least
/// `confidence`, outside where p is at most 1 - `confidence`, else too close to call; not assessable where
/// the figure is missing, with the result's reason, and where nothing_to_judge says why.
///
/// One value against its limits:   p as probability_of_conformity.
/// The largest of several values:  p = product over all i of (1 - P(value i counts and breaks the limit)),
/// the
///   values taken as independent. For the longest void, with c(i) the probability that it counts but for
///   its length: 1 - c(i) P(length i > the larger of limit and least length); likewise for the deficit.
/// The number of voids:            p = P(number <= limit), the voids counting independently, each with
///   probability_that_it_counts.
/// Nothing found at all:           p = 1, and the figure stays empty (the number of voids is 0).
///
/// A figure over the whole fill of which a stretch longer than 0.5 mm can't be assessed is never within: what
/// was seen may be enough for outside or too close to call, else it is not assessable. 0.5 mm is the shortest
/// full-width gap that is found on all usual films of docs/method.md. Nor is a figure on voids where a gap parts
/// the fill at the apex and such a stretch, of any length, lies about it. The reason names the stretches, also
/// shorter ones.
Judged judge(const Result& result, const Criteria& criteria);

}  // namespace canalrule
