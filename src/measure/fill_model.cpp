#include "fill_model.hpp"

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <numbers>
#include <opencv2/imgproc.hpp>
#include <utility>

#include "chord.hpp"

namespace canalrule {

namespace {

double spline(const LocalBasis& basis, const std::vector<double>& coefficients, double s) {
  const LocalBasis::Weights w = basis.at(s);
  double sum = 0.0;
  for (std::size_t k = 0; k < 4; ++k) sum += w.value[k] * coefficients[static_cast<std::size_t>(w.first) + k];
  return sum;
}

struct Thickness {
  cv::Mat value, by_radius, by_centre;
};

Thickness draw_thickness(const FillModel& model, const StripGrid& grid, int from, int to) {
  const int rows = to - from;
  Thickness t{cv::Mat(rows, grid.columns, CV_64FC1), cv::Mat(rows, grid.columns, CV_64FC1),
              cv::Mat(rows, grid.columns, CV_64FC1)};
  for (int i = 0; i < rows; ++i)
    draw_row(model, grid, grid.s_px(from + i),
             {t.value.ptr<double>(i), t.by_radius.ptr<double>(i), t.by_centre.ptr<double>(i)});
  return t;
}

cv::Mat gaussian(const cv::Mat& map, double sd) {
  const int half = std::max(1, static_cast<int>(std::ceil(3.7 * sd)));
  cv::Mat out;
  const cv::Mat kernel = cv::getGaussianKernel(2 * half + 1, sd, CV_64F);
  cv::sepFilter2D(map, out, CV_64F, kernel, kernel, cv::Point(-1, -1), 0.0, cv::BORDER_REPLICATE);
  return out;
}

/// The film's blur: a Gaussian, less a wider one where the film was sharpened.
cv::Mat blur(const FillModel& model, const cv::Mat& map, double step) {
  cv::Mat narrow = gaussian(map, model.blur_px / step);
  if (model.halo == 0.0) return narrow;
  const cv::Mat wide = gaussian(map, model.halo_px / step);
  return (1.0 + model.halo) * narrow - model.halo * wide;
}

cv::Mat exposure(const FillModel& model, const cv::Mat& thickness) {
  cv::Mat e = -model.absorption * thickness;
  cv::exp(e, e);
  return e;
}

/// Adds to a row the empty canal between its foramen and the fill's full width. `spare`: two rows.
void add_empty(const FillModel& model, const StripGrid& grid, double s, double* row, double* spare) {
  const double half = 0.5 * grid.step_px;
  const double low = std::max(s - half, 0.0);
  const double high = std::min(s + half, model.end_px + model.cap_px);
  if (high <= low) return;
  const double wide =
      std::max(least_radius_px, model.empty_width * model.radius_px(std::max(s, model.end_px)));
  const double narrow = std::min(model.foramen_px, wide);
  const double up = 0.5 * (low + high) / model.end_px;
  add_chord(grid, narrow + (wide - narrow) * std::min(1.0, up), 1.0, model.centre_px(model.end_px),
            (high - low) / grid.step_px, {row, spare, spare + grid.columns});
}

/// Thickness of the empty canal on rows [from, to), without what the fill's rounded tip takes of it; empty where there
/// is none.
cv::Mat empty_canal(const FillModel& model, const StripGrid& grid, const cv::Mat& filled, int from, int to) {
  if (model.end_px <= 0.0) return {};
  cv::Mat thick(to - from, grid.columns, CV_64FC1, cv::Scalar(0));
  std::vector<double> spare(2 * static_cast<std::size_t>(grid.columns));
  for (int i = 0; i < thick.rows; ++i) {
    double* row = thick.ptr<double>(i);
    add_empty(model, grid, grid.s_px(from + i), row, spare.data());
    const double* taken = filled.ptr<double>(i);
    for (int j = 0; j < grid.columns; ++j) row[j] = std::max(0.0, row[j] - taken[j]);
  }
  return thick;
}

/// Fill and empty canal together, as a thickness of fill, on rows [from, to).
cv::Mat draw_contents(const FillModel& model, const StripGrid& grid, int from, int to) {
  const cv::Mat filled = draw_thickness(model, grid, from, to).value;
  const cv::Mat empty = empty_canal(model, grid, filled, from, to);
  return empty.empty() ? filled : cv::Mat(filled + model.empty * empty);
}

constexpr double least_exposure = 1e-6;
constexpr double width_step = 0.01;  ///< of a difference in place of a derivative

/// Attenuation by which a fill's surroundings may differ along it, at most: a first guess far off must not run away.
/// And the greatest share by which a display's level changes the contrast. Chosen here; tests/truth/width.cpp and
/// terminus.cpp.
constexpr double most_beside = 2.0;
constexpr double most_bent = 0.5;

/// Optical depth of fill by which a display's level may carry a row along the film's curve. Chosen here;
/// tests/truth/width.cpp.
constexpr double most_along = 1.0;

double bent_by_level(const FillModel& model, double s) {
  return std::clamp(model.contrast_by_level * level_share(model, s), -most_bent, most_bent);
}

enum class Wanted { values, derivatives };

ModelMaps draw(const FillModel& model, const StripGrid& grid, Wanted wanted, const cv::Mat& other) {
  ModelMaps maps;
  const Thickness t = draw_thickness(model, grid, 0, grid.rows);
  const cv::Mat empty = empty_canal(model, grid, t.value, 0, grid.rows);
  cv::Mat whole = empty.empty() ? t.value : cv::Mat(t.value + model.empty * empty);
  if (!other.empty()) whole += other;
  const cv::Mat e = exposure(model, whole);
  const cv::Mat blurred = blur(model, e, grid.step_px);
  cv::log(cv::max(blurred, least_exposure), maps.blurred);
  maps.blurred *= -1.0 / model.absorption;
  for (cv::Mat* map : {&maps.value, &maps.per_thickness, &maps.by_contrast, &maps.by_bend, &maps.by_turn})
    map->create(blurred.size(), CV_64FC1);
  for (int i = 0; i < grid.rows; ++i) {
    const FilmCurve curve = curve_at(model, grid.s_px(i));
    const double* seen = blurred.ptr<double>(i);
    const double* q = maps.blurred.ptr<double>(i);
    double* y = maps.value.ptr<double>(i);
    double* d = maps.per_thickness.ptr<double>(i);
    double* c = maps.by_contrast.ptr<double>(i);
    double* b = maps.by_bend.ptr<double>(i);
    double* turned = maps.by_turn.ptr<double>(i);
    for (int j = 0; j < grid.columns; ++j) {
      const FilmCurve::Point at = curve.at(std::max(seen[j], least_exposure), q[j]);
      y[j] = at.y;
      d[j] = at.slope;
      b[j] = at.by_bend;
      turned[j] = at.by_turn;
      c[j] = at.y / model.contrast;
    }
  }
  const cv::Mat factor = maps.per_thickness / cv::max(blurred, least_exposure);
  const auto by_thickness = [&](const cv::Mat& change) {
    return cv::Mat(factor.mul(blur(model, e.mul(change), grid.step_px)));
  };
  maps.by_radius = by_thickness(t.by_radius);
  if (wanted == Wanted::values) return maps;

  if (!empty.empty()) {
    maps.by_empty = by_thickness(empty);
    FillModel wider = model;
    wider.empty_width += width_step;
    maps.by_empty_width =
        by_thickness((empty_canal(wider, grid, t.value, 0, grid.rows) - empty) * (model.empty / width_step));
  }
  maps.by_centre = by_thickness(t.by_centre);
  const double dblur = 0.02 * model.blur_px;
  const double relative = 1.0 / (dblur * model.absorption);
  const cv::Mat narrow = model.halo == 0.0 ? blurred : gaussian(e, model.blur_px / grid.step_px);
  const cv::Mat wider = gaussian(e, (model.blur_px + dblur) / grid.step_px);
  maps.by_blur = factor.mul(wider - narrow) * (-(1.0 + model.halo) * relative);
  if (model.sharpened) {
    const cv::Mat wide = gaussian(e, model.halo_px / grid.step_px);
    maps.by_halo = factor.mul(narrow - wide) * (-1.0 / model.absorption);
  }

  // The tip's two parameters by central differences over the few rows that hold it.
  const double reach =
      4.0 * std::max(model.blur_px, model.halo != 0.0 ? model.halo_px : 0.0) + 3.0 * grid.step_px;
  const int from = std::clamp(static_cast<int>(grid.row_of(model.end_px - reach)), 0, grid.rows);
  const int to =
      std::clamp(static_cast<int>(grid.row_of(model.end_px + model.cap_px + reach)) + 1, from, grid.rows);
  if (to == from) return maps;
  maps.by_end = cv::Mat(grid.rows, grid.columns, CV_64FC1, cv::Scalar(0));
  maps.by_cap = maps.by_end.clone();
  const auto difference = [&](const FillModel& plus, const FillModel& minus, double apart) {
    const cv::Mat a = draw_contents(plus, grid, from, to);
    const cv::Mat b = draw_contents(minus, grid, from, to);
    const cv::Mat change = e.rowRange(from, to).mul(a - b) / apart;
    return cv::Mat(factor.rowRange(from, to).mul(blur(model, change, grid.step_px)));
  };
  const double step = 0.05 * grid.step_px;
  FillModel plus = model;
  FillModel minus = model;
  plus.end_px += step;
  minus.end_px -= step;
  difference(plus, minus, 2.0 * step).copyTo(maps.by_end.rowRange(from, to));
  plus = model;
  minus = model;
  plus.cap_px += step;
  minus.cap_px = std::max(0.0, minus.cap_px - step);
  difference(plus, minus, plus.cap_px - minus.cap_px).copyTo(maps.by_cap.rowRange(from, to));
  return maps;
}

/// A Gaussian's samples from its middle outward, adding to one over both sides, and their derivatives by
/// the standard deviation.
struct Kernel {
  std::vector<double> weight, by_sd;

