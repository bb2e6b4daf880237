#include "normal_equations.hpp"

#include <array>
#include <cmath>
#include <utility>

namespace canalrule {

namespace {

/// The vectors across a row that the normal equations are made of, in the order of ParameterPlaces.
enum Kind : std::size_t {
  radius,
  centre,
  square,
  cube,
  contrast,
  slope,
  bend,
  blur_sd,
  end,
  cap,
  empty,
  halo,
  kinds
};
constexpr std::size_t residual_kind = kinds;

struct Line {
  double level = 0.0, slope = 0.0;
};

/// Weighted straight line through `y` over x.
Line line_through(const std::vector<double>& x, const std::vector<double>& y, const double* w) {
  double s0 = 0, s1 = 0, s2 = 0, t0 = 0, t1 = 0;
  for (std::size_t j = 0; j < x.size(); ++j) {
    s0 += w[j];
    s1 += w[j] * x[j];
    s2 += w[j] * x[j] * x[j];
    t0 += w[j] * y[j];
    t1 += w[j] * x[j] * y[j];
  }
  const double det = s0 * s2 - s1 * s1;
  if (s0 <= 0.0 || det <= 1e-12 * s0 * s0) return {s0 > 0.0 ? t0 / s0 : 0.0, 0.0};
  return {(s2 * t0 - s1 * t1) / det, (s0 * t1 - s1 * t0) / det};
}

}  // namespace

ParameterPlaces lay_out(const FillModel& model, const LocalBasis& background) {
  ParameterPlaces p;
  int next = 0;
  const auto take = [&next](int n) {
    const int at = next;
    next += n;
    return at;
  };
  p.radius = take(model.radius_basis.count);
  p.centre = take(model.centre_basis.count);
  p.square = take(background.count);
  p.cube = take(background.count);
  p.contrast = take(1);
  p.slope = take(1);
  p.bend = take(1);
  p.blur = take(1);
  p.end = take(1);
  p.cap = take(1);
  p.empty = take(1);
  p.halo = take(1);
  p.count = next;
  return p;
}

void add_smoothness(Normal& normal, int at, const std::vector<double>& c, double sd, double noise2) {
  const double w = noise2 / (sd * sd);
  for (int i = 1; i + 1 < static_cast<int>(c.size()); ++i) {
    const std::array<double, 3> d{1.0, -2.0, 1.0};
    const auto k = static_cast<std::size_t>(i);
    const double second = c[k - 1] - 2.0 * c[k] + c[k + 1];
    normal.penalty += w * second * second;
    for (int a = 0; a < 3; ++a) {
      normal.right.at<double>(at + i - 1 + a) -= w * d[static_cast<std::size_t>(a)] * second;
      for (int b = 0; b < 3; ++b)
        normal.matrix.at<double>(at + i - 1 + a, at + i - 1 + b) +=
            w * d[static_cast<std::size_t>(a)] * d[static_cast<std::size_t>(b)];
    }
  }
}

void add_prior(Normal& normal, int at, double value, double mean, double sd, double noise2) {
  const double w = noise2 / (sd * sd);
  normal.penalty += w * (value - mean) * (value - mean);
  normal.matrix.at<double>(at, at) += w;
  normal.right.at<double>(at) -= w * (value - mean);
}

cv::Mat residual_of(const Problem& problem, const cv::Mat& value, const std::vector<double>& square_c,
                    const std::vector<double>& cube_c) {
  const StripGrid& grid = problem.strip.grid;
  cv::Mat residual(grid.rows, grid.columns, CV_64FC1, cv::Scalar(0));
  std::vector<double> x(static_cast<std::size_t>(grid.columns));
  for (std::size_t j = 0; j < x.size(); ++j) x[j] = grid.n_px(static_cast<double>(j)) / problem.flank_scale;
  std::vector<double> y(x.size());
  for (int i = problem.first; i < problem.last; ++i) {
    const LocalBasis::Weights w = problem.background.at(grid.s_px(i));
    double b2 = 0.0;
    double b3 = 0.0;
    for (std::size_t k = 0; k < 4; ++k) {
      b2 += w.value[k] * square_c[static_cast<std::size_t>(w.first) + k];
      b3 += w.value[k] * cube_c[static_cast<std::size_t>(w.first) + k];
    }
    const float* film = problem.strip.value.ptr<float>(i);
    const double* v = value.ptr<double>(i);
    for (std::size_t j = 0; j < x.size(); ++j)
      y[j] = static_cast<double>(film[j]) - v[j] - x[j] * x[j] * (b2 + b3 * x[j]);
    const Line line = line_through(x, y, problem.weight.ptr<double>(i));
    double* out = residual.ptr<double>(i);
    for (std::size_t j = 0; j < x.size(); ++j) out[j] = y[j] - line.level - line.slope * x[j];
  }
  return residual;
}

void accumulate_row(const Problem& problem, const ModelMaps& maps, const cv::Mat& residual, int i,
                    const FillModel& model, Normal& normal) {
  const StripGrid& grid = problem.strip.grid;
  const double* w = problem.weight.ptr<double>(i);
  const auto columns = static_cast<std::size_t>(grid.columns);
  std::size_t from = 0;
  std::size_t to = columns;
  while (from < to && w[from] == 0.0) ++from;
  while (to > from && w[to - 1] == 0.0) --to;
  if (to - from < 8) return;
  const std::size_t n = to - from;
  thread_local std::vector<double> x;
  x.resize(n);
  for (std::size_t j = 0; j < n; ++j) x[j] = grid.n_px(static_cast<double>(from + j)) / problem.flank_scale;

  thread_local std::array<std::vector<double>, kinds + 1> v;
  const auto load = [&](std::size_t kind, const cv::Mat& map) {
    const double* p = map.ptr<double>(i) + from;
    v[kind].assign(p, p + n);
  };
  load(radius, maps.by_radius);
  load(centre, maps.by_centre);
  load(contrast, maps.by_contrast);
  load(slope, maps.by_slope);
  load(bend, maps.by_bend);
  load(blur_sd, maps.by_blur);
  load(end, maps.by_end);
  load(cap, maps.by_cap);
  load(empty, maps.by_empty);
  load(halo, maps.by_halo);
  load(residual_kind, residual);
  v[square].resize(n);
  v[cube].resize(n);
  for (std::size_t j = 0; j < n; ++j) {
    v[square][j] = x[j] * x[j];
    v[cube][j] = x[j] * x[j] * x[j];
  }
  std::array<bool, kinds + 1> present{};
  for (std::size_t k = 0; k <= kinds; ++k) {
    const Line line = line_through(x, v[k], w + from);
    double squares = 0.0;
    for (std::size_t j = 0; j < n; ++j) {
      v[k][j] -= line.level + line.slope * x[j];
      squares += v[k][j] * v[k][j];
    }
    present[k] = squares > 1e-18;
  }
  std::array<std::array<double, kinds + 1>, kinds + 1> product{};
  thread_local std::vector<double> weighted;
  weighted.resize(n);
  for (std::size_t a = 0; a <= kinds; ++a) {
    if (!present[a]) continue;
    for (std::size_t j = 0; j < n; ++j) weighted[j] = v[a][j] * w[from + j];
    for (std::size_t b = a; b <= kinds; ++b) {
      if (!present[b]) continue;
      double sum = 0.0;
      for (std::size_t j = 0; j < n; ++j) sum += weighted[j] * v[b][j];
      product[a][b] = sum;
      product[b][a] = sum;
    }
  }

  // Spread the row's products over the coefficients that act on it.
  struct Act {
    int at;
    double weight;
    std::size_t kind;
  };
  std::array<Act, 24> acts{};
  std::size_t count = 0;
  const double s = grid.s_px(i);
  const auto local = [&](const LocalBasis& basis, int at, std::size_t kind) {
    if (!present[kind]) return;
    const LocalBasis::Weights b = basis.at(s);
    for (std::size_t k = 0; k < 4; ++k)
      acts[count++] = {at + b.first + static_cast<int>(k), b.value[k], kind};
  };
  const ParameterPlaces& p = problem.places;
  local(model.radius_basis, p.radius, radius);
  local(model.centre_basis, p.centre, centre);
  local(problem.background, p.square, square);
  local(problem.background, p.cube, cube);
  const std::array<std::pair<int, std::size_t>, 8> global{{{p.contrast, contrast},
                                                           {p.slope, slope},
                                                           {p.bend, bend},
                                                           {p.blur, blur_sd},
                                                           {p.end, end},
                                                           {p.cap, cap},
                                                           {p.empty, empty},
                                                           {p.halo, halo}}};
  for (const auto& [at, kind] : global)
    if (present[kind]) acts[count++] = {at, 1.0, kind};
  for (std::size_t a = 0; a < count; ++a) {
    normal.right.at<double>(acts[a].at) += acts[a].weight * product[acts[a].kind][residual_kind];
    double* row = normal.matrix.ptr<double>(acts[a].at);
    for (std::size_t b = 0; b < count; ++b)
      row[acts[b].at] += acts[a].weight * acts[b].weight * product[acts[a].kind][acts[b].kind];
  }
}

}  // namespace canalrule
