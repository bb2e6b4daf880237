#include "fill_model.hpp"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace canalrule {

namespace {

constexpr double least_radius_px = 0.3;

double spline(const LocalBasis& basis, const std::vector<double>& coefficients, double s) {
  const LocalBasis::Weights w = basis.at(s);
  double sum = 0.0;
  for (std::size_t k = 0; k < 4; ++k) sum += w.value[k] * coefficients[static_cast<std::size_t>(w.first) + k];
  return sum;
}

/// A row's mean thickness over each column's width, and its derivatives by the radius and the centre.
struct RowThickness {
  double* value;
  double* by_radius;
  double* by_centre;
};

/// Adds `weight` times the chord of radius rho about `centre`; `share` is drho/dr.
void add_chord(const StripGrid& grid, double rho, double share, double centre, double weight,
               const RowThickness& row) {
  const double h = grid.step_px;
  const int from = std::max(0, static_cast<int>(std::floor(grid.column_of(centre - rho) - 0.5)));
  const int to = std::min(grid.columns - 1, static_cast<int>(std::ceil(grid.column_of(centre + rho) + 0.5)));
  const auto at_edge = [&](double x, double& area, double& angle, double& chord) {
    const double inside = std::clamp(x, -rho, rho);
    const double height = std::sqrt(std::max(0.0, rho * rho - inside * inside));
    angle = std::asin(inside / rho);
    area = inside * height + rho * rho * angle;
    chord = 2.0 * height;
  };
  double area0, angle0, chord0;
  at_edge(grid.n_px(from) - 0.5 * h - centre, area0, angle0, chord0);
  for (int j = from; j <= to; ++j) {
    double area1, angle1, chord1;
    at_edge(grid.n_px(j) + 0.5 * h - centre, area1, angle1, chord1);
    row.value[j] += weight * (area1 - area0) / h;
    row.by_radius[j] += weight * share * 2.0 * rho * (angle1 - angle0) / h;
    row.by_centre[j] -= weight * (chord1 - chord0) / h;
    area0 = area1;
    angle0 = angle1;
    chord0 = chord1;
  }
}

/// Rows averaged over this many parts where the tip is.
constexpr int tip_parts = 10;

void draw_row(const FillModel& model, const StripGrid& grid, int i, const RowThickness& row) {
  std::fill(row.value, row.value + grid.columns, 0.0);
  std::fill(row.by_radius, row.by_radius + grid.columns, 0.0);
  std::fill(row.by_centre, row.by_centre + grid.columns, 0.0);
  const double s = grid.s_px(i);
  const double half = 0.5 * grid.step_px;
  if (s + half <= model.end_px) return;
  const double r = std::max(least_radius_px, model.radius_px(s));
  const double c = model.centre_px(s);
  if (s - half >= model.end_px + model.cap_px) {
    add_chord(grid, r, 1.0, c, 1.0, row);
    return;
  }
  for (int part = 0; part < tip_parts; ++part) {
    const double at = s - half + grid.step_px * (part + 0.5) / tip_parts;
    // The part that holds the tip counts by the share of it that is filled.
    const double part_half = half / tip_parts;
    const double filled = std::clamp((at + part_half - model.end_px) / (2.0 * part_half), 0.0, 1.0);
    if (filled <= 0.0) continue;
    const double middle = std::max(at, 0.5 * (at + part_half + model.end_px));
    const double x = model.cap_px > 0.0 ? std::min(1.0, (middle - model.end_px) / model.cap_px) : 1.0;
    const double share = std::sqrt(std::max(1e-6, 1.0 - (1.0 - x) * (1.0 - x)));
    add_chord(grid, r * share, share, c, filled / tip_parts, row);
  }
}

struct Thickness {
  cv::Mat value, by_radius, by_centre;
};

Thickness draw_thickness(const FillModel& model, const StripGrid& grid, int from, int to) {
  const int rows = to - from;
  Thickness t{cv::Mat(rows, grid.columns, CV_64FC1), cv::Mat(rows, grid.columns, CV_64FC1),
              cv::Mat(rows, grid.columns, CV_64FC1)};
  for (int i = 0; i < rows; ++i)
    draw_row(model, grid, from + i,
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

double contrast_at(const FillModel& model, double s) {
  return model.contrast * (1.0 + model.contrast_slope * (s - model.contrast_at_px) / model.contrast_span_px);
}

cv::Mat empty_canal(const FillModel& model, const StripGrid& grid) {
  cv::Mat thick(grid.rows, grid.columns, CV_64FC1, cv::Scalar(0));
  if (model.end_px <= model.empty_to_px) return thick;
  std::vector<double> spare(2 * static_cast<std::size_t>(grid.columns));
  const double r = std::max(least_radius_px, model.radius_px(model.end_px));
  const double half = 0.5 * grid.step_px;
  for (int i = 0; i < grid.rows; ++i) {
    const double s = grid.s_px(i);
    const double low = std::max(s - half, model.empty_to_px);
    const double high = std::min(s + half, model.end_px);
    if (high <= low) continue;
    add_chord(grid, r, 1.0, model.centre_px(model.end_px), (high - low) / grid.step_px,
              {thick.ptr<double>(i), spare.data(), spare.data() + grid.columns});
  }
  return gaussian(thick, model.blur_px / grid.step_px);
}

}  // namespace

double FillModel::radius_px(double s) const { return spline(radius_basis, radius, s); }
double FillModel::centre_px(double s) const { return spline(centre_basis, centre, s); }

namespace {

struct Curve {
  cv::Mat q, value, slope;  ///< slope: dy/dq
};

Curve follow_curve(const FillModel& model, const StripGrid& grid, const cv::Mat& blurred) {
  Curve curve;
  cv::Mat safe = cv::max(blurred, 1e-6);
  cv::log(safe, curve.q);
  curve.q *= -1.0 / model.absorption;
  curve.value.create(blurred.size(), CV_64FC1);
  curve.slope.create(blurred.size(), CV_64FC1);
  for (int i = 0; i < blurred.rows; ++i) {
    const double contrast = contrast_at(model, grid.s_px(i));
    const double* q = curve.q.ptr<double>(i);
    double* y = curve.value.ptr<double>(i);
    double* d = curve.slope.ptr<double>(i);
    for (int j = 0; j < blurred.cols; ++j) {
      const double x = model.bend * q[j];
      const double falling = std::exp(-x);
      y[j] = contrast * q[j] * (std::fabs(x) < 1e-5 ? 1.0 - 0.5 * x : (1.0 - falling) / x);
      d[j] = contrast * falling;
    }
  }
  return curve;
}

}  // namespace

ModelMaps draw_model(const FillModel& model, const StripGrid& grid) {
  ModelMaps maps;
  const Thickness t = draw_thickness(model, grid, 0, grid.rows);
  const cv::Mat e = exposure(model, t.value);
  const cv::Mat blurred = blur(model, e, grid.step_px);
  const Curve curve = follow_curve(model, grid, blurred);
  maps.blurred = curve.q;
  maps.per_thickness = curve.slope;
  const cv::Mat factor = curve.slope / cv::max(blurred, 1e-6);
  const auto by_thickness = [&](const cv::Mat& change) {
    return cv::Mat(factor.mul(blur(model, e.mul(change), grid.step_px)));
  };
  maps.by_radius = by_thickness(t.by_radius);
  maps.by_centre = by_thickness(t.by_centre);

  maps.by_contrast = curve.value / model.contrast;
  maps.by_slope = curve.value.clone();
  maps.by_bend.create(curve.value.size(), CV_64FC1);
  for (int i = 0; i < grid.rows; ++i) {
    const double contrast = contrast_at(model, grid.s_px(i));
    maps.by_slope.row(i) *=
        (grid.s_px(i) - model.contrast_at_px) / model.contrast_span_px * model.contrast / contrast;
    const double* q = curve.q.ptr<double>(i);
    double* d = maps.by_bend.ptr<double>(i);
    for (int j = 0; j < grid.columns; ++j) {
      const double x = model.bend * q[j];
      // d/db of (1 - exp(-b q)) / b, by its series near 0.
      d[j] = contrast * q[j] * q[j] *
             (std::fabs(x) < 1e-3 ? -0.5 + x / 3.0 : ((1.0 + x) * std::exp(-x) - 1.0) / (x * x));
    }
  }

  const double dblur = 0.02 * model.blur_px;
  FillModel wider = model;
  wider.blur_px += dblur;
  maps.by_blur = factor.mul(blur(wider, e, grid.step_px) - blurred) * (-1.0 / (dblur * model.absorption));
  if (model.sharpened) {
    const cv::Mat wide = gaussian(e, model.halo_px / grid.step_px);
    const cv::Mat narrow = gaussian(e, model.blur_px / grid.step_px);
    maps.by_halo = factor.mul(narrow - wide) * (-1.0 / model.absorption);
  } else {
    maps.by_halo = cv::Mat(grid.rows, grid.columns, CV_64FC1, cv::Scalar(0));
  }

  // The tip's two parameters by central differences over the few rows that hold it.
  maps.by_end = cv::Mat(grid.rows, grid.columns, CV_64FC1, cv::Scalar(0));
  maps.by_cap = maps.by_end.clone();
  const double reach =
      4.0 * std::max(model.blur_px, model.halo != 0.0 ? model.halo_px : 0.0) + 3.0 * grid.step_px;
  const int from = std::clamp(static_cast<int>(grid.row_of(model.end_px - reach)), 0, grid.rows);
  const int to =
      std::clamp(static_cast<int>(grid.row_of(model.end_px + model.cap_px + reach)) + 1, from, grid.rows);
  if (to > from) {
    const auto difference = [&](const FillModel& plus, const FillModel& minus, double apart) {
      const cv::Mat a = draw_thickness(plus, grid, from, to).value;
      const cv::Mat b = draw_thickness(minus, grid, from, to).value;
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
  }
  maps.by_empty = empty_canal(model, grid);
  maps.value = curve.value + model.empty * maps.by_empty;
  return maps;
}

}  // namespace canalrule