  explicit Kernel(double sd) {
    const int half = std::max(1, static_cast<int>(std::ceil(3.7 * sd)));
    double sum = 0.0;
    double square = 0.0;
    for (int k = 0; k <= half; ++k) {
      weight.push_back(std::exp(-0.5 * k * k / (sd * sd)));
      sum += (k == 0 ? 1.0 : 2.0) * weight.back();
      square += (k == 0 ? 1.0 : 2.0) * weight.back() * k * k;
    }
    for (std::size_t k = 0; k < weight.size(); ++k) {
      const double distance = static_cast<double>(k * k) - square / sum;
      weight[k] /= sum;
      by_sd.push_back(weight[k] * distance / (sd * sd * sd));
    }
  }
  int half() const { return static_cast<int>(weight.size()) - 1; }
};

/// Even convolution of columns [from, to) of a row that has `half` more on each side.
void convolve(const std::vector<double>& row, const std::vector<double>& kernel, int from, int to,
              std::vector<double>& out) {
  for (int j = from; j < to; ++j) out[static_cast<std::size_t>(j)] = kernel[0] * row[static_cast<std::size_t>(j)];
  for (std::size_t k = 1; k < kernel.size(); ++k) {
    const double w = kernel[k];
    const double* left = row.data() - k;
    const double* right = row.data() + k;
    for (int j = from; j < to; ++j) out[static_cast<std::size_t>(j)] += w * (left[j] + right[j]);
  }
}

/// What the rows of the body show, blurred across; 0 beside the fill and its blur.
ModelMaps draw_rows(const FillModel& model, const BodyRows& rows, const StripGrid& columns, Wanted wanted,
                    const cv::Mat& other, ModelMaps maps) {
  const bool derivatives = wanted == Wanted::derivatives;
  std::vector<cv::Mat*> drawn{&maps.value, &maps.by_radius};
  const auto also = [&](std::initializer_list<cv::Mat*> more) { drawn.insert(drawn.end(), more); };
  if (derivatives) {
    also({&maps.by_centre, &maps.by_contrast, &maps.by_bend, &maps.by_blur});
    if (!model.scattered) also({&maps.by_turn});
    if (model.sharpened) also({&maps.by_halo});
  } else {
    also({&maps.blurred});
    maps.per_thickness.create(rows.rows, columns.columns, CV_64FC1);
  }
  for (cv::Mat* map : drawn) map->create(rows.rows, columns.columns, CV_64FC1);
  const Kernel narrow(model.blur_px / columns.step_px);
  const Kernel wide(model.halo_px / columns.step_px);
  const int half = std::max(narrow.half(), model.sharpened ? wide.half() : 0);
  // Every row has room for the kernel on both sides of the strip's columns.
  const auto room = static_cast<std::size_t>(columns.columns + 2 * half);
  StripGrid roomy = columns;
  roomy.first_n_px -= half * columns.step_px;
  roomy.columns = static_cast<int>(room);
  std::vector<double> t(room), e(room), er(room), ec(room), by_r(room), by_c(room);
  std::vector<double> eb(room), erb(room), ecb(room), ed(room), ew(room), erw(room), ecw(room);
  for (int i = 0; i < rows.rows; ++i) {
    const double s = rows.s_px(i);
    draw_row(model, roomy, s, {t.data(), by_r.data(), by_c.data()});
    if (!other.empty()) {
      const double* over = other.ptr<double>(i);
      for (int j = 0; j < roomy.columns; ++j)
        t[static_cast<std::size_t>(j)] += over[std::clamp(j - half, 0, columns.columns - 1)];
    }
    for (std::size_t j = 0; j < room; ++j) {
      const double exposed = t[j] > 0.0 ? std::exp(-model.absorption * t[j]) : 1.0;
      e[j] = exposed;
      er[j] = exposed * by_r[j];
      ec[j] = exposed * by_c[j];
    }
    const double reach = model.radius_px(s) + (half + 1) * columns.step_px;
    const double c = model.centre_px(s);
    const bool whole = !other.empty();  // another fill may lie anywhere
    const int from =
        whole ? 0 : std::clamp(static_cast<int>(columns.column_of(c - reach)), 0, columns.columns);
    const int to = whole ? columns.columns
                         : std::clamp(static_cast<int>(columns.column_of(c + reach)) + 2, from, columns.columns);
    for (cv::Mat* map : drawn) {
      double* row = map->ptr<double>(i);
      std::fill(row, row + from, 0.0);
      std::fill(row + to, row + columns.columns, 0.0);
    }
    const int first = from + half;
    const int last = to + half;
    convolve(e, narrow.weight, first, last, eb);
    convolve(er, narrow.weight, first, last, erb);
    if (model.sharpened) {
      convolve(e, wide.weight, first, last, ew);
      convolve(er, wide.weight, first, last, erw);
    }
    if (derivatives) {
      convolve(ec, narrow.weight, first, last, ecb);
      convolve(e, narrow.by_sd, first, last, ed);
      if (model.sharpened) convolve(ec, wide.weight, first, last, ecw);
    }
    const FilmCurve curve = curve_at(model, s);
    if (!derivatives) maps.per_thickness.row(i).setTo(curve.at(1.0, 0.0).slope);
    for (int column = from; column < to; ++column) {
      const auto j = static_cast<std::size_t>(column + half);
      double exposed = eb[j], radius = erb[j], centre = ecb[j];
      if (model.sharpened) {
        exposed += model.halo * (eb[j] - ew[j]);
        radius += model.halo * (erb[j] - erw[j]);
        centre += model.halo * (ecb[j] - ecw[j]);
      }
      const double safe = std::max(exposed, least_exposure);
      const double q = derivatives && curve.scattered ? 0.0 : -std::log(safe) / model.absorption;
      const FilmCurve::Point at = curve.at(safe, q);
      const double factor = at.slope / safe;
      maps.value.at<double>(i, column) = at.y;
      maps.by_radius.at<double>(i, column) = factor * radius;
      if (!derivatives) {
        maps.blurred.at<double>(i, column) = q;
        maps.per_thickness.at<double>(i, column) = at.slope;
        continue;
      }
      maps.by_contrast.at<double>(i, column) = at.y / model.contrast;
      maps.by_bend.at<double>(i, column) = at.by_bend;
      if (!model.scattered) maps.by_turn.at<double>(i, column) = at.by_turn;
      maps.by_centre.at<double>(i, column) = factor * centre;
      maps.by_blur.at<double>(i, column) =
          -factor * (1.0 + model.halo) * ed[j] / (columns.step_px * model.absorption);
      if (model.sharpened)
        maps.by_halo.at<double>(i, column) = -factor * (eb[j] - ew[j]) / model.absorption;
    }
  }
  return maps;
}

}  // namespace

double FillModel::radius_px(double s) const { return spline(radius_basis, radius, s); }
double FillModel::centre_px(double s) const { return spline(centre_basis, centre, s); }

double slope_share(const FillModel& model, double s) {
  return (s - model.contrast_at_px) / model.contrast_span_px;
}

double outside_share(const FillModel& model, double s) {
  return 0.5 * std::erfc(s / (std::numbers::sqrt2 * model.apex_soft_px));
}

double level_share(const FillModel& model, double s) {
  return model.scattered ? 0.0 : model.beside.at(s) / model.level_unit;
}

double contrast_share(const FillModel& model, double s) {
  return 1.0 + model.contrast_slope * slope_share(model, s) + model.contrast_outside * outside_share(model, s) +
         bent_by_level(model, s);
}

FilmCurve curve_at(const FillModel& model, double s) {
  // Scatter is alike over some mm, what it is added to isn't: the film's level over its gain tells that.
  const double gain = model.contrast / (model.absorption - model.bend);
  const double ratio =
      model.scattered ? std::exp(std::clamp(model.beside.at(s) / gain, -most_beside, most_beside)) : 1.0;
  const double along = most_along / model.absorption;
  return {model.contrast * contrast_share(model, s),
          model.bend,
          model.absorption,
          model.scattered,
          ratio,
          model.turn,
          std::clamp(level_share(model, s), -along, along),
          1.0 + bent_by_level(model, s)};
}

ModelMaps draw_model(const FillModel& model, const StripGrid& grid, const cv::Mat& other) {
  return draw(model, grid, Wanted::derivatives, other);
}

ModelMaps draw_values(const FillModel& model, const StripGrid& grid, const cv::Mat& other) {
  return draw(model, grid, Wanted::values, other);
}

ModelMaps draw_body(const FillModel& model, const BodyRows& rows, const StripGrid& columns,
                    const cv::Mat& other) {
  return draw_rows(model, rows, columns, Wanted::derivatives, other, {});
}

void draw_body_values(const FillModel& model, const BodyRows& rows, const StripGrid& columns, const cv::Mat& other,
                      ModelMaps into) {
  draw_rows(model, rows, columns, Wanted::values, other, std::move(into));
}

}  // namespace canalrule
