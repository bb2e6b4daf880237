#include "voids.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "row_series.hpp"

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/truth/voids.cpp holds them.
constexpr std::array<double, 10> lengths_mm{0.10, 0.15, 0.20, 0.30, 0.40, 0.55, 0.75, 1.0, 1.4, 2.0};
constexpr double tip_mm = 0.35;        ///< nearest to the fill's end that a void is looked for
constexpr double baseline_mm = 1.0;    ///< fill beside a void that it is compared with, on each side
constexpr double correlated_mm = 0.4;  ///< longest lag of correlated noise
constexpr double uneven = 0.01;        ///< share by which a flawless fill's density may differ
constexpr double least_score = 1.0;
constexpr std::size_t most_voids = 12;
constexpr double across_preference = 0.93;  ///< a gap across the canal explains as much: prefer it

struct Pattern {
  VoidKind kind;
  double place;  ///< middle across the canal, in radii from the centre
  double width;  ///< across the canal, in diameters
};
constexpr std::array<Pattern, 5> patterns{{{VoidKind::across, 0.0, 1.0},
                                           {VoidKind::inside, 0.0, 0.35},
                                           {VoidKind::inside, 0.0, 0.65},
                                           {VoidKind::along_wall, -0.65, 0.33},
                                           {VoidKind::along_wall, 0.65, 0.33}}};

/// What a deficit of 1 of a kind would take from the film, row by row.
cv::Mat draw_pattern(const Pattern& pattern, const FillFit& fit, const StripGrid& grid) {
  cv::Mat map = fit.maps.per_thickness.mul(fit.maps.blurred);
  if (pattern.kind == VoidKind::across) return map;
  const FillModel& model = fit.model;
  for (int i = fit.first_row; i < fit.last_row; ++i) {
    const double s = grid.s_px(i);
    const double r = std::max(1.0, model.radius_px(s));
    const double c = model.centre_px(s);
    double* out = map.ptr<double>(i);
    const double* slope = fit.maps.per_thickness.ptr<double>(i);
    const double* q = fit.maps.blurred.ptr<double>(i);
    const int middle = std::clamp(static_cast<int>(std::lround(grid.column_of(c))), 0, grid.columns - 1);
    for (int j = 0; j < grid.columns; ++j) {
      if (q[j] == 0.0) continue;  // beside the fill and its blur
      const double n = grid.n_px(j) - c;
      if (pattern.kind == VoidKind::inside) {
        // The shadow of a round bubble, blurred, is near a Gaussian of the same area and variance.
        const double rho = pattern.width * r;
        const double sd = std::sqrt(0.25 * rho * rho + model.blur_px * model.blur_px);
        const double peak = 1.5708 * rho / (2.5066 * sd);
        out[j] = slope[j] * q[middle] * std::min(1.0, peak) * std::exp(-0.5 * n * n / (sd * sd));
      } else {
        const double side = pattern.place > 0.0 ? n : -n;
        const double soft = std::max(0.15 * r, 0.6 * model.blur_px);
        out[j] *= 1.0 / (1.0 + std::exp(-(side - 0.35 * r) / soft));
      }
    }
  }
  return map;
}

/// Film less model, the film's curve undone: linear in missing thickness however strong the deficit is.
/// Positive where attenuation is missing.
cv::Mat missing_radiopacity(const FillFit& fit) {
  cv::Mat missing(fit.residual.size(), CV_64FC1, cv::Scalar(0));
  const double bend = fit.model.bend;
  for (int i = fit.first_row; i < fit.last_row; ++i) {
    const double* r = fit.residual.ptr<double>(i);
    const double* slope = fit.maps.per_thickness.ptr<double>(i);
    double* out = missing.ptr<double>(i);
    for (int j = 0; j < missing.cols; ++j) {
      // y = k (1 - exp(-b q)) / b and slope = k exp(-b q), so that q_film - q = -ln(1 - b r / slope) / b.
      const double x = bend * r[j] / slope[j];
      const double change =
          std::fabs(x) < 1e-4 ? r[j] / slope[j] * (1.0 + 0.5 * x) : -std::log(std::max(0.05, 1.0 - x)) / bend;
      out[j] = -slope[j] * change;
    }
  }
  return missing;
}

/// A Gaussian's cumulative distribution by a table: linear between 1/256 of a deviation, within 1e-6.
class BlurredEdge {
 public:
  explicit BlurredEdge(double blur) : per_px_(256.0 / blur) {
    for (int k = -reach; k <= reach; ++k) table_.push_back(0.5 * std::erfc(-k / (256.0 * 1.41421356237)));
  }
  double at(double distance_px) const {
    const double x = distance_px * per_px_ + reach;
    if (x <= 0.0) return 0.0;
    if (x >= 2.0 * reach) return 1.0;
    const auto k = static_cast<std::size_t>(x);
    return table_[k] + (x - static_cast<double>(k)) * (table_[k + 1] - table_[k]);
  }

