#include "taper.hpp"

#include <algorithm>
#include <cmath>

#include "dot.hpp"
#include "row_series.hpp"

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/truth/taper.cpp holds them.
constexpr double tip_mm = 0.25;  ///< apical part of the fill, in which the tip's rounding tells
constexpr double least_stretch_mm = 1.0;
constexpr double correlated_mm = 1.0;    ///< longest lag of correlated errors
constexpr double break_margin_mm = 0.8;  ///< nearest to either end that a break is looked for
constexpr double break_window_mm = 3.0;  ///< fill on each side that a break is judged by
constexpr double merged_mm = 2.6;        ///< opposite kinks nearer than this may be one step
constexpr double smooth_mm = 0.5;        ///< over which diameters are smoothed for a reversal
constexpr double least_break_score = 4.0;

/// What the fit's covariance doesn't hold of a taper, as standard uncertainties of the diameter: over this length of
/// canal, and beside each end of the fill; of the taper, as a share, since a fill that attenuates more or less than the
/// model's seems wider or narrower by one; the greatest factor of texture's variance, which reaches farther than a
/// knot; and the share by which a fill beyond the apex may seem wider: in bone it shows more than in dentine.
constexpr double model_length_mm = 2.0;
constexpr double model_taper_mm = 0.0003;
constexpr double attenuation_share = 0.0035;
constexpr double end_reach_mm = 0.5;
constexpr double end_diameter_mm = 0.0018;
constexpr double most_reach = 3.4;
constexpr double bone_share = 0.08;
/// A row counts for nothing if it is off by this many deviations and by more than a step of the diameter leaves of a
/// smooth radius, mm.
constexpr double outlying = 6.0;
constexpr double step_leaves_mm = 0.1;
/// What the model can't follow of a step, and of a kink times the window's length.
constexpr double step_model_mm = 0.006;
constexpr double kink_model_mm = 0.02;
constexpr double kink_preference = 1.15;
constexpr double step_known_to_mm = 0.005;  ///< standard uncertainty of a step that was found, beside the film's own

/// Variance of sum w_i d_i for errors of the given weights and correlation.
double variance(const Diameters& rows, const std::vector<double>& w, std::size_t first) {
  double sum = 0.0;
  std::vector<double> scaled(w.size());
  for (std::size_t i = 0; i < w.size(); ++i)
    scaled[i] = rows.weight[first + i] > 0.0 ? w[i] / std::sqrt(rows.weight[first + i]) : 0.0;
  const double white = dot(scaled.data(), scaled.data(), w.size());
  for (std::size_t lag = 1; lag < rows.autocorrelation.size() && lag < w.size(); ++lag)
    sum += 2.0 * rows.autocorrelation[lag] * dot(scaled.data(), scaled.data() + lag, w.size() - lag);
  return std::max(white + sum, 0.2 * white);
}

struct Span {
  std::size_t first = 0, last = 0;
};

Span span_of(const Diameters& rows, double from, double to) {
  const auto first = std::lower_bound(rows.s_px.begin(), rows.s_px.end(), from) - rows.s_px.begin();
  const auto last = std::upper_bound(rows.s_px.begin(), rows.s_px.end(), to) - rows.s_px.begin();
  return {static_cast<std::size_t>(first), static_cast<std::size_t>(std::max(first, last))};
}

/// Linear weights that read the last of some functions' coefficients off the diameters by weighted
/// least squares, and that coefficient.
struct Contrast {
  double value = 0.0;
  double u = 0.0;
  bool good = false;
  std::vector<double> weights;  ///< of the span's diameters
};

