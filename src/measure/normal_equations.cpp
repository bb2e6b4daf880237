#include "normal_equations.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "dot.hpp"

namespace canalrule {

namespace {

/// What acts on a row, in the order of the products' table: the row's own level and slope, the background's
/// powers, the model's derivatives, and last what is left over.
enum Kind : std::size_t {
  level,
  slope,
  square,
  cube,
  radius,
  centre,
  contrast,
  bend,
  turn,
  blur,
  end,
  cap,
  empty,
  empty_width,
  halo,
  left_over,
  kinds
};

using Products = std::array<std::array<double, kinds>, kinds>;

/// Takes a row's own level and slope out of all other products.
void project_out(Products& p) {
  const double det = p[level][level] * p[slope][slope] - p[level][slope] * p[level][slope];
  for (std::size_t a = square; a < kinds; ++a) {
    const double l = (p[slope][slope] * p[level][a] - p[level][slope] * p[slope][a]) / det;
    const double s = (p[level][level] * p[slope][a] - p[level][slope] * p[level][a]) / det;
    for (std::size_t b = a; b < kinds; ++b) {
      p[a][b] -= l * p[level][b] + s * p[slope][b];
      p[b][a] = p[a][b];
    }
  }
}

/// The coefficients that act on a row, in runs that lie side by side in the vector of parameters, in its order.
class Acts {
 public:
  void clear() {
    count_ = 0;
    runs_ = 0;
  }

  template <std::size_t n>
  void add(int at, std::size_t kind, const std::array<double, n>& weights) {
    if (runs_ == 0 || run_[runs_ - 1].at + (count_ - run_[runs_ - 1].first) != at) run_[runs_++] = {at, count_};
    for (const double w : weights) {
      weight_[static_cast<std::size_t>(count_)] = w;
      kind_[static_cast<std::size_t>(count_)] = kind;
      ++count_;
    }
  }

  /// Adds the row's products, by kinds, to the equations; below the diagonal only within its blocks.
  void spread(const Products& p, Normal& normal) const {
    std::array<double, most> weighted;
    std::size_t last_kind = kinds;
    for (std::size_t r = 0; r < runs_; ++r) {
      const int end = r + 1 < runs_ ? run_[r + 1].first : count_;
      for (int a = run_[r].first; a < end; ++a) {
        const auto own = static_cast<std::size_t>(a);
        const std::array<double, kinds>& of = p[kind_[own]];
        const int place = run_[r].at + a - run_[r].first;
        normal.right.at<double>(place) += weight_[own] * of[left_over];
        if (kind_[own] != last_kind)
          for (int b = run_[r].first; b < count_; ++b) {
            const auto other = static_cast<std::size_t>(b);
            weighted[other] = weight_[other] * of[kind_[other]];
          }
        last_kind = kind_[own];
        double* line = normal.matrix.ptr<double>(place);
        for (std::size_t q = r; q < runs_; ++q) {
          double* to = line + run_[q].at;
          const double* from = weighted.data() + run_[q].first;
          const int n = (q + 1 < runs_ ? run_[q + 1].first : count_) - run_[q].first;
          for (int b = 0; b < n; ++b) to[b] += weight_[own] * from[b];
        }
      }
    }
  }

 private:
  static constexpr std::size_t most = 4 * 4 + 12;
  struct Run {
    int at = 0;     ///< place of its first in the vector of parameters
    int first = 0;  ///< among the acts
  };
  std::array<Run, most> run_{};
  std::size_t runs_ = 0;
  std::array<double, most> weight_{};
  std::array<std::size_t, most> kind_{};
  int count_ = 0;
};

}  // namespace

Panel make_panel(Panel::Kind kind, const Strip& strip, const cv::Mat& part, const cv::Mat& other, int first,
                 int last, int group) {
  const StripGrid& grid = strip.grid;
  Panel panel;
  panel.kind = kind;
  panel.columns = grid;
  panel.rows.rows = std::max(0, (last - first) / group);
  panel.rows.row_px = group * grid.step_px;
  panel.rows.first_s_px = grid.s_px(first + 0.5 * (group - 1));
  panel.columns.rows = panel.rows.rows;
  panel.columns.first_s_px = grid.s_px(first);
  panel.strip_rows = group;
  panel.film = cv::Mat(panel.rows.rows, grid.columns, CV_64FC1, cv::Scalar(0));
  panel.part = cv::Mat(panel.rows.rows, grid.columns, CV_64FC1, cv::Scalar(panel.strip_rows));
  for (int i = 0; i < panel.rows.rows; ++i) {
    double* film = panel.film.ptr<double>(i);
    double* takes = panel.part.ptr<double>(i);
    for (int k = 0; k < group; ++k) {
      const float* value = strip.value.ptr<float>(first + i * group + k);
      const double* in = part.ptr<double>(first + i * group + k);
      for (int j = 0; j < grid.columns; ++j) {
        film[j] += static_cast<double>(value[j]) / group;
        if (in[j] <= 0.0) takes[j] = 0.0;
      }
    }
  }
  panel.weight = panel.part.clone();
  if (!other.empty()) {
    panel.other = cv::Mat(panel.rows.rows, grid.columns, CV_64FC1);
    for (int i = 0; i < panel.rows.rows; ++i)
      cv::reduce(other.rowRange(first + i * group, first + (i + 1) * group), panel.other.row(i), 0,
                 cv::REDUCE_AVG);
  }
  return panel;
}

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
  p.outside = take(1);
  p.by_level = take(1);
  p.bend = take(1);
  p.turn = take(1);
  p.blur = take(1);
  p.end = take(1);
  p.cap = take(1);
  p.empty = take(1);
  p.empty_width = take(1);
  p.halo = take(1);
  p.count = next;
  return p;
}