 private:
  static constexpr int reach = 5 * 256;
  double per_px_;
  std::vector<double> table_;
};

/// How a gap that takes the share `deficit` of a fill of optical depth `depth` shows in what is missing
/// where the blurred box has the height `w`: the exposure is blurred, not the attenuation, so that a deep
/// gap looks longer than it is.
struct Shade {
  double depth = 0.0;    ///< optical depth of the fill there
  double deficit = 0.0;  ///< of it that is missing; 0: shallow

  double shown(double w) const {
    if (deficit < 0.05 || depth < 0.01 || w <= 0.0) return w;
    const double filled = std::exp(-depth);
    const double gap = std::exp(-depth * (1.0 - deficit));
    return (1.0 + std::log(filled + (gap - filled) * w) / depth) / deficit;
  }
};

/// A gap of given ends as the film's blur along the canal leaves it, row by row from `first`.
struct Box {
  double from = 0.0, to = 0.0;
  std::size_t first = 0;
  std::vector<double> height;
};

/// Rows of a series by place; all series of a fill have the same ones.
struct Rows {
  double first_px = 0.0, step_px = 1.0;
  std::size_t count = 0;

  /// The first row at or above s.
  std::size_t at(double s) const {
    const double row = std::ceil((s - first_px) / step_px);
    return static_cast<std::size_t>(std::clamp(row, 0.0, static_cast<double>(count)));
  }
  double s_px(std::size_t i) const { return first_px + static_cast<double>(i) * step_px; }
};

Box make_box(const Rows& rows, const BlurredEdge& edge, double blur, double from, double to,
             const Shade& shade) {
  Box box{from, to, rows.at(from - 4.0 * blur), {}};
  const std::size_t end = rows.at(to + 4.0 * blur);
  for (std::size_t i = box.first; i < end; ++i)
    box.height.push_back(shade.shown(edge.at(rows.s_px(i) - from) - edge.at(rows.s_px(i) - to)));
  return box;
}

/// Sums over a series' rows before each row, with which a box's baseline costs the same however long it is.
struct Sums {
  std::vector<double> uu, uus, uuss;  ///< strength squared, times s, times s squared
  std::vector<double> ur, urs;        ///< strength times response, times s
  std::vector<double> served;         ///< rows of any strength

  explicit Sums(const RowSeries& series) {
    for (std::vector<double>* sum : {&uu, &uus, &uuss, &ur, &urs, &served}) sum->assign(1, 0.0);
    for (std::size_t i = 0; i < series.s_px.size(); ++i) {
      const double u = series.strength[i];
      const double s = series.s_px[i];
      uu.push_back(uu.back() + u * u);
      uus.push_back(uus.back() + u * u * s);
      uuss.push_back(uuss.back() + u * u * s * s);
      ur.push_back(ur.back() + u * series.response[i]);
      urs.push_back(urs.back() + u * series.response[i] * s);
      served.push_back(served.back() + (u > 0.0 ? 1.0 : 0.0));
    }
  }
};

double between(const std::vector<double>& sum, std::size_t from, std::size_t to) {
  return to > from ? sum[to] - sum[from] : 0.0;
}

struct Match {
  double z = 0.0;
  double amplitude = 0.0;
  double u_amplitude = 0.0;
};

/// What every match of a fill has in common, px.
struct Looking {
  Rows rows;
  double blur = 1.0;
  double baseline = 1.0;
};