template <class Function>
Contrast coefficient(const Diameters& rows, Span span, int functions, Function&& f) {
  const auto k = static_cast<std::size_t>(functions);
  const std::size_t n = span.last - span.first;
  Contrast c;
  if (n < 3 * k) return c;
  std::vector<std::vector<double>> design(k, std::vector<double>(n));
  std::vector<double> weighted(n);
  cv::Mat normal(functions, functions, CV_64FC1);
  for (std::size_t a = 0; a < k; ++a) {
    for (std::size_t i = 0; i < n; ++i) {
      design[a][i] = f(static_cast<int>(a), rows.s_px[span.first + i]);
      weighted[i] = rows.weight[span.first + i] * design[a][i];
    }
    for (std::size_t b = 0; b <= a; ++b) {
      const double product = dot(weighted.data(), design[b].data(), n);
      normal.at<double>(static_cast<int>(a), static_cast<int>(b)) = product;
      normal.at<double>(static_cast<int>(b), static_cast<int>(a)) = product;
    }
  }
  cv::Mat inverse;
  if (cv::invert(normal, inverse, cv::DECOMP_CHOLESKY) == 0.0) return c;
  std::vector<double> w(n, 0.0);
  for (std::size_t a = 0; a < k; ++a) {
    const double share = inverse.at<double>(functions - 1, static_cast<int>(a));
    for (std::size_t i = 0; i < n; ++i) w[i] += share * design[a][i];
  }
  for (std::size_t i = 0; i < n; ++i) w[i] *= rows.weight[span.first + i];
  c.value = dot(w.data(), rows.diameter_px.data() + span.first, n);
  c.u = std::sqrt(variance(rows, w, span.first));
  c.good = std::isfinite(c.value) && c.u > 0.0;
  c.weights = std::move(w);
  return c;
}

/// Variance of sum w_i d_i for the errors of the fitted radius alone, px^2 of the weights' unit.
double fitted_variance(const Diameters& rows, const std::vector<double>& w, std::size_t first) {
  std::vector<double> share(static_cast<std::size_t>(rows.radius_basis.count), 0.0);
  for (std::size_t i = 0; i < w.size(); ++i) {
    const LocalBasis::Weights at = rows.radius_basis.at(rows.s_px[first + i]);
    for (std::size_t k = 0; k < at.value.size(); ++k)
      share[static_cast<std::size_t>(at.first) + k] += 2.0 * w[i] * at.value[k];
  }
  double sum = 0.0;
  for (int a = 0; a < rows.radius_basis.count; ++a)
    sum += share[static_cast<std::size_t>(a)] *
           dot(share.data(), rows.radius_covariance.ptr<double>(a), share.size());
  return std::max(0.0, sum);
}

double shape_of(const TaperBreak& b, double s, double mm_along) {
  const double away = s - b.at_mm / mm_along;
  if (b.kind == "step") return away > 0.0 ? 0.5 : -0.5;
  return std::max(0.0, away) * mm_along / break_window_mm;
}

/// Two kinks of opposite sense close together are how a step looks where noise hides its edge: one step
/// between them in their stead, where it explains as much as the weaker of them.
std::vector<TaperBreak> merge_kinks(const Diameters& rows, std::vector<TaperBreak> breaks, double mm_along,
                                    double mm_across) {
  for (std::size_t k = 0; k + 1 < breaks.size(); ++k) {
    const TaperBreak& a = breaks[k];
    const TaperBreak& b = breaks[k + 1];
    if (a.kind != "kink" || b.kind != "kink" || a.step_mm.value * b.step_mm.value >= 0.0 ||
        b.at_mm - a.at_mm > merged_mm)
      continue;
    const Span span =
        span_of(rows, (a.at_mm - break_window_mm) / mm_along, (b.at_mm + break_window_mm) / mm_along);
    TaperBreak best;
    double top = 0.0;
    for (double at_mm = a.at_mm; at_mm <= b.at_mm; at_mm += 0.05) {
      const TaperBreak step{at_mm, "step", {}, 0.0};
      const Contrast c = coefficient(rows, span, 3, [&](int f, double s) {
        return f == 0   ? 1.0
               : f == 1 ? (s - rows.s_px.front()) * mm_along / break_window_mm
                        : shape_of(step, s, mm_along);
      });
      if (!c.good || std::fabs(c.value) / c.u <= top) continue;
      top = std::fabs(c.value) / c.u;
      best = {at_mm, "step", {c.value * mm_across, c.u * mm_across}, top};
    }
    if (top < std::min(a.score, b.score)) continue;
    breaks[k] = best;
    breaks.erase(breaks.begin() + static_cast<std::ptrdiff_t>(k) + 1);
  }
  return breaks;
}

