#include "follow.hpp"

#include <algorithm>
#include <cmath>

#include "radiopacity.hpp"

namespace canalrule {

namespace {

// Lengths in mm, chosen here; tests/truth/terminus.cpp holds them.
constexpr double half_strip_mm = 2.2;
constexpr double stiff_kink_mm = 0.005;   ///< freedom of the radius while voids are looked for
constexpr double beyond_mm = 3.0;         ///< strip beyond the path's apical end and the apex
constexpr double before_mm = 0.8;         ///< strip before the path's coronal end
constexpr double radius_knots_mm = 0.5;
constexpr double centre_knots_mm = 0.7;
/// Least height of a fill over its flanks' deviation, correlation of the texture allowed for: between what
/// unfilled canals (up to 1.3) and faint fills (1.4 and more) show in tests/unit/measure.
constexpr double least_evidence = 1.35;
constexpr double widest_radius_mm = 1.0;    ///< nor is a body so wide half way along it
constexpr double retrace_mm = 0.25;         ///< a second trace that ends this far off starts a new fit
constexpr double widest_blur_mm = 0.115;    ///< an edge more blurred than this is no fill's
constexpr double least_undershoot = 0.006;  ///< of the fill's height, that tells a sharpened film
constexpr double least_undershoot_sure = 1.8;
constexpr double halo_widths_mm[] = {0.10, 0.16, 0.24};
constexpr double first_blur_mm = 0.045;
constexpr double nominal_absorption_per_mm = 1.0;  ///< gutta-percha less dentine at 40 keV (NIST SRD 126)

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
  double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
  for (double s = model.end_px + 0.6 / mm; s < coronal_px - 0.4 / mm; s += 0.25 / mm) {
    const double r = model.radius_px(s);
    n += 1.0;
    sx += s;
    sy += r;
    sxx += s * s;
    sxy += s * r;
  }
  const double det = n * sxx - sx * sx;
  if (n < 4.0 || det <= 0.0) return {model.radius_px(0.5 * (model.end_px + coronal_px)), 0.0};
  const double slope = std::clamp((n * sxy - sx * sy) / det, -0.02, 0.1);
  return {(sy - slope * sx) / n, slope};
}

FitSettings settings_for(const FilmOnBench& film, double kink_mm) {
  FitSettings settings;
  settings.mm_per_px = film.mm_per_px;
  settings.kink_mm = kink_mm;
  settings.bend_per_mm = film.display ? 0.6 : 0.3;
  return settings;
}

/// 0 where a pixel of the strip lies on something foreign, 255 elsewhere.
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

/// Coefficients of a local basis that follow a function sampled at the knots.
template <class Function>
std::vector<double> coefficients(const LocalBasis& basis, Function&& f) {
  std::vector<double> c(static_cast<std::size_t>(basis.count));
  for (int k = 0; k < basis.count; ++k)
    c[static_cast<std::size_t>(k)] = f(basis.first + (k - 1) * basis.step);
  return c;
}

FillModel first_model(const FilmOnBench& film, const Trace& trace, double end_px, double coronal_px) {
  const double mm = film.mm_per_px;
  FillModel model;
  model.radius_basis = LocalBasis::over(end_px - 0.5 / mm, coronal_px, radius_knots_mm / mm);
  model.centre_basis = LocalBasis::over(end_px - 0.5 / mm, coronal_px, centre_knots_mm / mm);
  const double least = 0.06 / mm;
  model.radius =
      coefficients(model.radius_basis, [&](double s) { return std::max(least, trace.radius_px(s)); });
  model.centre = coefficients(model.centre_basis, [&](double s) {
    // Mean of the trace's offsets within half a millimetre, inside the fill only.
    const double inside = std::clamp(s, end_px + 0.2 / mm, coronal_px - 0.2 / mm);
    double sum = 0.0;
    double count = 0.0;
    for (std::size_t b = 0; b < trace.s_px.size(); ++b) {
      const double away = (trace.s_px[b] - inside) * mm / 0.4;
      if (std::fabs(away) >= 1.0) continue;
      const double w = 1.0 - away * away;
      sum += w * trace.offset_px[b];
      count += w;
    }
    return count > 0.0 ? sum / count : 0.0;
  });
  model.contrast = trace.contrast;
  model.contrast_at_px = 0.5 * (end_px + coronal_px);
  model.contrast_span_px = std::max(1.0, coronal_px - end_px);
  model.absorption = nominal_absorption_per_mm * mm;
  model.blur_px = std::max(0.8, first_blur_mm / mm);
  model.end_px = end_px;
  model.cap_px = 0.6 * std::max(1.0, trace.radius_px(end_px));
  model.empty_to_px = std::min(0.0, end_px);
  model.halo_px = 4.0 * model.blur_px;
  return model;
}

/// The fill's centre line from its coronal end to its tip, then on to the apex by the drawn path where
/// the fill ends short of it.
Polyline smooth_line(const FilmOnBench& film, const CanalMarks& marks, const CanalPath& path,
                     const FillModel& model, double coronal_px) {
  const double mm = film.mm_per_px;
  const double knot = 0.5 / mm;
  const double apart = 0.7 / mm;
  Polyline line;
  for (const Point& drawn : marks.path) {
    const CanalPath::Projection at = path.project(drawn);
    if (at.s_px > coronal_px + apart) line.push_back(drawn);
  }
  const double inner = model.end_px + 0.3 / mm;  // the tip's own offset is the least sure
  const int pieces = std::max(2, static_cast<int>(std::lround((coronal_px - inner) / knot)));
  for (int k = 0; k <= pieces; ++k) {
    const double s = coronal_px + (inner - coronal_px) * k / pieces;
    line.push_back(path.at(s, model.centre_px(s)));
  }
  if (model.end_px > apart) {
    for (const Point& drawn : marks.path) {
      const CanalPath::Projection at = path.project(drawn);
      if (at.s_px < model.end_px - apart && at.s_px > apart) line.push_back(drawn);
    }
  }
  if (model.end_px > 0.25 / mm) line.push_back(marks.apex);
  return line;
}

/// What edge enhancement leaves: the film close beside the fill lower than farther out, as a share of
/// the fill's height, and how surely, in standard errors of rows taken `independent_px` apart.
struct Undershoot {
  double share = 0.0;
  double sure = 0.0;
};

Undershoot find_undershoot(const FillFit& fit, const StripGrid& grid, double coronal_px,
                           double independent_px) {
  const FillModel& model = fit.model;
  double sum = 0.0, squares = 0.0;
  int count = 0;
  for (int i = fit.first_row; i < fit.last_row; ++i) {
    const double s = grid.s_px(i);
    if (s < model.end_px + 3.0 * model.blur_px || s > coronal_px) continue;
    const double r = model.radius_px(s);
    const double c = model.centre_px(s);
    double near = 0.0, far = 0.0;
    int nears = 0, fars = 0;
    for (int j = 0; j < grid.columns; ++j) {
      if (fit.weight.at<double>(i, j) <= 0.0) continue;
      const double away = (std::fabs(grid.n_px(j) - c) - r) / model.blur_px;
      if (away > 1.5 && away < 4.0) {
        near += fit.residual.at<double>(i, j);
        ++nears;
      } else if (away > 6.0) {
        far += fit.residual.at<double>(i, j);
        ++fars;
      }
    }
    if (nears < 3 || fars < 3) continue;
    const double share = (far / fars - near / nears) / (model.contrast * 2.0 * r);
    sum += share;
    squares += share * share;
    ++count;
  }
  if (count < 20) return {};
  const double mean = sum / count;
  const double deviation = std::sqrt(std::max(1e-12, squares / count - mean * mean));
  const double independent = std::max(2.0, count * grid.step_px / independent_px);
  return {mean, mean / (deviation / std::sqrt(independent))};
}

/// How far the fitted film falls below its flanks beside the fill, as a share of the fill's height.
double halo_of(const FillFit& fit, const StripGrid& grid, double coronal_px) {
  const int row =
      std::clamp(static_cast<int>(grid.row_of(0.5 * (fit.model.end_px + coronal_px))), 0, grid.rows - 1);
  double low = 0.0;
  double high = 0.0;
  cv::minMaxLoc(fit.maps.value.row(row), &low, &high);
  return high > 0.0 ? std::max(0.0, -low) / high : 0.0;
}

/// The fill's coronal end: where, row by row, its height over its flanks falls to half of what it is a
/// little further apically; the traced end where it doesn't.
double coronal_end(const Strip& strip, const FillModel& model, double traced_px, double mm) {
  const StripGrid& grid = strip.grid;
  const double r = model.radius_px(traced_px - 0.4 / mm);
  const double c = model.centre_px(traced_px - 0.4 / mm);
  const auto height = [&](int i) {
    double in = 0.0, out = 0.0;
    int ins = 0, outs = 0;
    for (int j = 0; j < grid.columns; ++j) {
      if (strip.usable.at<std::uint8_t>(i, j) == 0) continue;
      const double n = std::fabs(grid.n_px(j) - c);
      if (n < 0.6 * r) {
        in += static_cast<double>(strip.value.at<float>(i, j));
        ++ins;
      } else if (n > r + 2.5 * model.blur_px && n < r + 0.5 / mm) {
        out += static_cast<double>(strip.value.at<float>(i, j));
        ++outs;
      }
    }
    return ins > 0 && outs > 0 ? in / ins - out / outs : std::nan("");
  };
  const int from = std::clamp(static_cast<int>(grid.row_of(traced_px - 1.0 / mm)), 0, grid.rows - 1);
  const int near = std::clamp(static_cast<int>(grid.row_of(traced_px - 0.3 / mm)), 0, grid.rows - 1);
  const int last = std::clamp(static_cast<int>(grid.row_of(traced_px + 0.4 / mm)), 0, grid.rows - 1);
  double level = 0.0;
  int count = 0;
  for (int i = from; i <= near; ++i) {
    const double h = height(i);
    if (std::isnan(h)) continue;
    level += h;
    ++count;
  }
  if (count < 5) return traced_px;
  level /= count;
  double before = level;
  for (int i = near; i <= last; ++i) {
    const double h = height(i);
    if (std::isnan(h)) return traced_px;
    if (h < 0.5 * level) {
      const double f = (before - 0.5 * level) / std::max(1e-12, before - h);
      return grid.s_px(i - 1 + std::clamp(f, 0.0, 1.0));
    }
    before = h;
  }
  return traced_px;
}

}  // namespace

