#include "follow.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "coronal.hpp"
#include "end_contours.hpp"
#include "first_model.hpp"
#include "fitted_line.hpp"
#include "halo.hpp"
#include "notches.hpp"
#include "own_line.hpp"
#include "radiopacity.hpp"

namespace canalrule {

namespace {

// Lengths in mm, chosen here; tests/truth/terminus.cpp holds them.
constexpr double half_strip_mm = 2.2;
constexpr double beyond_mm = 3.0;         ///< strip beyond the path's apical end and the apex
constexpr double before_mm = 0.8;         ///< strip before the path's coronal end
// Where a neighbour's fill lies over this one the hand alone says which is which, and a usual cone (taper 0.05)
// is looked for.
constexpr double close_hand_weight = 12.0;
constexpr double usual_apical_radius_mm = 0.30;
constexpr double usual_tip_radius_mm = 0.125;
constexpr double usual_radius_slope = 0.025;
constexpr double widest_radius_mm = 1.0;    ///< nor is a body so wide half way along it
constexpr double retrace_mm = 0.25;         ///< a second trace that ends this far off starts a new fit
constexpr double widest_blur_mm = 0.115;    ///< an edge more blurred than this is no fill's
constexpr double least_undershoot = 0.006;  ///< of the fill's height, that tells a sharpened film
constexpr double least_undershoot_sure = 1.8;
/// Background beside a fill in its last fits, where no halo and no other fill reaches farther: the less of bone's
/// texture is fitted, the less it moves the outline. tests/truth/width.cpp and taper.cpp.
constexpr double near_flank_mm = 0.40;
constexpr double free_kink_mm = 0.02;       ///< freedom of the radius in these
constexpr double turn_per_mm2 = 1.0;        ///< freedom of a display's curve to turn. tests/truth/width.cpp
constexpr double oval_slope = 0.3;  ///< freedom of an oval fill's contrast along it. tests/truth/taper.cpp
/// Share of a fill's stretch as wide as it was looked for, from which it is looked for as wide as any, and times by
/// which it must be seen the surer then. tests/truth/width.cpp.
constexpr double least_at_widest = 0.4, shows_more = 1.15;
/// Where a ridge apical of a fill's end tells that something goes on there: so far from it, mm; so many blocks on end;
/// and the least of how surely it is seen, which it is on none of 154 simulated fills that end over 1.3 mm short.
/// tests/truth/around_the_end.cpp.
constexpr double going_on_from_mm = 0.3;
constexpr std::size_t going_on_blocks = 10;
constexpr double surely_going_on = 1.25;
constexpr double halo_widths_mm[] = {0.10, 0.16, 0.24};

StripGrid grid_for(double mm, double half_mm, double from_px, double to_px) {
  StripGrid grid;
  grid.step_px = strip_step_px(mm);
  grid.first_s_px = from_px;
  grid.rows = std::max(1, static_cast<int>((to_px - from_px) / grid.step_px) + 1);
  const int half = static_cast<int>(half_mm / (mm * grid.step_px));
  grid.columns = 2 * half + 1;
  grid.first_n_px = -half * grid.step_px;
  return grid;
}

/// Least squares line through a model's radius, the tip and the coronal end left out.
RadiusLine radius_line(const FillModel& model, double coronal_px, double mm) {
  std::vector<double> places, radius;
  for (double s = model.end_px + 0.6 / mm; s < coronal_px - 0.4 / mm; s += 0.25 / mm) {
    places.push_back(s);
    radius.push_back(model.radius_px(s));
  }
  if (places.size() < 4) return {model.radius_px(0.5 * (model.end_px + coronal_px)), 0.0};
  const FittedLine line = line_through(places, radius);
  const double slope = std::clamp(line.slope, -0.02, 0.1);
  const double middle = 0.5 * (places.front() + places.back());
  return {line.at(middle) - slope * middle, slope};
}

/// The columns of a strip within `half_mm` of its axis.
Strip crop(const Strip& strip, double half_mm, double mm) {
  const int middle = (strip.grid.columns - 1) / 2;
  const int half = std::min(middle, static_cast<int>(std::ceil(half_mm / (mm * strip.grid.step_px))));
  Strip narrow = strip;
  narrow.value = strip.value.colRange(middle - half, middle + half + 1);
  narrow.usable = strip.usable.colRange(middle - half, middle + half + 1);
  narrow.grid.columns = 2 * half + 1;
  narrow.grid.first_n_px = -half * strip.grid.step_px;
  return narrow;
}

/// Half the width of strip that a fit about the axis needs, mm: fill, flanks and room for the blur.
double fit_half_mm(const FilmOnBench& film, const FillModel& model, double coronal_px,
                   const FitSettings& settings) {
  const double mm = film.mm_per_px;
  double widest = 0.0;
  for (double s = model.end_px; s <= coronal_px; s += 0.5 / mm)
    widest = std::max(widest, std::fabs(model.centre_px(s)) + model.radius_px(s));
  return widest * mm + settings.flank_mm + 0.15;
}

}  // namespace

FitSettings settings_for(const FilmOnBench& film, double kink_mm) {
  FitSettings settings;
  settings.mm_per_px = film.mm_per_px;
  settings.kink_mm = kink_mm;
  return settings;
}

cv::Mat mask_foreign(const Strip& strip, const CanalPath& path, const std::vector<Foreign>& foreign) {
  cv::Mat mask(strip.value.size(), CV_8UC1, cv::Scalar(255));
  const StripGrid& grid = strip.grid;
  for (const Foreign& object : foreign) {
    for (std::size_t k = 0; k + 1 < object.line.size(); ++k) {
      // Samples along the foreign line, each a disc.
      const Point a = object.line[k];
      const Point b = object.line[k + 1];
      const double length = std::hypot(b.x - a.x, (b.y - a.y) * path.aspect());
      const int parts = std::max(1, static_cast<int>(std::ceil(length / 2.0)));
      for (int part = 0; part <= parts; ++part) {
        const double f = static_cast<double>(part) / parts;
        const Point p{a.x + f * (b.x - a.x), a.y + f * (b.y - a.y)};
        const double radius = (1.0 - f) * object.half_width_px[k] + f * object.half_width_px[k + 1];
        const CanalPath::Projection at = path.project(p);
        if (std::fabs(at.n_px) > std::fabs(grid.first_n_px) + radius) continue;
        const int row = static_cast<int>(std::lround(grid.row_of(at.s_px)));
        const int column = static_cast<int>(std::lround(grid.column_of(at.n_px)));
        const int reach = static_cast<int>(std::ceil(radius / grid.step_px));
        for (int i = std::max(0, row - reach); i <= std::min(grid.rows - 1, row + reach); ++i)
          for (int j = std::max(0, column - reach); j <= std::min(grid.columns - 1, column + reach); ++j)
            if ((i - row) * (i - row) + (j - column) * (j - column) <= reach * reach)
              mask.at<std::uint8_t>(i, j) = 0;
      }
    }
  }
  return mask;
}

namespace {

/// A canal as drawn, and what was found along it.
struct Drawn {
  CanalPath path;
  Strip strip;
  cv::Mat mask;  ///< as mask_foreign
  SearchFound found;
};

Drawn search_along(const FilmOnBench& film, const CanalMarks& marks, const std::vector<Foreign>& foreign,
                   const SearchSettings& settings) {
  const double mm = film.mm_per_px;
  const CanalPath path(marks.path, marks.apex, film.aspect);
  const double apical = std::min(path.first_px(), 0.0) - beyond_mm / mm;
  const StripGrid grid = grid_for(mm, half_strip_mm, apical, path.last_px() + before_mm / mm);
  Drawn drawn{path, sample_strip(film.radiopacity, film.unusable, path, grid, film.origin), {}, {}};
  drawn.mask = mask_foreign(drawn.strip, path, foreign);
  // Clipped grey carries no attenuation for a fit, but it is bright or dark all the same: it guides the
  // trace.
  Strip guide = drawn.strip;
  cv::Mat clipped;
  if (film.unusable.data != film.padding.data && cv::countNonZero(drawn.strip.usable) < grid.rows * grid.columns) {
    guide = sample_strip(film.radiopacity, film.padding, path, grid, film.origin);
    clipped = guide.usable & ~drawn.strip.usable;
  }
  drawn.found = search_fill(guide, drawn.mask, clipped, mm, path.first_px(), path.last_px(), settings);
  return drawn;
}

/// For a fit that starts from a fitted model.
FitSettings settings_again(const FilmOnBench& film, double kink_mm) {
  FitSettings settings = settings_for(film, kink_mm);
  settings.wide_rounds = 1;
  return settings;
}

FitSettings by_hand(const FilmOnBench& film) {
  FitSettings settings = settings_for(film, stiff_kink_mm);
  settings.centre_kink_mm = 0.3;  // the axis is the hand's: the fill may wind about it
  settings.gives = FitGives::model;
  settings.settled_mm = 0.008;  // the second pass goes on from there
  return settings;
}

/// What a fit along the path as drawn tells.
struct FirstPass {
  CanalPath path;
  Trace trace;
  FillModel model;
  double at_widest = 0.0;  ///< as Search
  double evidence = 0.0;   ///< as evidence_of
  bool ridge_goes_on = false;
};
struct FirstPassOrNot {
  std::optional<FirstPass> pass;
  NoTrace why = NoTrace::no_fill;
};

/// How surely the ridge of a traced fill is seen, mean over its blocks.
double evidence_of(const Search& search, const Trace& trace) {
  double sum = 0.0, count = 0.0;
  for (std::size_t b = 0; b < search.ridge.sure.size(); ++b) {
    if (search.blocks.s_px[b] < trace.end_px || search.blocks.s_px[b] > trace.coronal_px) continue;
    sum += search.ridge.sure[b];
    count += 1.0;
  }
  return count > 0.0 ? sum / count : 0.0;
}

/// Whether, in the canal apical of a fill's end, the ridge is seen all along for a millimetre.
bool goes_on_apically(const Search& search, double end_px, double mm) {
  std::size_t blocks = 0;
  for (std::size_t b = 0; b < search.ridge.sure.size(); ++b) {
    const double s = search.blocks.s_px[b];
    if (s < 0.0 || s > end_px - going_on_from_mm / mm) continue;
    blocks = search.ridge.sure[b] > surely_going_on ? blocks + 1 : 0;
    if (blocks >= going_on_blocks) return true;
  }
  return false;
}

FirstPassOrNot first_pass(const FilmOnBench& film, const CanalMarks& marks, const std::vector<Foreign>& foreign,
                          const SearchSettings& settings) {
  const double mm = film.mm_per_px;
  const Drawn drawn = search_along(film, marks, foreign, settings);
  if (!drawn.found.search) return {std::nullopt, drawn.found.why};
  const std::optional<Trace> traced = trace_fill(*drawn.found.search);
  if (!traced) return {std::nullopt, drawn.found.why};
  const FitSettings loose = by_hand(film);
  const auto fit_trace = [&](const Trace& from) {
    const FillModel rough = first_model(film, from, from.end_px, from.coronal_px);
    const Strip narrow = crop(drawn.strip, fit_half_mm(film, rough, from.coronal_px, loose), mm);
    const int aside = (drawn.mask.cols - narrow.value.cols) / 2;
    return fit_fill(narrow, drawn.mask.colRange(aside, drawn.mask.cols - aside), rough,
                    from.coronal_px - coronal_margin_mm / mm, loose);
  };
  Trace trace = *traced;
  FillFit first = fit_trace(trace);
  // The trace once more with the fitted radius, which is surer than the trace's own: where it ends elsewhere,
  // the fit starts anew from there.
  const std::optional<Trace> again =
      trace_fill(*drawn.found.search, radius_line(first.model, trace.coronal_px, mm));
  if (again && std::fabs(again->end_px - first.model.end_px) > retrace_mm / mm) {
    trace = *again;
    first = fit_trace(trace);
  }
  return {FirstPass{drawn.path, trace, first.model, drawn.found.search->at_widest,
                    evidence_of(*drawn.found.search, trace),
                    goes_on_apically(*drawn.found.search, first.model.end_px, mm)},
          drawn.found.why};
}

/// As wide a fill as it shows best: one that fills an open apex is wider than others, and looks like one wall of itself
/// where it is looked for as those are.
FirstPassOrNot first_pass_of_any_width(const FilmOnBench& film, const CanalMarks& marks,
                                       const std::vector<Foreign>& foreign) {
  SearchSettings settings{film.hand_weight, greatest_radius_mm};
  FirstPassOrNot usual = first_pass(film, marks, foreign, settings);
  if (!usual.pass || usual.pass->at_widest < least_at_widest) return usual;
  settings.widths = SearchSettings::Widths::any;
  FirstPassOrNot wide = first_pass(film, marks, foreign, settings);
  return wide.pass && wide.pass->evidence > shows_more * usual.pass->evidence ? wide : usual;
}

}  // namespace

Followed on_own_line(const FilmOnBench& film, const CanalMarks& marks, const CanalPath& path,
                     const FillModel& model, const Trace& trace, double coronal_px) {
  const double mm = film.mm_per_px;
  const OwnLine line = own_line(film, marks, path, model, coronal_px);
  const CanalPath own(line.points, line.apex, film.aspect);
  const auto there = [&](double s) { return own.project(path.at(s, model.centre_px(s))).s_px; };
  const double coronal = there(coronal_px);
  const double end = there(model.end_px);
  const StripGrid grid = grid_for(mm, fit_half_mm(film, model, coronal_px, settings_for(film, stiff_kink_mm)),
                                  std::min({own.first_px(), 0.0, end}) - 2.0 / mm, coronal + before_mm / mm);
  Followed followed{own, sample_strip(film.radiopacity, film.unusable, own, grid, film.origin), {}, {}, trace, {},
                    coronal, there(trace.end_px), false, 0.0, 0.0};
  followed.fit.model = moved_model(film, model, end, coronal);
  return followed;
}

FollowedOrNot follow_fill(const FilmOnBench& film, const CanalMarks& marks,
                          const std::vector<Foreign>& foreign) {
  const double mm = film.mm_per_px;
  const FirstPassOrNot first = first_pass_of_any_width(film, marks, foreign);
  FollowedOrNot answer;
  answer.why = first.why;
  if (!first.pass) return answer;
  const Trace& trace = first.pass->trace;

  // Second pass on the fill's own centre line.
  FitSettings stiff = settings_again(film, stiff_kink_mm);
  stiff.gives = FitGives::left_over;
  Followed followed = on_own_line(film, marks, first.pass->path, first.pass->model, trace, trace.coronal_px);
  followed.ridge_goes_on = first.pass->ridge_goes_on;
  followed.mask = mask_foreign(followed.strip, followed.path, foreign);
  followed.strip.value = without_end_contours(followed.strip, followed.mask, followed.fit.model, mm);
  const double traced_coronal = followed.coronal_px;
  if (!trace.reaches_coronal_end)
    followed.coronal_px = coronal_end(followed.strip, followed.fit.model, traced_coronal, mm);
  followed.fit = fit_fill(followed.strip, followed.mask, followed.fit.model,
                          traced_coronal - coronal_margin_mm / mm, stiff);
  const StripGrid& grid = followed.strip.grid;
  const Undershoot undershoot = find_undershoot(followed.fit, grid, followed.coronal_px, 0.3 / mm);
  if (undershoot.share > least_undershoot && undershoot.sure > least_undershoot_sure) {
    // The film was sharpened: fitted again with a halo, of the width that leaves least over.
    FillModel sharpened = followed.fit.model;
    sharpened.sharpened = true;
    sharpened.halo = 0.5;
    for (const double width_mm : halo_widths_mm) {
      sharpened.halo_px = width_mm / mm;
      FillFit fit = fit_fill(followed.strip, followed.mask, sharpened,
                             followed.coronal_px - coronal_margin_mm / mm, stiff, {}, {}, followed.fit.background);
      if (!followed.fit.model.sharpened || fit.noise < followed.fit.noise) followed.fit = std::move(fit);
    }
    followed.halo_share = halo_of(followed.fit, grid, followed.coronal_px);
  }
  answer.followed = std::move(followed);
  return answer;
}

FollowedOrNot begin_by_hand(const FilmOnBench& film, const CanalMarks& marks,
                            const std::vector<Foreign>& foreign) {
  const double mm = film.mm_per_px;
  const RadiusLine usual{usual_tip_radius_mm / mm, usual_radius_slope};
  const Drawn drawn = search_along(film, marks, foreign, {close_hand_weight, usual_apical_radius_mm});
  FollowedOrNot answer;
  answer.why = drawn.found.why;
  std::optional<Trace> trace;
  if (drawn.found.search) trace = trace_fill(*drawn.found.search, usual, AlongFill::even);
  if (!trace) {
    const SearchFound all = search_along(film, marks, {}, {close_hand_weight, greatest_radius_mm}).found;
    if (all.search) trace = trace_fill(*all.search, usual, AlongFill::even);
  }
  if (!trace) return answer;
  std::fill(trace->offset_px.begin(), trace->offset_px.end(), 0.0);
  // What isn't seen doesn't lead a fill past the hand's end.
  for (std::size_t b = 0; b < trace->s_px.size() && trace->s_px[b] < drawn.path.first_px(); ++b)
    if (trace->s_px[b] > trace->end_px && std::isnan(trace->share[b])) trace->end_px = drawn.path.first_px();
  // What lies over it hides its crown's end as well: that end is where all of it ends.
  const double free = std::min(trace->end_px + 2.0 / mm, trace->coronal_px);
  trace->coronal_px = last_filled(
      drawn.strip, first_model(film, *trace, trace->end_px, drawn.path.last_px()), free, mm);
  FillModel model = first_model(film, *trace, trace->end_px, trace->coronal_px);
  const Strip narrow = crop(drawn.strip, fit_half_mm(film, model, trace->coronal_px, by_hand(film)), mm);
  answer.followed = Followed{drawn.path, narrow, {}, {}, *trace, {}, trace->coronal_px, trace->end_px, false, 0.0, 0.0};
  answer.followed->fit.model = std::move(model);
  return answer;
}

FollowedOrNot refuse_what_is_no_fill(const FilmOnBench& film, FollowedOrNot answer) {
  if (!answer.followed) return answer;
  const double mm = film.mm_per_px;
  Followed& followed = *answer.followed;
  const FillModel& fitted = followed.fit.model;
  const double half_way = 0.5 * (fitted.end_px + followed.coronal_px);
  const double middle = fitted.radius_px(half_way);
  followed.evidence = fitted.contrast * contrast_share(fitted, half_way) * 2.0 * middle / followed.fit.texture;
  answer.evidence = followed.evidence;
  const bool shapeless = fitted.blur_px * mm > widest_blur_mm || middle * mm > widest_radius_mm;
  if (followed.evidence < least_evidence || shapeless) {
    answer.why = shapeless ? NoTrace::no_fit : NoTrace::too_faint;
    answer.followed.reset();
  }
  return answer;
}

Followed ending_at(const FilmOnBench& film, const Followed& followed, double gap_from_px, double gap_to_px) {
  Followed shorter = followed;
  const StripGrid& grid = followed.strip.grid;
  const int apart = std::clamp(static_cast<int>(grid.row_of(gap_from_px)) + 1, 0, grid.rows);
  shorter.mask = followed.mask.clone();
  shorter.mask.rowRange(0, apart).setTo(0);
  FillModel start = followed.fit.model;
  start.end_px = gap_to_px;
  start.cap_px = start.radius_px(gap_to_px);
  FitSettings settings = settings_for(film, stiff_kink_mm);
  settings.gives = FitGives::left_over;
  shorter.first_end_px = gap_to_px;
  shorter.fit = fit_fill(shorter.strip, shorter.mask, start, followed.coronal_px - coronal_margin_mm / film.mm_per_px,
                         settings, {}, followed.other, followed.fit.background);
  return shorter;
}

FillFit refit(const FilmOnBench& film, const Followed& followed, const FillFit& from, const Stretches& blocked,
              const Stretches& voids, Section section) {
  cv::Mat mask = followed.mask.clone();
  const StripGrid& grid = followed.strip.grid;
  for (const auto& [low, high] : blocked) {
    const int first = std::clamp(static_cast<int>(std::floor(grid.row_of(low))), 0, grid.rows);
    const int last = std::clamp(static_cast<int>(std::ceil(grid.row_of(high))) + 1, first, grid.rows);
    mask.rowRange(first, last).setTo(0);
  }
  FitSettings settings = settings_again(film, free_kink_mm);
  settings.turn_per_mm2 = turn_per_mm2;
  if (section == Section::oval) {
    settings.slope_deviation = oval_slope;
    settings.end_reach_mm = 0.0;
  }
  if (!followed.fit.model.sharpened && followed.other.empty()) settings.flank_mm = near_flank_mm;
  FillModel start =
      voids.empty() ? from.model : led_across(from.model, followed.path, followed.coronal_px, voids, film.mm_per_px);
  start.absorption = absorption_per_mm * film.mm_per_px;
  return fit_fill(followed.strip, mask, start, followed.coronal_px - coronal_margin_mm / film.mm_per_px, settings,
                  voids, followed.other, from.background);
}

}  // namespace canalrule