/// A break of one kind and how much of the fill's shape it explains, in standard deviations of the noise.
struct Told {
  double explains = 0.0;
  TaperBreak what;
};

/// A kink must explain clearly more than a step to be told as one, and neither hides one that is sure.
TaperBreak surer(const Told& step, const Told& kink) {
  const bool kinked = kink.explains > kink_preference * step.explains;
  const Told& first = kinked ? kink : step;
  const Told& second = kinked ? step : kink;
  return first.what.score <= least_break_score ? second.what : first.what;
}

/// Fits all breaks together over the whole fill and leaves out, weakest first, what the others explain.
std::vector<TaperBreak> keep_needed(const Diameters& rows, std::vector<TaperBreak> breaks, double mm_along,
                                    double mm_across) {
  const Span all{0, rows.s_px.size()};
  const double looks = std::log(static_cast<double>(std::max<std::size_t>(3, rows.s_px.size())));
  while (!breaks.empty()) {
    std::size_t weakest = 0;
    for (std::size_t k = 0; k < breaks.size(); ++k) {
      std::vector<TaperBreak> order = breaks;
      std::swap(order[k], order.back());
      const Contrast c = coefficient(rows, all, 2 + static_cast<int>(order.size()), [&](int a, double s) {
        if (a == 0) return 1.0;
        if (a == 1) return (s - rows.s_px.front()) * mm_along / break_window_mm;
        return shape_of(order[static_cast<std::size_t>(a - 2)], s, mm_along);
      });
      const bool step = breaks[k].kind == "step";
      const double z =
          c.good ? c.value / std::hypot(c.u, (step ? step_model_mm : kink_model_mm) / mm_across) : 0.0;
      breaks[k].score = std::sqrt(std::max(0.0, z * z - 2.0 * looks));
      const double unit = step ? mm_across : mm_across / break_window_mm;
      if (c.good)
        breaks[k].step_mm = {c.value * unit,
                             std::hypot(std::sqrt(rows.texture_reach) * c.u * unit,
                                        step ? step_known_to_mm : kink_model_mm / break_window_mm)};
      if (breaks[k].score < breaks[weakest].score) weakest = k;
    }
    if (breaks[weakest].score > least_break_score) break;
    breaks.erase(breaks.begin() + static_cast<std::ptrdiff_t>(weakest));
  }
  return breaks;
}

}  // namespace

Diameters row_diameters(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                        const std::vector<std::pair<double, double>>& rows_out) {
  const StripGrid& grid = followed.strip.grid;
  const double mm = film.mm_per_px;
  const double from = fit.model.end_px + std::min(fit.model.cap_px, 0.4 / mm) + tip_mm / mm;
  const int first = std::clamp(static_cast<int>(std::ceil(grid.row_of(from))), fit.first_row, fit.last_row);
  Diameters rows;
  if (fit.last_row - first < 10) return rows;
  // Each row's own radius: bisquare weights keep voids and neighbours out.
  const RowSeries series =
      FlatRows(grid, fit.residual, fit.part, first, fit.last_row).series(fit.maps.by_radius, correlated_mm / mm);
  for (std::size_t i = 0; i < series.s_px.size(); ++i) {
    const double s = series.s_px[i];
    rows.s_px.push_back(s);
    const double strength = series.strength[i];
    rows.diameter_px.push_back(2.0 * (fit.model.radius_px(s) + series.amplitude(i)));
    const double variance_here =
        strength > 0.0 ? 4.0 * series.noise * series.noise / (strength * strength) : 0.0;
    bool out = strength <= 0.0 || (std::fabs(series.response[i]) > outlying * series.noise &&
                                   2.0 * std::fabs(series.amplitude(i)) * mm > step_leaves_mm);
    for (const auto& [low, high] : rows_out) out = out || (s >= low && s <= high);
    rows.weight.push_back(out || variance_here <= 0.0 ? 0.0 : 1.0 / variance_here);
  }
  rows.autocorrelation = series.autocorrelation;
  rows.texture_reach = std::min(most_reach, fit.correlation);
  rows.radius_basis = fit.model.radius_basis;
  const int radius = fit.places.radius;
  fit.covariance(cv::Rect(radius, radius, rows.radius_basis.count, rows.radius_basis.count))
      .copyTo(rows.radius_covariance);
  return rows;
}