/// Strength of a box in a series, against a baseline that slopes along the canal. `ratio`: of the correlated
/// to the independent variance; `floor_share`: what the amplitude is never surer than.
Match match(const RowSeries& series, const Sums& sums, const Looking& looking, const Box& box,
            double floor_share, double ratio) {
  Match m;
  const Rows& rows = looking.rows;
  const double aside = looking.baseline + 2.0 * looking.blur;
  const std::size_t begin = rows.at(box.from - aside);
  const std::size_t end = rows.at(box.to + aside);
  if (end < begin + 5) return m;
  const double outside = between(sums.served, begin, rows.at(box.from - looking.blur)) +
                         between(sums.served, rows.at(box.to + looking.blur), end);
  const std::size_t in_from = rows.at(box.from - 0.5);
  const std::size_t in_to = rows.at(box.to + 0.5);
  const double inside = between(sums.served, in_from, in_to);
  if (outside < 5.0 || inside < 0.7 * static_cast<double>(in_to - in_from)) return m;
  const double middle = 0.5 * (box.from + box.to);
  double x0 = 0, x1 = 0, bb = 0, br = 0;
  for (std::size_t k = 0; k < box.height.size(); ++k) {
    const std::size_t i = box.first + k;
    const double u = series.strength[i];
    const double shown = u * box.height[k];
    x0 += u * shown;
    x1 += u * shown * (rows.s_px(i) - middle);
    bb += shown * shown;
    br += shown * series.response[i];
  }
  const double b0 = between(sums.uu, begin, end);
  const double s1 = between(sums.uus, begin, end);
  const double b1 = s1 - middle * b0;
  const double b2 = between(sums.uuss, begin, end) - middle * (2.0 * s1 - middle * b0);
  const double r0 = between(sums.ur, begin, end);
  const double r1 = between(sums.urs, begin, end) - middle * r0;
  // With fill on one side only, the slope can't be told from the gap: a level alone then.
  const double length = box.to - box.from + 2.0 * aside;
  const double det = b0 * b2 - b1 * b1;
  const bool sloped = det > 1e-9 * b0 * b0 * length * length;
  const double level = sloped ? (b2 * x0 - b1 * x1) / det : x0 / std::max(b0, 1e-30);
  const double tilt = sloped ? (b0 * x1 - b1 * x0) / det : 0.0;
  const double tt = bb - level * x0 - tilt * x1;
  if (tt <= 0.0) return m;
  m.amplitude = (br - level * r0 - tilt * r1) / tt;
  m.u_amplitude = std::hypot(series.noise * std::sqrt(ratio / tt), floor_share);
  m.z = m.amplitude / m.u_amplitude;
  return m;
}

/// Ratio of the correlated to the independent variance of a box's amplitude, for a box of a length in
/// the middle of the fill: it depends on little else.
double correlation_ratio(const RowSeries& series, const BlurredEdge& edge, double length,
                         double baseline_px) {
  const double middle = series.s_px[series.s_px.size() / 2];
  std::vector<double> w;
  double white = 0.0;
  for (const double s : series.s_px) {
    if (std::fabs(s - middle) > 0.5 * length + baseline_px) continue;
    w.push_back(edge.at(s - middle + 0.5 * length) - edge.at(s - middle - 0.5 * length) -
                length / (length + 2.0 * baseline_px));
    white += w.back() * w.back();
  }
  const double independent = series.noise * series.noise * white;
  return independent > 0.0 ? variance_of_sum(series, w) / independent : 1.0;
}

struct Candidate {
  std::size_t pattern = 0, length = 0;
  double from = 0.0, to = 0.0;
  Match found;
};

void take_out(std::vector<RowSeries>& series, const Candidate& c, double guard) {
  for (RowSeries& s : series)
    for (std::size_t i = 0; i < s.s_px.size(); ++i)
      if (s.s_px[i] > c.from - guard && s.s_px[i] < c.to + guard) {
        s.response[i] = 0.0;
        s.strength[i] = 0.0;
      }
}

}  // namespace

