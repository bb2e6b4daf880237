#include "fill_fit.hpp"

#include <algorithm>
#include <array>
#include <canalrule/base/fault.hpp>
#include <cmath>
#include <opencv2/core.hpp>
#include <utility>

#include "normal_equations.hpp"
#include "panel_weights.hpp"
#include "surroundings.hpp"

namespace canalrule {

namespace {

/// Least damping after a step that was taken back: a smaller one hardly shortens the next. Chosen here, for the few
/// fits of many rounds; no test holds it by itself.
constexpr double least_taken_back = 0.01;

/// Least noise as a share of the fill's height: what the model itself can't follow (interpolation, the
/// blur's true shape) must not be taken for outliers. Chosen here; tests/truth/width.cpp, clean films.
constexpr double least_noise = 0.005;

/// The body's rows are taken together over this length, mm: short beside the knots of radius and background,
/// so that nothing of them is lost; over a shorter one where another fill crosses it. Chosen here;
/// tests/truth/width.cpp, taper.cpp and together.cpp.
constexpr double body_row_mm = 0.12;
constexpr double crossed_row_mm = 0.06;

/// Samples so far apart have a film's texture for their deviation, whatever the strip's own step. Chosen here: a usual
/// film's pixel; tests/laws/geometry.cpp.
constexpr double texture_step_mm = 0.03;

/// How far the rows about the tip reach coronally beyond what the end may move, mm: cap and blur.
/// Chosen here; tests/truth/terminus.cpp.
constexpr double tip_reach_mm = 0.35;

/// Film beside a void that is left out with it, mm. Chosen here; tests/truth/voids.cpp.
constexpr double void_clear_mm = 0.12;

/// How much more a fill shows outside the root: 7.3 mm of aluminium a mm of gutta-percha against trabecular bone's
/// 0.4 (from memory) instead of dentine's 1 (Katz et al., J Endod 1990;16:211-213). Its deviation is chosen here,
/// tests/truth/voids.cpp.
constexpr double outside_contrast = 0.09;
constexpr double outside_deviation = 0.06;

/// Length of a fill's rounded tip over its radius: between blunt and half a ball (a ball's is 1), and its deviation.
/// Chosen here; tests/truth/terminus.cpp.
constexpr double usual_cap = 0.8;
constexpr double cap_deviation = 0.35;

/// Width of an empty canal where it meets the fill, over the fill's: the fill may end at a step of it, or not touch
/// its walls. Chosen here; tests/truth/terminus.cpp.
constexpr double usual_empty_width = 0.95;
constexpr double empty_width_deviation = 0.2;

/// Distance of the background's knots, mm: finer ones follow a break of the taper. Chosen here; tests/truth/taper.cpp.
constexpr double background_knots_mm = 1.2;

/// How far the bend of a display's curve between a fill's surroundings may be from that within the fill, per mm of
/// fill. Chosen here; tests/truth/width.cpp.
constexpr double one_curve_per_mm = 0.25;

using Panels = std::array<Panel, 2>;

/// What the fit starts from and is drawn towards by its priors.
struct Anchor {
  const FillModel& start;
  const FitSettings& settings;
  double coronal_px = 0.0;          ///< where its rows end
  double height = 1.0;              ///< the fill's over its flanks
  std::vector<Bend> radius_bends, centre_bends;  ///< px, of each coefficient
};

/// Whether a coefficient acts most within a void.
bool lies_within(const LocalBasis& basis, std::size_t k, const Stretches& voids) {
  const double s = basis.coefficient_at(k);
  return std::any_of(voids.begin(), voids.end(), [s](const auto& one) { return s > one.first && s < one.second; });
}

/// How the radius bends: within a void nothing tells of it, and the outline goes on.
std::vector<Bend> radius_bends(const FillModel& start, const FitSettings& settings, const Stretches& voids) {
  const double mm = settings.mm_per_px;
  std::vector<Bend> bends(start.radius.size(), {0.0, settings.kink_mm / mm});
  for (std::size_t k = 0; k < bends.size(); ++k)
    if (lies_within(start.radius_basis, k, voids))
      bends[k].deviation = std::min(settings.kink_mm, settings.void_kink_mm) / mm;
  return bends;
}

/// How the centre bends: within a void as the start does.
std::vector<Bend> centre_bends(const FillModel& start, const FitSettings& settings, const Stretches& voids) {
  const double mm = settings.mm_per_px;
  const std::vector<double>& c = start.centre;
  std::vector<Bend> bends(c.size(), {0.0, settings.centre_kink_mm / mm});
  for (std::size_t k = 1; k + 1 < c.size(); ++k)
    if (lies_within(start.centre_basis, k, voids))
      bends[k] = {c[k - 1] - 2.0 * c[k] + c[k + 1], settings.void_centre_kink_mm / mm};
  return bends;
}

void add_priors(Normal& n, const Anchor& anchor, const ParameterPlaces& places, const FillModel& m,
                const Background& background, double noise2) {
  const FillModel& start = anchor.start;
  const FitSettings& settings = anchor.settings;
  const double mm = settings.mm_per_px;
  const double height = anchor.height;
  add_smoothness(n, places.radius, m.radius, anchor.radius_bends, noise2);
  add_smoothness(n, places.centre, m.centre, anchor.centre_bends, noise2);
  add_smoothness(n, places.square, background.square, 0.3 * height, noise2);
  add_smoothness(n, places.cube, background.cube, 0.3 * height, noise2);
  for (std::size_t k = 0; k < background.square.size(); ++k) {
    add_prior(n, places.square + static_cast<int>(k), background.square[k], 0.0, height, noise2);
    add_prior(n, places.cube + static_cast<int>(k), background.cube[k], 0.0, height, noise2);
  }
  add_prior(n, places.contrast, m.contrast, start.contrast, settings.contrast_deviation * start.contrast, noise2);
  add_prior(n, places.slope, m.contrast_slope, 0.0, settings.slope_deviation, noise2);
  add_prior(n, places.outside, m.contrast_outside, outside_contrast, outside_deviation, noise2);
  add_prior(n, places.by_level, m.contrast_by_level, 0.0, m.scattered ? 1e-6 : settings.bend_per_mm * mm, noise2);
  if (m.scattered) {
    add_prior(n, places.bend, m.bend, usual_scatter * m.absorption, scatter_deviation * m.absorption, noise2);
    add_prior(n, places.turn, m.turn, 0.0, 1e-6, noise2);
  } else {
    add_prior(n, places.bend, m.bend, 0.0, settings.bend_per_mm * mm, noise2);
    add_prior(n, places.turn, m.turn, 0.0, settings.turn_per_mm2 * mm * mm, noise2);
    // A curve that is bent within the fill is bent between its surroundings: were it one for both, by -b.
    add_sum_prior(n, places.by_level, places.bend, m.contrast_by_level + m.bend, one_curve_per_mm * mm, noise2);
  }
  add_prior(n, places.blur, m.blur_px, start.blur_px, 0.5 * start.blur_px, noise2);
  add_prior(n, places.end, m.end_px, start.end_px, 0.6 / mm, noise2);
  const double tip = std::max(1.0, m.radius_px(m.end_px));
  add_prior(n, places.cap, m.cap_px, usual_cap * tip, cap_deviation * tip, noise2);
  add_prior(n, places.empty, m.empty, empty_share, empty_share_deviation, noise2);
  add_prior(n, places.empty_width, m.empty_width, usual_empty_width, empty_width_deviation, noise2);
  add_prior(n, places.halo, m.halo, 0.0, start.sharpened ? 1.0 : 1e-6, noise2);
  for (std::size_t k = 0; k < m.radius.size(); ++k)
    add_prior(n, places.radius + static_cast<int>(k), m.radius[k], start.radius[k], 1.0 / mm, noise2);
  for (std::size_t k = 0; k < m.centre.size(); ++k)
    add_prior(n, places.centre + static_cast<int>(k), m.centre[k], start.centre[k], 0.5 / mm, noise2);
}

Normal empty_normal(int count) {
  return {cv::Mat(count, count, CV_64FC1, cv::Scalar(0)), cv::Mat(count, 1, CV_64FC1, cv::Scalar(0)), 0.0};
}

/// How far a step went, px: of the end, and the farthest of the radius coronal of the tip's rounding.
/// A coefficient that acts only apical of it may go on without telling anything.
struct Stride {
  double end = 0.0;
  double radius = 0.0;
};

/// The greatest change of a curve between two places, by its coefficients' changes.
double farthest_change(const LocalBasis& basis, const double* change, double from_px, double to_px) {
  double farthest = 0.0;
  for (double s = from_px; s <= to_px; s += 0.5 * basis.step) {
    const LocalBasis::Weights w = basis.at(s);
    double here = 0.0;
    for (std::size_t k = 0; k < 4; ++k) here += w.value[k] * change[static_cast<std::size_t>(w.first) + k];
    farthest = std::max(farthest, std::fabs(here));
  }
  return farthest;
}

/// Moves model and background by a step of the normal equations, kept within what a fill can be.
Stride take_step(FillModel& m, Background& background, const cv::Mat& step, const ParameterPlaces& p,
                 const Anchor& anchor) {
  const double mm = anchor.settings.mm_per_px;
  const auto get = [&](int at) { return step.at<double>(at); };
  Stride stride;
  for (std::size_t k = 0; k < m.radius.size(); ++k)
    m.radius[k] = std::max(0.5, m.radius[k] + get(p.radius + static_cast<int>(k)));
  stride.radius =
      farthest_change(m.radius_basis, step.ptr<double>() + p.radius, m.end_px + m.cap_px, anchor.coronal_px);
  for (std::size_t k = 0; k < m.centre.size(); ++k) m.centre[k] += get(p.centre + static_cast<int>(k));
  for (std::size_t k = 0; k < background.square.size(); ++k) {
    background.square[k] += get(p.square + static_cast<int>(k));
    background.cube[k] += get(p.cube + static_cast<int>(k));
  }
  // A fill up to 2.6 times as deep at one end as at the other; a display's curve from a little convex to steeper than
  // any logistic one of tests/truth/width.cpp. Chosen here.
  m.contrast *= std::clamp(1.0 + get(p.contrast) / m.contrast, 0.6, 1.6);
  m.contrast_slope = std::clamp(m.contrast_slope + get(p.slope), -0.9, 0.9);
  m.contrast_outside = std::clamp(m.contrast_outside + get(p.outside), -0.2, 0.4);
  m.contrast_by_level = std::clamp(m.contrast_by_level + get(p.by_level), -2.0 * mm, 2.0 * mm);
  m.bend = m.scattered ? std::clamp(m.bend + get(p.bend), 0.0, 0.8 * m.absorption)
                       : std::clamp(m.bend + get(p.bend), -0.8 * mm, 3.0 * mm);
  m.turn = std::clamp(m.turn + get(p.turn), -0.3 * mm * mm, 4.0 * mm * mm);
  m.blur_px = std::clamp(m.blur_px * std::clamp(1.0 + get(p.blur) / m.blur_px, 0.7, 1.4), 0.45,
                         std::max(1.0, 0.12 / mm));
  stride.end = std::clamp(get(p.end), -3.0 * m.blur_px, 3.0 * m.blur_px);
  const double reach = anchor.settings.end_reach_mm / mm;
  m.end_px = std::clamp(m.end_px + stride.end, anchor.start.end_px - reach, anchor.start.end_px + reach);
  m.cap_px = std::clamp(m.cap_px + std::clamp(get(p.cap), -2.0, 2.0), 0.0,
                        3.0 * std::max(1.0, m.radius_px(m.end_px)));
  m.empty = std::clamp(m.empty + get(p.empty), -0.5, 0.3);
  m.empty_width = std::clamp(m.empty_width + get(p.empty_width), 0.3, 2.0);
  m.halo = std::clamp(m.halo + get(p.halo), -0.3, 3.0);
  return stride;
}

void draw(Panels& panels, const FillModel& model) {
  for (Panel& panel : panels)
    panel.maps = panel.kind == Panel::Kind::tip ? draw_model(model, panel.columns, panel.other)
                                                : draw_body(model, panel.rows, panel.columns, panel.other);
}

/// What the model shows on rows [first, last) of a strip, before `join` about the tip; 0 elsewhere.
FitMaps draw_whole(const FillModel& model, const StripGrid& grid, const cv::Mat& other, int first, int join, int last) {
  const auto rows_of = [](const cv::Mat& map, int from, int to) {
    return map.empty() ? map : cv::Mat(map.rowRange(from, to));
  };
  StripGrid tip_grid = grid;
  tip_grid.rows = join - first;
  tip_grid.first_s_px = grid.s_px(first);
  const ModelMaps tip = draw_values(model, tip_grid, rows_of(other, first, join));
  FitMaps maps;
  const auto begun_with = [&](cv::Mat& whole, const cv::Mat& about_tip) {
    whole = cv::Mat(grid.rows, grid.columns, CV_64FC1, cv::Scalar(0));
    // OpenCV can't copy nothing into a range of rows: a fill may begin with its body.
    if (!about_tip.empty()) about_tip.copyTo(whole.rowRange(first, join));
    return cv::Mat(whole.rowRange(join, last));
  };
  ModelMaps body;
  body.value = begun_with(maps.value, tip.value);
  body.by_radius = begun_with(maps.by_radius, tip.by_radius);
  body.blurred = begun_with(maps.blurred, tip.blurred);
  body.per_thickness = begun_with(maps.per_thickness, tip.per_thickness);
  if (join < last)
    draw_body_values(model, {grid.s_px(join), grid.step_px, last - join}, grid, rows_of(other, join, last), body);
  return maps;
}

/// 1 where a pixel takes part: within the flanks of the fill as first guessed, rows [first, last).
cv::Mat draw_part(const Strip& strip, const cv::Mat& mask, const FillModel& start, double flank_px, int first,
                  int last) {
  const StripGrid& grid = strip.grid;
  cv::Mat part(grid.rows, grid.columns, CV_64FC1, cv::Scalar(0));
  for (int i = first; i < last; ++i) {
    const double s = grid.s_px(i);
    const double reach = start.radius_px(std::max(s, start.end_px)) + flank_px;
    const double c = start.centre_px(s);
    const std::uint8_t* own = mask.ptr<std::uint8_t>(i);
    const std::uint8_t* usable = strip.usable.ptr<std::uint8_t>(i);
    double* out = part.ptr<double>(i);
    for (int j = 0; j < grid.columns; ++j)
      out[j] = std::fabs(grid.n_px(j) - c) <= reach && own[j] != 0 && usable[j] != 0 ? 1.0 : 0.0;
  }
  return part;
}

/// `part` less the fill itself within `voids`, and what of the film a first radius that the void has drawn in
/// would take for flank, `clear_px`.
cv::Mat leave_out(const cv::Mat& part, const StripGrid& grid, const FillModel& start, int first, int last,
                  const Stretches& voids, double clear_px) {
  cv::Mat left = part.clone();
  for (const auto& [from, to] : voids) {
    for (int i = first; i < last; ++i) {
      const double s = grid.s_px(i);
      if (s < from || s > to) continue;
      const double reach = start.radius_px(s) + 3.0 * start.blur_px + clear_px;
      const double c = start.centre_px(s);
      for (int j = 0; j < grid.columns; ++j)
        if (std::fabs(grid.n_px(j) - c) <= reach) left.at<double>(i, j) = 0.0;
    }
  }
  return left;
}

/// Rows of a fit among those of the whole strip, 0 elsewhere.
cv::Mat among(const cv::Mat& rows, int first, const StripGrid& grid) {
  cv::Mat whole(grid.rows, grid.columns, CV_64FC1, cv::Scalar(0));
  rows.copyTo(whole.rowRange(first, first + rows.rows));
  return whole;
}

/// Where a fit has come to, and its normal equations there.
struct Descent {
  FillModel model;
  Background background;
  Normal normal;
  double noise = 0.0;  ///< about the tip
  double width = 9.0;  ///< of the bisquare weights, in deviations of the noise
  bool converged = false;
};

/// Levenberg and Marquardt's method on the bisquare cost: a step that doesn't lower it is taken back and shortened.
Descent descend(Panels panels, const FillModel& from, const Background& beside, const ParameterPlaces& places,
                const Anchor& anchor) {
  const FitSettings& settings = anchor.settings;
  const double step_mm = settings.mm_per_px * panels[0].columns.step_px;
  Descent at{from, beside, {}};
  const double settled_px = settings.settled_mm / settings.mm_per_px;
  double damping = 1e-3;
  double noise2 = 0.0;
  const auto penalty_of = [&](const FillModel& m, const Background& b) {
    Normal scratch = empty_normal(places.count);
    add_priors(scratch, anchor, places, m, b, noise2);
    return scratch.penalty;
  };

  struct State {
    FillModel model;
    Background background;
    std::array<ModelMaps, 2> maps;
  };
  State accepted{at.model, at.background, {}};
  bool settled = false;
  double accepted_cost = 0.0;
  double promised = 0.0;  ///< of the cost, by the last step
  for (int round = 0; round < settings.rounds; ++round) {
    draw(panels, at.model);
    if (round == 0) {
      for (Panel& panel : panels) panel.residual = residual_of(panel, at.background);
    } else {
      double cost = penalty_of(at.model, at.background);
      for (Panel& panel : panels) {
        panel.residual = residual_of(panel, at.background);
        cost += bisquare_cost(panel, at.width);
      }
      settled = cost <= accepted_cost && cost > accepted_cost * (1.0 - settings.settled);
      if (cost > accepted_cost * (1.0 + 1e-9)) {
        at.model = accepted.model;
        at.background = accepted.background;
        for (std::size_t k = 0; k < panels.size(); ++k) {
          panels[k].maps = accepted.maps[k];
          panels[k].residual = residual_of(panels[k], at.background);
        }
        damping = std::clamp(damping * 8.0, least_taken_back, 1e3);
        // A step that promised next to nothing, and didn't keep it: shorter ones won't change more.
        if (damping >= 1e3 || (round > settings.wide_rounds && promised < settings.least_promise * accepted_cost)) {
          at.converged = true;
          break;
        }
      } else {
        damping = std::max(1e-5, damping * 0.2);
      }
    }
    accepted = {at.model, at.background, {panels[0].maps, panels[1].maps}};
    at.width = round < settings.wide_rounds ? 9.0 : 5.0;
    PatchVariance patches;
    double finest = 0.0;
    for (Panel& panel : panels) {
      panel.noise = std::max(robust_noise(panel), least_noise * anchor.height);
      weigh(panel, at.width);
      panel.residual = residual_of(panel, at.background);
      patches.add(panel, step_mm);
      finest = std::max(finest, panel.noise);
    }
    noise2 = std::max(finest * finest, patches.count >= 10 ? patches.sum / patches.count : 0.0);
    accepted_cost = penalty_of(at.model, at.background);
    for (const Panel& panel : panels) accepted_cost += bisquare_cost(panel, at.width);
    at.normal = empty_normal(places.count);
    for (const Panel& panel : panels) accumulate(panel, at.model, at.background, places, at.normal);
    add_priors(at.normal, anchor, places, at.model, at.background, noise2);
    cv::completeSymm(at.normal.matrix);

    cv::Mat damped = at.normal.matrix.clone();
    for (int k = 0; k < damped.rows; ++k) damped.at<double>(k, k) *= 1.0 + damping;
    cv::Mat step;
    if (!cv::solve(damped, at.normal.right, step, cv::DECOMP_CHOLESKY)) break;
    promised = at.normal.right.dot(step);
    const Stride stride = take_step(at.model, at.background, step, places, anchor);
    if (round >= settings.wide_rounds && damping < 1e-2 && std::fabs(stride.end) < settled_px &&
        (stride.radius < 1.5 * settled_px || settled)) {
      at.converged = true;
      break;
    }
  }
  at.noise = panels[0].noise;
  return at;
}

}  // namespace

FillFit fit_fill(const Strip& strip, const cv::Mat& mask, const FillModel& start, double coronal_px,
                 const FitSettings& settings, const Stretches& voids, const cv::Mat& other,
                 const Background& beside) {
  const StripGrid& grid = strip.grid;
  const double mm = settings.mm_per_px;
  const double step_mm = mm * grid.step_px;
  const double flank_px = settings.flank_mm / mm;
  FillFit fit;
  fit.model = start;
  const int first =
      std::clamp(static_cast<int>(grid.row_of(start.end_px - settings.beyond_mm / mm)), 0, grid.rows);
  const int last = std::clamp(static_cast<int>(grid.row_of(coronal_px)) + 1, first, grid.rows);
  const Background background =
      beside.moved_to(Background::over(grid.s_px(first), grid.s_px(last - 1), background_knots_mm / mm, flank_px));
  fit.places = lay_out(start, background.basis);

  const cv::Mat all = draw_part(strip, mask, start, flank_px, first, last);
  fit.model.level_unit = start.contrast;
  fit.model.beside = look_beside(strip, all, start, first, last, mm, other);
  const cv::Mat part = voids.empty() ? all : leave_out(all, grid, start, first, last, voids, void_clear_mm / mm);
  // About the tip row by row; the body, which is even along its axis, in groups of rows.
  const double tip_mm = settings.end_reach_mm + tip_reach_mm + (start.sharpened ? 3.5 * start.halo_px * mm : 0.0);
  const int join = std::clamp(static_cast<int>(grid.row_of(start.end_px + tip_mm / mm)) + 1, first, last);
  const double row_mm = other.empty() ? body_row_mm : crossed_row_mm;
  const int group = std::max(1, static_cast<int>(std::lround(row_mm / step_mm)));
  const double typical_radius = start.radius_px(0.5 * (start.end_px + coronal_px));
  const Anchor anchor{start, settings, coronal_px, start.contrast * 2.0 * typical_radius,
                      radius_bends(start, settings, voids), centre_bends(start, settings, voids)};
  const Descent at = descend({make_panel(Panel::Kind::tip, strip, part, other, first, join, 1),
                              make_panel(Panel::Kind::body, strip, part, other, join, last, group)},
                             fit.model, background, fit.places, anchor);
  ensure(!at.normal.matrix.empty(), "a fit takes at least one round");
  fit.model = at.model;
  fit.background = at.background;
  fit.first_row = first;
  fit.last_row = last;
  fit.noise = at.noise;
  fit.converged = at.converged;
  if (settings.gives != FitGives::model) {
    Panel whole = make_panel(Panel::Kind::tip, strip, part, other, first, last, 1);
    fit.maps = draw_whole(fit.model, grid, other, first, join, last);
    whole.maps.value = fit.maps.value.rowRange(first, last);
    whole.residual = residual_of(whole, fit.background);
    whole.noise = std::max(robust_noise(whole), least_noise * anchor.height);
    weigh(whole, at.width);
    whole.residual = residual_of(whole, fit.background);
    PatchVariance patches;
    patches.add(whole, step_mm);
    fit.noise = whole.noise;
    fit.correlation = patches.count >= 10
                          ? std::max(1.0, patches.sum / patches.count / (whole.noise * whole.noise))
                          : 1.0;
    fit.texture = whole.noise * std::sqrt(fit.correlation) * step_mm / texture_step_mm;
    for (cv::Mat* used : {&whole.film, &whole.part}) used->release();  // before planes of the whole strip are made
    fit.residual = among(whole.residual, first, grid);
    fit.weight = among(whole.weight, first, grid);
    fit.part = all;
  }
  if (settings.gives == FitGives::covariance) {
    cv::Mat inverse;
    cv::invert(at.normal.matrix, inverse, cv::DECOMP_CHOLESKY);
    fit.covariance = inverse * (fit.noise * fit.noise * fit.correlation);
  }
  return fit;
}

}  // namespace canalrule