std::optional<Quantity> taper_between(const Diameters& rows, double from_px, double to_px, double mm_per_px) {
  const Span span = span_of(rows, from_px, to_px);
  double served = 0.0;
  for (std::size_t i = span.first; i + 1 < span.last; ++i)
    if (rows.weight[i] > 0.0) served += rows.s_px[i + 1] - rows.s_px[i];
  if (served * mm_per_px < least_stretch_mm || served < 0.5 * (to_px - from_px)) return std::nullopt;
  const double middle = 0.5 * (from_px + to_px);
  const Contrast c = coefficient(rows, span, 2, [&](int a, double s) { return a == 0 ? 1.0 : s - middle; });
  if (!c.good) return std::nullopt;
  // A slope over a length L from errors alike over 2 mm: their deviation times sqrt(12 / places) / L.
  const double length = (to_px - from_px) * mm_per_px;
  const double model = model_taper_mm * std::sqrt(12.0 / std::max(1.0, length / model_length_mm)) / length;
  double tip = 0.0;
  double crown = 0.0;
  double in_bone = 0.0;
  const double reach = end_reach_mm / mm_per_px;
  for (std::size_t i = 0; i < c.weights.size(); ++i) {
    const double s = rows.s_px[span.first + i];
    if (s < rows.s_px.front() + reach) tip += c.weights[i];
    if (s > rows.s_px.back() - reach) crown += c.weights[i];
    if (s < 0.0) in_bone += c.weights[i] * rows.diameter_px[span.first + i];
  }
  const double ends = std::hypot(tip, crown) * end_diameter_mm / mm_per_px;
  const double fitted = std::sqrt(rows.texture_reach * (fitted_variance(rows, c.weights, span.first) + ends * ends));
  const double wider = attenuation_share * c.value;
  return Quantity{c.value, std::hypot(std::hypot(fitted, model, wider), in_bone * bone_share)};
}

std::vector<TaperBreak> find_breaks(const Diameters& rows, double mm_along, double mm_across) {
  std::vector<TaperBreak> breaks;
  if (rows.s_px.size() < 20) return breaks;
  const double low = rows.s_px.front() + break_margin_mm / mm_along;
  const double high = rows.s_px.back() - break_margin_mm / mm_along;
  const double step = 0.05 / mm_along;
  std::vector<double> taken;
  for (int turn = 0; turn < 4; ++turn) {
    Told step_told, kink_told;
    for (double at = low; at <= high; at += step) {
      double nearest = 1e30;
      for (const double t : taken) nearest = std::min(nearest, std::fabs(t - at));
      if (nearest < break_margin_mm / mm_along) continue;
      // Judged between the breaks already found.
      double from = at - break_window_mm / mm_along;
      double to = at + break_window_mm / mm_along;
      for (const double t : taken) {
        if (t < at) from = std::max(from, t);
        if (t > at) to = std::min(to, t);
      }
      const Span span = span_of(rows, from, to);
      const double scale = break_window_mm / mm_along;
      const auto line = [&](int a, double s) { return a == 0 ? 1.0 : (s - at) / scale; };
      const Contrast jump = coefficient(
          rows, span, 3, [&](int a, double s) { return a < 2 ? line(a, s) : (s > at ? 0.5 : -0.5); });
      const Contrast turnover = coefficient(
          rows, span, 3, [&](int a, double s) { return a < 2 ? line(a, s) : std::max(0.0, s - at) / scale; });
      // The place and kind that explain most of what a straight line leaves, by the noise alone ...
      const auto explains = [](const Contrast& c) { return c.good ? std::fabs(c.value) / c.u : 0.0; };
      // ... and how sure it is, what the model can't follow and the places looked at allowed for.
      const double looks = std::log(static_cast<double>(std::max<std::size_t>(3, rows.s_px.size())));
      const auto score = [&](const Contrast& c, double model_mm) {
        const double z = c.value / std::hypot(c.u, model_mm / mm_across);
        return std::sqrt(std::max(0.0, z * z - 2.0 * looks));
      };
      if (explains(jump) > step_told.explains)
        step_told = {explains(jump),
                     {at * mm_along, "step", {jump.value * mm_across, jump.u * mm_across}, score(jump, step_model_mm)}};
      if (explains(turnover) > kink_told.explains) {
        const double per_mm = mm_across / (scale * mm_along);
        kink_told = {explains(turnover),
                     {at * mm_along,
                      "kink",
                      {turnover.value * per_mm, turnover.u * per_mm},
                      score(turnover, kink_model_mm)}};
      }
    }
    const TaperBreak best = surer(step_told, kink_told);
    if (best.score <= least_break_score) break;
    breaks.push_back(best);
    taken.push_back(best.at_mm / mm_along);
  }
  std::sort(breaks.begin(), breaks.end(),
            [](const TaperBreak& a, const TaperBreak& b) { return a.at_mm < b.at_mm; });
  std::vector<TaperBreak> merged =
      merge_kinks(rows, keep_needed(rows, std::move(breaks), mm_along, mm_across), mm_along, mm_across);
  return keep_needed(rows, std::move(merged), mm_along, mm_across);
}

