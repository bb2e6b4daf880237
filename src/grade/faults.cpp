#include "faults.hpp"

#include <algorithm>
#include <canalrule/base/plain.hpp>
#include <canalrule/grade/grade.hpp>
#include <canalrule/grade/points.hpp>
#include <canalrule/judge/conformity.hpp>
#include <cmath>

#include "look.hpp"

namespace canalrule {

namespace {

using Figure = CriterionFigure;

/// Which third of the fill holds this place; none where the fill's ends aren't known or it lies outside.
std::optional<Third> third_at(const CanalResult& canal, double at_mm) {
  if (!canal.terminus || !canal.coronal_level_mm) return std::nullopt;
  const double start = canal.terminus->to_apex_mm;
  const double length = canal.coronal_level_mm->value - start;
  const double share = length > 0.0 ? (at_mm - start) / length : -1.0;
  if (share < 0.0 || share > 1.0) return std::nullopt;
  if (share < 1.0 / 3.0) return Third::apical;
  return share < 2.0 / 3.0 ? Third::middle : Third::coronal;
}

FoundFault at_stretch(const CanalResult& canal, Fault fault, double from_mm, double to_mm,
                      std::string figure) {
  return {fault, std::min(from_mm, to_mm), std::max(from_mm, to_mm), third_at(canal, 0.5 * (from_mm + to_mm)),
          std::move(figure)};
}

bool below(double value, const Band& best) {
  return best.lower && !lies_between(value, best.lower, std::nullopt);
}
bool above(double value, const Band& best) {
  return best.upper && !lies_between(value, std::nullopt, best.upper);
}

/// Without its sign, where the words beside it say the side.
Quantity size_of(const Quantity& value) { return {std::abs(value.value), value.standard_uncertainty}; }

std::vector<FoundFault> at_terminus(const CanalResult& canal, const Quantity& gap, const Band& best) {
  const std::string words = figure_words(size_of(gap), Figure::terminus_to_apex_mm);
  const double at = gap.value;
  if (above(at, best)) {
    std::vector<FoundFault> found{{Fault::ends_short, 0.0, at, std::nullopt, words}};
    if (canal.empty_canal && canal.empty_canal->visible)
      found.push_back({Fault::canal_seen_empty, canal.empty_canal->from_mm, canal.empty_canal->to_mm,
                       std::nullopt,
                       plain(canal.empty_canal->to_mm - canal.empty_canal->from_mm, 1) + " mm"});
    return found;
  }
  if (!below(at, best)) return {};
  if (at < 0.0) return {{Fault::fill_beyond_apex, at, 0.0, std::nullopt, words}};
  return {{Fault::ends_close_to_apex, 0.0, at, std::nullopt, words}};
}

Fault fault_of(const Void& found) {
  switch (found.kind) {
    case VoidKind::across:
      return found.at_backfill ? Fault::gap_at_backfill : Fault::gap_across;
    case VoidKind::inside:
      return Fault::bubble_inside;
    case VoidKind::along_wall:
      return Fault::gap_along_wall;
  }
  return Fault::bubble_inside;
}

FoundFault void_fault(const Void& found) {
  return {fault_of(found), found.from_mm, found.to_mm, found.third,
          figure_words(found.length_mm, Figure::longest_void_mm)};
}

/// Whether this void by itself breaks the limit; where voids are counted, each has its part in it.
bool has_part(const Void& found, Figure figure, const Band& best) {
  if (figure == Figure::longest_void_mm) return above(found.length_mm.value, best);
  return figure == Figure::void_count || above(found.deficit.value, best);
}

/// Each void that counts.
std::vector<FoundFault> voids_of(const CanalResult& canal, const Looked& looked, const Band& best) {
  std::vector<FoundFault> faults;
  if (!canal.voids) return faults;
  for (const Void& found : *canal.voids)
    if (counts(found, looked.voids) &&
        has_part(found, std::get<Figure>(looked.figure), best))
      faults.push_back(void_fault(found));
  return faults;
}

std::vector<FoundFault> steps_of(const CanalResult& canal, const Band& best) {
  std::vector<FoundFault> faults;
  for (const TaperBreak& found : canal.taper.breaks) {
    const Quantity size = size_of(found.step_mm);
    if (found.kind == "step" && above(size.value, best))
      faults.push_back(at_stretch(canal, Fault::step_of_width, found.at_mm, found.at_mm,
                                  figure_words(size, Figure::taper_step_mm)));
  }
  return faults;
}

std::vector<FoundFault> material_of(const CanalResult& canal, const Band& best) {
  std::vector<FoundFault> faults;
  for (const MaterialBeyond& found : canal.material_beyond_apex)
    if (above(found.length_mm.value, best))
      faults.push_back({found.kind == "fill" ? Fault::fill_beyond_apex : Fault::material_beyond_apex,
                        found.from_mm, found.to_mm, std::nullopt,
                        figure_words(found.length_mm, Figure::material_beyond_apex_mm)});
  return faults;
}

/// One figure of the whole fill, or of one third of it.
std::vector<FoundFault> either_side(const CanalResult& canal, const Quantity& value, const Looked& looked,
                                    const Band& best, Fault too_small, Fault too_large,
                                    std::optional<Third> third = std::nullopt) {
  FoundFault found{below(value.value, best) ? too_small : too_large, std::nullopt, std::nullopt, third,
                   figure_words(value, looked.figure)};
  if (canal.terminus && canal.coronal_level_mm) {
    const double start = canal.terminus->to_apex_mm;
    const double part = (canal.coronal_level_mm->value - start) / 3.0;
    const double skipped = third ? static_cast<double>(*third) : 0.0;
    found.from_mm = start + skipped * part;
    found.to_mm = third ? start + (skipped + 1.0) * part : canal.coronal_level_mm->value;
  }
  return {found};
}

std::vector<FoundFault> working_length(const Quantity& gap, const CanalResult& canal, const Band& best) {
  FoundFault found{below(gap.value, best) ? Fault::past_working_length : Fault::short_of_working_length,
                   std::nullopt, std::nullopt, std::nullopt,
                   figure_words(size_of(gap), Figure::terminus_to_working_length_mm)};
  if (canal.terminus) {
    const double other_end = canal.terminus->to_apex_mm - gap.value;
    found.from_mm = std::min(canal.terminus->to_apex_mm, other_end);
    found.to_mm = std::max(canal.terminus->to_apex_mm, other_end);
  }
  return {found};
}

std::vector<FoundFault> of_film(FilmFigure figure, const Quantity& value, const Band& best) {
  const std::string words = figure_words(value, figure);
  switch (figure) {
    case FilmFigure::contrast_to_texture:
      if (below(value.value, best)) return {{Fault::film_low_contrast, {}, {}, {}, words}};
      break;
    case FilmFigure::blur_mm:
      if (above(value.value, best)) return {{Fault::film_blurred, {}, {}, {}, words}};
      break;
    case FilmFigure::bone_beyond_apex_mm:
      if (below(value.value, best)) return {{Fault::apex_at_film_edge, {}, {}, {}, words}};
      break;
  }
  return {};
}

std::vector<FoundFault> of_fill(const CanalResult& canal, const Looked& looked, const Quantity& value,
                                const Band& best) {
  const Figure figure = std::get<Figure>(looked.figure);
  switch (figure) {
    case Figure::longest_void_mm:
    case Figure::void_count:
    case Figure::largest_void_deficit:
      return voids_of(canal, looked, best);
    case Figure::taper_step_mm:
      return steps_of(canal, best);
    case Figure::material_beyond_apex_mm:
      return material_of(canal, best);
    default:
      break;
  }
  switch (figure) {
    case Figure::terminus_to_apex_mm:
      return at_terminus(canal, value, best);
    case Figure::narrowing_towards_crown_mm:
      if (!canal.taper.largest_reversal) return {};
      return {at_stretch(canal, Fault::narrowing_towards_crown, canal.taper.largest_reversal->from_mm,
                         canal.taper.largest_reversal->to_mm, figure_words(value, figure))};
    case Figure::taper_apical:
      return either_side(canal, value, looked, best, Fault::taper_small, Fault::taper_large, Third::apical);
    case Figure::taper_middle:
      return either_side(canal, value, looked, best, Fault::taper_small, Fault::taper_large, Third::middle);
    case Figure::taper_coronal:
      return either_side(canal, value, looked, best, Fault::taper_small, Fault::taper_large, Third::coronal);
    case Figure::taper_overall:
      return either_side(canal, value, looked, best, Fault::taper_small, Fault::taper_large);
    case Figure::width_against_plan_mm:
      return either_side(canal, value, looked, best, Fault::narrower_than_planned, Fault::wider_than_planned);
    case Figure::terminus_to_working_length_mm:
      return working_length(value, canal, best);
    default:
      return either_side(canal, value, looked, best, Fault::fill_too_low, Fault::fill_too_high);
  }
}

}  // namespace

std::vector<FoundFault> find_faults(const CanalResult& canal, const Looked& looked, const Band& best) {
  const Shown shown = look_below(canal, looked, best.upper.value_or(Limit{1e9, true}));
  if (!shown.probability || !shown.figure || lies_between(shown.figure->value, best.lower, best.upper)) return {};
  if (const auto* film = std::get_if<FilmFigure>(&looked.figure)) return of_film(*film, *shown.figure, best);
  return of_fill(canal, looked, *shown.figure, best);
}

}  // namespace canalrule
