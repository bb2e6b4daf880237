#include "look.hpp"

#include <algorithm>
#include <canalrule/judge/conformity.hpp>

namespace canalrule {

namespace {

/// Above every figure: the highest band's edge.
constexpr Limit above_all{1e9, true};

std::optional<double> film_figure(const CanalFilm& film, FilmFigure figure) {
  switch (figure) {
    case FilmFigure::contrast_to_texture:
      return film.contrast_to_texture;
    case FilmFigure::blur_mm:
      return film.blur_mm;
    case FilmFigure::bone_beyond_apex_mm:
      return film.bone_beyond_apex_mm;
  }
  return std::nullopt;
}

}  // namespace

Shown look_below(const CanalResult& canal, const Looked& looked, const Limit& upper) {
  if (const auto* figure = std::get_if<FilmFigure>(&looked.figure)) {
    const std::optional<double> value = film_figure(canal.film, *figure);
    if (!value) return {std::nullopt, std::nullopt, "the film does not give this figure", Shown::Seen::whole};
    const Quantity exact{*value, 0.0};
    return {probability_of_conformity(exact, std::nullopt, upper), exact, "", Shown::Seen::whole};
  }
  const Criterion criterion{"",           "",    std::get<CriterionFigure>(looked.figure),
                            std::nullopt, upper, looked.voids};
  return look_at(canal, criterion);
}

BandsSeen look_at_bands(const CanalResult& canal, const RubricCriterion& criterion) {
  BandsSeen all;
  double below = 0.0;
  for (std::size_t i = 0; i < criterion.bands.size(); ++i) {
    const Limit upper = criterion.bands[i].upper.value_or(above_all);
    const Shown shown = look_below(canal, criterion.looked, upper);
    if (i == 0) {
      all.figure = shown.figure;
      all.reason = shown.reason;
      all.seen = shown.seen;
    }
    if (!shown.probability) return {std::nullopt, {}, shown.reason, shown.seen};
    const double up_to = i + 1 == criterion.bands.size() ? 1.0 : *shown.probability;
    all.chance.push_back(std::max(0.0, up_to - below));
    below = std::max(below, up_to);
  }
  return all;
}

}  // namespace canalrule