std::optional<Reversal> largest_reversal(const Diameters& rows, const std::vector<TaperBreak>& breaks, double mm_along,
                                         double mm_across) {
  const double half = 0.5 * smooth_mm / mm_along;
  struct Place {
    double s, d, variance;
  };
  std::vector<Place> places;
  if (rows.s_px.empty()) return std::nullopt;
  for (double s = rows.s_px.front() + half; s <= rows.s_px.back() - half; s += half) {
    const Span span = span_of(rows, s - half, s + half);
    double w = 0.0;
    double d = 0.0;
    for (std::size_t i = span.first; i < span.last; ++i) {
      w += rows.weight[i];
      d += rows.weight[i] * rows.diameter_px[i];
    }
    std::size_t served = 0;
    for (std::size_t i = span.first; i < span.last; ++i) served += rows.weight[i] > 0.0 ? 1U : 0U;
    if (served * 2 < span.last - span.first || w <= 0.0) continue;
    std::vector<double> weights(span.last - span.first);
    for (std::size_t i = 0; i < weights.size(); ++i) weights[i] = rows.weight[span.first + i] / w;
    places.push_back({s, d / w, variance(rows, weights, span.first)});
  }
  if (places.size() < 3) return std::nullopt;
  Reversal reversal;
  double widest_before = places.front().d;
  std::size_t before = 0;
  for (std::size_t i = 1; i < places.size(); ++i) {
    const double fall = (widest_before - places[i].d) * mm_across;
    if (fall > reversal.narrowing_mm.value) {
      const double variance = rows.texture_reach * (places[before].variance + places[i].variance);
      reversal.narrowing_mm = {fall, std::hypot(std::sqrt(variance) * mm_across, model_width_mm)};
      reversal.from_mm = places[before].s * mm_along;
      reversal.to_mm = places[i].s * mm_along;
    }
    if (places[i].d > widest_before) {
      widest_before = places[i].d;
      before = i;
    }
  }
  for (const TaperBreak& found : breaks)
    if (found.kind == "step" && -found.step_mm.value > reversal.narrowing_mm.value)
      reversal = {{-found.step_mm.value, found.step_mm.standard_uncertainty}, found.at_mm, found.at_mm};
  if (reversal.narrowing_mm.value <= 0.0) {
    const double variance = rows.texture_reach * 2.0 * places[places.size() / 2].variance;
    reversal.narrowing_mm = {0.0, std::hypot(std::sqrt(variance) * mm_across, model_width_mm)};
    reversal.from_mm = places.front().s * mm_along;
    reversal.to_mm = places.back().s * mm_along;
  }
  return reversal;
}

}  // namespace canalrule
