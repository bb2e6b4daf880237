#include "voids_along.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

namespace canalrule::audit {

namespace {

constexpr double place_mm =
    1.0;  // chosen here: three times the shortest void that the shipped criteria count

/// The fill of a canal from end to end, where both are known.
std::optional<std::pair<double, double>> fill_of(const CanalNote& note) {
  // The first of audit::figures() is the terminus.
  if (!note.figures.front() || !note.coronal_level_mm) return std::nullopt;
  return std::pair{note.figures.front()->value, *note.coronal_level_mm};
}

/// Whether the fill is there and a void in it could be told.
bool seen_at(const CanalNote& note, const std::pair<double, double>& fill, double at_mm) {
  if (at_mm < fill.first || at_mm > fill.second) return false;
  return std::none_of(note.voids_unseen.begin(), note.voids_unseen.end(), [&](const std::pair<double, double>& hidden) {
    return at_mm > hidden.first && at_mm < hidden.second;
  });
}

bool touches(const VoidNote& found, const VoidPlace& place) {
  return found.from_mm < place.to_mm && found.to_mm > place.from_mm;
}

}  // namespace

VoidsAlong voids_along(const Gathered& gathered, const Selection& selection, double level) {
  VoidsAlong along;
  along.selection = gathered.selection;
  along.selected_by = gathered.selected_by;
  std::vector<double> lengths;
  const auto count = [&](const VoidNote& found) {
    lengths.push_back(found.length_mm);
    ++along.voids;
    along.across += found.kind == VoidKind::across ? 1 : 0;
    along.inside += found.kind == VoidKind::inside ? 1 : 0;
    along.along_wall += found.kind == VoidKind::along_wall ? 1 : 0;
    along.at_backfill += found.at_backfill ? 1 : 0;
  };
  Selection known;
  double least = 0.0, most = 0.0;
  for (const std::size_t place : selection) {
    const CanalNote& note = gathered.canals[place];
    if (note.voids) std::for_each(note.voids->begin(), note.voids->end(), count);
    const auto fill = fill_of(note);
    if (!note.voids || !fill) {
      ++along.canals_unknown;
      continue;
    }
    known.push_back(place);
    least = std::min(least, fill->first);
    most = std::max(most, fill->second);
  }
  along.lengths_mm = statistics::distribution_of(lengths, level);
  const auto first = static_cast<long>(std::floor(least / place_mm));
  const auto last = static_cast<long>(std::ceil(most / place_mm));
  for (long i = first; i < last; ++i) {
    VoidPlace place{static_cast<double>(i) * place_mm, static_cast<double>(i + 1) * place_mm, 0, 0, {}};
    const double middle = (place.from_mm + place.to_mm) / 2.0;
    Selection filled;
    for (const std::size_t canal : known) {
      const CanalNote& note = gathered.canals[canal];
      if (seen_at(note, *fill_of(note), middle)) filled.push_back(canal);
    }
    if (filled.empty()) continue;
    const auto has_void = [&](const CanalNote& note) {
      return std::any_of(note.voids->begin(), note.voids->end(),
                         [&](const VoidNote& found) { return touches(found, place); });
    };
    const auto clusters = clusters_of(
        gathered, filled, [](const CanalNote&) { return true; }, has_void);
    place.share = statistics::clustered_share(clusters, level);
    place.filled = place.share.all;
    place.with_void = place.share.counted;
    along.places.push_back(std::move(place));
  }
  return along;
}

}  // namespace canalrule::audit