std::vector<VoidFound> find_voids(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                  const std::vector<std::pair<double, double>>& rows_out) {
  const StripGrid& grid = followed.strip.grid;
  const double mm = film.mm_per_px;
  const double blur = fit.model.blur_px;
  std::vector<VoidFound> voids;
  const double low = fit.model.end_px + std::min(fit.model.cap_px, 0.3 / mm) + tip_mm / mm;
  const int first = std::clamp(static_cast<int>(grid.row_of(fit.model.end_px + 0.15 / mm)) + 1, fit.first_row,
                               fit.last_row);
  if (fit.last_row - first < 20) return voids;
  const double high = grid.s_px(fit.last_row - 1) - 0.1 / mm;

  const cv::Mat missing = missing_radiopacity(fit);
  std::vector<RowSeries> series;
  for (const Pattern& pattern : patterns) {
    series.push_back(row_series(grid, missing, draw_pattern(pattern, fit, grid), fit.part, first,
                                fit.last_row, correlated_mm / mm));
    for (const auto& [from, to] : rows_out)
      for (std::size_t i = 0; i < series.back().s_px.size(); ++i)
        if (series.back().s_px[i] >= from && series.back().s_px[i] <= to) {
          series.back().response[i] = 0.0;
          series.back().strength[i] = 0.0;
        }
  }
  const double looks = std::max(2.0, (high - low) * mm / 0.1 * 3.0);
  const double penalty = 2.0 * std::log(looks);
  const double step = 0.03 / mm;
  const double baseline = baseline_mm / mm;

  const Looking looking{{series[0].s_px.front(), grid.step_px, series[0].s_px.size()}, blur, baseline};
  const BlurredEdge edge(blur);
  std::vector<Sums> sums(series.begin(), series.end());

  // Every place and size once; after a find, again where it lies in the way.
  std::vector<Candidate> looked;
  std::vector<std::array<double, lengths_mm.size()>> ratio(patterns.size());
  for (std::size_t l = 0; l < lengths_mm.size(); ++l) {
    const double length = lengths_mm[l] / mm;
    for (std::size_t p = 0; p < patterns.size(); ++p)
      ratio[p][l] = correlation_ratio(series[p], edge, length, baseline);
    const double stride = std::max(step, 0.12 * length);
    for (double middle = low; middle <= high; middle += stride) {
      const double from = middle - 0.5 * length;
      const double to = middle + 0.5 * length;
      if (from < low - 0.2 / mm || to > high + 0.2 / mm) continue;
      const Box box = make_box(looking.rows, edge, blur, from, to, {});
      for (std::size_t p = 0; p < patterns.size(); ++p)
        looked.push_back({p, l, from, to, match(series[p], sums[p], looking, box, uneven, ratio[p][l])});
    }
  }

  while (voids.size() < most_voids) {
    const auto value_of = [&](const Candidate& c) {
      return c.found.amplitude > 0.0
                 ? c.found.z * (patterns[c.pattern].kind == VoidKind::across ? 1.0 : across_preference)
                 : 0.0;
    };
    const auto top =
        std::max_element(looked.begin(), looked.end(),
                         [&](const Candidate& a, const Candidate& b) { return value_of(a) < value_of(b); });
    if (top == looked.end() || value_of(*top) <= 0.0) break;
    const Candidate best = *top;
    const double z2 = best.found.z * best.found.z - penalty;
    if (z2 < least_score * least_score) break;

    // Ends by steepest improvement of what the box explains, in steps down to a fiftieth of a mm.
    Candidate fine = best;
    const double spread = ratio[best.pattern][best.length];
    // A fill's mean chord is pi / 4 of its diameter.
    const double diameter = 2.0 * fit.model.radius_px(0.5 * (best.from + best.to));
    const Shade shade{fit.model.absorption * 0.7854 * diameter, std::clamp(best.found.amplitude, 0.0, 1.0)};
    const auto matched = [&](double from, double to, double floor_share) {
      return match(series[fine.pattern], sums[fine.pattern], looking,
                   make_box(looking.rows, edge, blur, from, to, shade), floor_share, spread);
    };
    Match now = matched(fine.from, fine.to, 0.0);
    for (double d = 0.06 / mm; d > 0.004 / mm; d *= 0.5) {
      bool moved = true;
      for (int turn = 0; turn < 30 && moved; ++turn) {
        moved = false;
        for (const auto& [df, dt] :
             {std::pair{d, 0.0}, std::pair{-d, 0.0}, std::pair{0.0, d}, std::pair{0.0, -d}}) {
          const double from = fine.from + df;
          const double to = fine.to + dt;
          if (to - from < 0.04 / mm) continue;
          const Match m = matched(from, to, 0.0);
          if (m.amplitude <= 1.1 && m.z > now.z + 1e-9) {
            fine.from = from;
            fine.to = to;
            now = m;
            moved = true;
          }
        }
      }
    }
    fine.found = matched(fine.from, fine.to, uneven);

    VoidFound v;
    v.from_px = fine.from;
    v.to_px = fine.to;
    v.deficit = std::clamp(fine.found.amplitude, 0.0, 1.0);
    v.u_deficit = fine.found.u_amplitude;
    v.score = std::sqrt(std::max(0.0, z2));
    const Pattern& pattern = patterns[fine.pattern];
    v.kind = pattern.kind;
    const double s = 0.5 * (fine.from + fine.to);
    const double r = fit.model.radius_px(s);
    v.offset_px = fit.model.centre_px(s) + pattern.place * r;
    v.width_px = pattern.width * 2.0 * r;
    v.u_width_px = (pattern.kind == VoidKind::across ? 0.1 : 0.35) * v.width_px;
    // An end's place: the amplitude's noise over the box's slope at its edge (a Gaussian's height), two ends.
    const double per_px = 1.0 / (2.5066 * blur);
    v.u_length_px =
        std::sqrt(2.0) * std::min(fine.found.u_amplitude / std::max(0.02, v.deficit) / per_px *
                                      std::sqrt(std::max(1.0, (fine.to - fine.from) / (2.5 * blur))),
                                  fine.to - fine.from);
    voids.push_back(v);
    take_out(series, fine, 2.5 * blur);
    sums = std::vector<Sums>(series.begin(), series.end());
    for (Candidate& c : looked)
      if (c.from < fine.to + 2.0 * baseline && c.to > fine.from - 2.0 * baseline)
        c.found = match(series[c.pattern], sums[c.pattern], looking,
                        make_box(looking.rows, edge, blur, c.from, c.to, {}), uneven,
                        ratio[c.pattern][c.length]);
  }
  return voids;
}

}  // namespace canalrule