FollowedOrNot follow_fill(const FilmOnBench& film, const CanalMarks& marks,
                          const std::vector<Foreign>& foreign) {
  const double mm = film.mm_per_px;
  const CanalPath drawn(marks.path, marks.apex, film.aspect);
  const double apical = std::min(drawn.first_px(), 0.0) - beyond_mm / mm;
  const StripGrid grid = grid_for(mm, half_strip_mm, apical, drawn.last_px() + before_mm / mm);
  const Strip strip = sample_strip(film.radiopacity, film.unusable, drawn, grid);
  const cv::Mat mask = mask_foreign(strip, drawn, foreign);
  // Clipped grey carries no attenuation for a fit, but it is bright or dark all the same: it guides the
  // trace.
  const bool clipped = film.unusable.data != film.padding.data &&
                       cv::countNonZero(strip.usable) < grid.rows * grid.columns;
  const Strip guide = clipped ? sample_strip(film.radiopacity, film.padding, drawn, grid) : strip;
  const SearchFound searched =
      search_fill(guide, mask, mm, drawn.first_px(), drawn.last_px(), film.hand_weight);
  FollowedOrNot answer;
  answer.why = searched.why;
  if (!searched.search) return answer;
  const std::optional<Trace> traced = trace_fill(*searched.search);
  if (!traced) return answer;
  const FitSettings stiff = settings_for(film, stiff_kink_mm);
  FitSettings by_hand = stiff;  // the axis is the hand's: the fill may wind about it
  by_hand.centre_kink_mm = 0.3;
  by_hand.left_over = LeftOver::dropped;
  const auto fit_trace = [&](const Trace& from) {
    const FillModel rough = first_model(film, from, from.end_px, from.coronal_px);
    const Strip narrow = crop(strip, fit_half_mm(film, rough, from.coronal_px, stiff), mm);
    const int aside = (mask.cols - narrow.value.cols) / 2;
    return fit_fill(narrow, mask.colRange(aside, mask.cols - aside), rough, from.coronal_px - 0.15 / mm,
                    by_hand);
  };
  Trace trace = *traced;
  FillFit first = fit_trace(trace);
  // The trace once more with the fitted radius, which is surer than the trace's own: where it ends elsewhere,
  // the fit starts anew from there.
  const std::optional<Trace> again =
      trace_fill(*searched.search, radius_line(first.model, trace.coronal_px, mm));
  if (again && std::fabs(again->end_px - first.model.end_px) > retrace_mm / mm) {
    trace = *again;
    first = fit_trace(trace);
  }
  const double coronal = trace.coronal_px;

  // Second pass on the fill's own centre line.
  const Polyline line = smooth_line(film, marks, drawn, first.model, coronal);
  CanalPath path(line, marks.apex, film.aspect);
  const double coronal2 = path.project(drawn.at(coronal, first.model.centre_px(coronal))).s_px;
  const double end2 =
      path.project(drawn.at(first.model.end_px, first.model.centre_px(first.model.end_px))).s_px;
  const StripGrid grid2 =
      grid_for(mm, fit_half_mm(film, first.model, coronal, stiff),
               std::min({path.first_px(), 0.0, end2}) - 2.0 / mm, coronal2 + before_mm / mm);
  const double traced_end2 = path.project(drawn.at(trace.end_px, first.model.centre_px(trace.end_px))).s_px;
  Followed followed{path,        sample_strip(film.radiopacity, film.unusable, path, grid2),
                    cv::Mat(),   trace,
                    {},          coronal2,
                    traced_end2, 0.0,
                    0.0};
  FillModel model = first.model;
  const double moved = end2 - first.model.end_px;
  model.radius_basis = LocalBasis::over(end2 - 0.5 / mm, coronal2, radius_knots_mm / mm);
  model.centre_basis = LocalBasis::over(end2 - 0.5 / mm, coronal2, centre_knots_mm / mm);
  model.radius = coefficients(model.radius_basis, [&](double s) { return first.model.radius_px(s - moved); });
  model.centre.assign(static_cast<std::size_t>(model.centre_basis.count), 0.0);
  model.end_px = end2;
  model.empty_to_px = std::min(0.0, end2);
  model.contrast_at_px += moved;
  followed.mask = mask_foreign(followed.strip, path, foreign);
  if (!trace.reaches_coronal_end) followed.coronal_px = coronal_end(followed.strip, model, coronal2, mm);
  followed.fit = fit_fill(followed.strip, followed.mask, model, coronal2 - 0.15 / mm, stiff);
  const Undershoot undershoot = find_undershoot(followed.fit, grid2, followed.coronal_px, 0.3 / mm);
  if (undershoot.share > least_undershoot && undershoot.sure > least_undershoot_sure) {
    // The film was sharpened: fitted again with a halo, of the width that leaves least over.
    FillModel sharpened = followed.fit.model;
    sharpened.sharpened = true;
    sharpened.halo = 0.5;
    for (const double width_mm : halo_widths_mm) {
      sharpened.halo_px = width_mm / mm;
      FillFit fit =
          fit_fill(followed.strip, followed.mask, sharpened, followed.coronal_px - 0.15 / mm, stiff);
      if (!followed.fit.model.sharpened || fit.noise < followed.fit.noise) followed.fit = std::move(fit);
    }
    followed.halo_share = halo_of(followed.fit, grid2, followed.coronal_px);
  }
  // A fill that hardly stands out from what its flanks show is refused, not guessed.
  const FillModel& fitted = followed.fit.model;
  const double middle = fitted.radius_px(0.5 * (fitted.end_px + followed.coronal_px));
  followed.evidence =
      fitted.contrast * 2.0 * middle / (followed.fit.noise * std::sqrt(followed.fit.correlation));
  answer.evidence = followed.evidence;
  const bool shapeless = fitted.blur_px * mm > widest_blur_mm || middle * mm > widest_radius_mm;
  if (followed.evidence < least_evidence || shapeless) {
    answer.why = shapeless ? NoTrace::no_fit : NoTrace::too_faint;
    return answer;
  }
  answer.followed = std::move(followed);
  return answer;
}

FillFit refit(const FilmOnBench& film, const Followed& followed, const Stretches& blocked,
              const Stretches& voids, double kink_mm) {
  cv::Mat mask = followed.mask.clone();
  const StripGrid& grid = followed.strip.grid;
  for (const auto& [from, to] : blocked) {
    const int first = std::clamp(static_cast<int>(std::floor(grid.row_of(from))), 0, grid.rows);
    const int last = std::clamp(static_cast<int>(std::ceil(grid.row_of(to))) + 1, first, grid.rows);
    mask.rowRange(first, last).setTo(0);
  }
  return fit_fill(followed.strip, mask, followed.fit.model, followed.coronal_px - 0.15 / film.mm_per_px,
                  settings_for(film, kink_mm), voids);
}

}  // namespace canalrule