void add_smoothness(Normal& normal, int at, const std::vector<double>& c, double sd, double noise2) {
  add_smoothness(normal, at, c, std::vector<Bend>(c.size(), {0.0, sd}), noise2);
}

void add_smoothness(Normal& normal, int at, const std::vector<double>& c, const std::vector<Bend>& expected,
                    double noise2) {
  for (int i = 1; i + 1 < static_cast<int>(c.size()); ++i) {
    const std::array<double, 3> d{1.0, -2.0, 1.0};
    const auto k = static_cast<std::size_t>(i);
    const double w = noise2 / (expected[k].deviation * expected[k].deviation);
    const double second = c[k - 1] - 2.0 * c[k] + c[k + 1] - expected[k].mean;
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

void add_sum_prior(Normal& normal, int first, int second, double sum, double sd, double noise2) {
  const double w = noise2 / (sd * sd);
  normal.penalty += w * sum * sum;
  for (const int a : {first, second}) {
    normal.right.at<double>(a) -= w * sum;
    for (const int b : {first, second}) normal.matrix.at<double>(a, b) += w;
  }
}

cv::Mat residual_of(const Panel& panel, const Background& background) {
  const StripGrid& columns = panel.columns;
  cv::Mat residual(panel.rows.rows, columns.columns, CV_64FC1);
  const auto n = static_cast<std::size_t>(columns.columns);
  const std::vector<double> one(n, 1.0);
  std::vector<double> x(n), xx(n), weighted(n);
  for (std::size_t j = 0; j < n; ++j) {
    x[j] = columns.n_px(static_cast<double>(j)) / background.flank_px;
    xx[j] = x[j] * x[j];
  }
  for (int i = 0; i < panel.rows.rows; ++i) {
    const LocalBasis::Weights b = background.basis.at(panel.rows.s_px(i));
    double b2 = 0.0;
    double b3 = 0.0;
    for (std::size_t k = 0; k < 4; ++k) {
      b2 += b.value[k] * background.square[static_cast<std::size_t>(b.first) + k];
      b3 += b.value[k] * background.cube[static_cast<std::size_t>(b.first) + k];
    }
    const double* film = panel.film.ptr<double>(i);
    const double* v = panel.maps.value.ptr<double>(i);
    const double* w = panel.weight.ptr<double>(i);
    double* out = residual.ptr<double>(i);
    for (std::size_t j = 0; j < n; ++j) {
      out[j] = film[j] - v[j] - xx[j] * (b2 + b3 * x[j]);
      weighted[j] = w[j] * x[j];
    }
    const auto [s0, s1, s2, t0] = dots(w, {one.data(), x.data(), xx.data(), out}, n);
    const double t1 = dot(weighted.data(), out, n);
    const double det = s0 * s2 - s1 * s1;
    const bool sloped = s0 > 0.0 && det > 1e-12 * s0 * s0;
    const double own_level = sloped ? (s2 * t0 - s1 * t1) / det : (s0 > 0.0 ? t0 / s0 : 0.0);
    const double own_slope = sloped ? (s0 * t1 - s1 * t0) / det : 0.0;
    for (std::size_t j = 0; j < n; ++j) out[j] -= own_level + own_slope * x[j];
  }
  return residual;
}

void accumulate(const Panel& panel, const FillModel& model, const Background& background,
                const ParameterPlaces& places, Normal& normal) {
  const auto columns = static_cast<std::size_t>(panel.columns.columns);
  const ModelMaps& maps = panel.maps;
  const std::array<std::pair<std::size_t, const cv::Mat*>, 11> derivatives{{{radius, &maps.by_radius},
                                                                           {centre, &maps.by_centre},
                                                                           {contrast, &maps.by_contrast},
                                                                           {bend, &maps.by_bend},
                                                                           {turn, &maps.by_turn},
                                                                           {blur, &maps.by_blur},
                                                                           {end, &maps.by_end},
                                                                           {cap, &maps.by_cap},
                                                                           {empty, &maps.by_empty},
                                                                           {empty_width, &maps.by_empty_width},
                                                                           {halo, &maps.by_halo}}};
  std::array<std::vector<double>, 4> powers;
  for (std::vector<double>& power : powers) power.assign(columns, 1.0);
  for (std::size_t k = 1; k < powers.size(); ++k)
    for (std::size_t j = 0; j < columns; ++j)
      powers[k][j] =
          powers[k - 1][j] * panel.columns.n_px(static_cast<double>(j)) / background.flank_px;
  std::vector<double> weighted(columns);
  const auto with_powers = [&](const double* own, std::size_t from, std::size_t to) {
    return dots(own + from, {powers[0].data() + from, powers[1].data() + from, powers[2].data() + from,
                             powers[3].data() + from}, to - from);
  };
  Acts acts;
  for (int i = 0; i < panel.rows.rows; ++i) {
    const double* w = panel.weight.ptr<double>(i);
    std::size_t from = 0;
    std::size_t to = columns;
    while (from < to && w[from] == 0.0) ++from;
    while (to > from && w[to - 1] == 0.0) --to;
    if (to - from < 8) continue;
    const double* r = panel.residual.ptr<double>(i);

    Products p{};
    const std::array<double, 4> low = with_powers(w, from, to);
    for (std::size_t j = from; j < to; ++j) weighted[j] = w[j] * powers[3][j];
    const std::array<double, 4> high = with_powers(weighted.data(), from, to);
    for (std::size_t a = level; a <= cube; ++a)
      for (std::size_t b = level; b <= cube; ++b) p[a][b] = a + b < 4 ? low[a + b] : high[a + b - 3];
    for (std::size_t j = from; j < to; ++j) weighted[j] = w[j] * r[j];
    const std::array<double, 4> left = with_powers(weighted.data(), from, to);
    for (std::size_t a = level; a <= cube; ++a) p[a][left_over] = p[left_over][a] = left[a];
    if (p[level][level] * p[slope][slope] - p[level][slope] * p[level][slope] <=
        1e-12 * p[level][level] * p[level][level])
      continue;
    // The model's derivatives vanish beside the fill: only the columns between count.
    std::size_t inner_from = to;
    std::size_t inner_to = from;
    std::array<const double*, kinds> row{};
    for (const auto& [kind, map] : derivatives) {
      if (map->empty()) continue;
      const double* values = map->ptr<double>(i);
      std::size_t a = from;
      std::size_t b = to;
      while (a < b && values[a] == 0.0) ++a;
      while (b > a && values[b - 1] == 0.0) --b;
      if (a == b) continue;
      row[kind] = values;
      inner_from = std::min(inner_from, a);
      inner_to = std::max(inner_to, b);
    }
    row[left_over] = r;
    const std::size_t n = inner_to > inner_from ? inner_to - inner_from : 0;
    for (std::size_t a = radius; a < left_over; ++a) {
      if (row[a] == nullptr) continue;
      for (std::size_t j = inner_from; j < inner_to; ++j) weighted[j] = w[j] * row[a][j];
      const double* own = weighted.data() + inner_from;
      const std::array<double, 4> across = with_powers(weighted.data(), inner_from, inner_to);
      for (std::size_t b = level; b <= cube; ++b) p[a][b] = p[b][a] = across[b];
      // With those after it, four at a time; a place that is left gets the last once more.
      std::array<std::size_t, 4> four{};
      std::size_t count = 0;
      for (std::size_t b = a; b <= left_over; ++b) {
        if (row[b] != nullptr) four[count++] = b;
        if (count == 0 || (count < four.size() && b < left_over)) continue;
        std::fill(four.begin() + static_cast<std::ptrdiff_t>(count), four.end(), four[count - 1]);
        const std::array<double, 4> with =
            dots(own, {row[four[0]] + inner_from, row[four[1]] + inner_from, row[four[2]] + inner_from,
                       row[four[3]] + inner_from}, n);
        for (std::size_t k = 0; k < count; ++k) p[a][four[k]] = p[four[k]][a] = with[k];
        count = 0;
      }
    }
    project_out(p);

    // Spread the row's products over the coefficients that act on it.
    const double s = panel.rows.s_px(i);
    acts.clear();
    const auto local = [&](const LocalBasis& basis, int at, std::size_t kind) {
      const LocalBasis::Weights b = basis.at(s);
      acts.add(at + b.first, kind, b.value);
    };
    const auto global = [&](int at, std::size_t kind, double weight = 1.0) {
      if (row[kind] != nullptr) acts.add(at, kind, std::array{weight});
    };
    if (row[radius] != nullptr) local(model.radius_basis, places.radius, radius);
    if (row[centre] != nullptr) local(model.centre_basis, places.centre, centre);
    local(background.basis, places.square, square);
    local(background.basis, places.cube, cube);
    const double per_share = model.contrast / contrast_share(model, s);
    global(places.contrast, contrast);
    global(places.slope, contrast, per_share * slope_share(model, s));
    global(places.outside, contrast, per_share * outside_share(model, s));
    global(places.by_level, contrast, per_share * level_share(model, s));
    global(places.bend, bend);
    global(places.turn, turn);
    global(places.blur, blur);
    global(places.end, end);
    global(places.cap, cap);
    global(places.empty, empty);
    global(places.empty_width, empty_width);
    global(places.halo, halo);
    acts.spread(p, normal);
  }
}

}  // namespace canalrule
