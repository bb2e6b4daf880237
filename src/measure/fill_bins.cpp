#include "fill_bins.hpp"

#include <algorithm>
#include <cmath>

#include "fitted_line.hpp"

namespace canalrule {

namespace {

constexpr int strip_rows = 2;  ///< in a row of bins: short beside the film's blur
constexpr std::size_t beside = 3, within = bins_across - 2 * beside;
// Chosen here, tests/truth/voids.cpp: film beside the fill that tells of the pattern behind it, mm; lengths over which
// a background and a radius are taken to change slowly, mm, and how far a radius that a void draws in may leave its
// line, mm; least share of a bin that takes part, and bins of a row.
constexpr double flank_mm = 0.4;
constexpr double slow_mm = 1.0;
constexpr double slow_radius_mm = 1.2, most_quick_mm = 0.03;
constexpr double least_share = 0.4;
constexpr std::ptrdiff_t least_bins = 5;

/// Means over a bin of a row.
struct Seen {
  double left = 0.0;        ///< film less model, background and the row's own line
  double line = 0.0;        ///< background and line
  double blurred = 0.0;     ///< thickness, px
  double per_thickness = 0.0;
};
using SeenRow = std::array<Seen, bins_across>;

class Binning {
 public:
  Binning(const Strip& strip, const FillFit& fit, double mm)
      : strip_(strip), fit_(fit), mm_(mm), columns_(static_cast<std::size_t>(strip.grid.columns)) {
    for (std::vector<double>* of : {&blurred_, &slope_, &left_, &line_, &radius_, &part_}) of->assign(columns_, 0.0);
    for (std::vector<double>& of : taken_) of.assign(columns_, 0.0);
  }

  BinRow row(int first, SeenRow& seen) {
    const StripGrid& grid = strip_.grid;
    BinRow row;
    row.s_px = grid.s_px(first + 0.5 * (strip_rows - 1));
    const FillModel& model = fit_.model;
    const double centre = model.centre_px(row.s_px);
    row.centre = centre * mm_;
    row.outside = outside_share(model, row.s_px);
    const double inside = std::max(2.0, model.radius_px(row.s_px)) + model.blur_px;
    const double flank = flank_mm / mm_;
    read(first, centre, inside + flank, row.s_px);
    for (std::size_t k = 0; k < bins_across; ++k) {
      const auto edge = [&](std::size_t at) {
        if (at <= beside) return -inside - flank * static_cast<double>(beside - at) / beside;
        if (at >= beside + within) return inside + flank * static_cast<double>(at - beside - within) / beside;
        return inside * (2.0 * static_cast<double>(at - beside) / within - 1.0);
      };
      const double from = edge(k), to = edge(k + 1);
      row.place[k] = 0.5 * (from + to) * mm_;
      row.width[k] = (to - from) * mm_;
      fill_bin(row, k, centre + from, centre + to, seen[k]);
    }
    return row;
  }

 private:
  /// What the row's columns show, and what a void would take of them.
  void read(int first, double centre, double reach, double s) {
    const StripGrid& grid = strip_.grid;
    const auto column = [&](double n) { return std::clamp(static_cast<int>(grid.column_of(n)), 1, grid.columns - 2); };
    low_ = column(centre - reach - grid.step_px);
    high_ = column(centre + reach + grid.step_px) + 1;
    for (int j = low_ - 1; j <= high_; ++j) {
      const auto at = static_cast<std::size_t>(j);
      double q = 0.0, slope = 0.0, left = 0.0, film = 0.0, radius = 0.0, part = 1.0;
      for (int i = first; i < first + strip_rows; ++i) {
        q += fit_.maps.blurred.at<double>(i, j) / strip_rows;
        slope += fit_.maps.per_thickness.at<double>(i, j) / strip_rows;
        left += fit_.residual.at<double>(i, j) / strip_rows;
        film += (static_cast<double>(strip_.value.at<float>(i, j)) - fit_.maps.value.at<double>(i, j)) / strip_rows;
        radius += fit_.maps.by_radius.at<double>(i, j) / strip_rows;
        part = std::min(part, fit_.part.at<double>(i, j));
      }
      blurred_[at] = q;
      slope_[at] = slope;
      left_[at] = left;
      line_[at] = film - left;
      radius_[at] = radius;
      part_[at] = part;
    }
    const auto middle = static_cast<std::size_t>(column(centre));
    for (std::size_t p = 0; p < patterns.size(); ++p)
      for (int j = low_; j < high_; ++j) {
        const auto at = static_cast<std::size_t>(j);
        const double n = grid.n_px(j) - centre;
        taken_[p][at] = thickness_taken(patterns[p], fit_.model, s, n, blurred_[at], blurred_[middle]);
      }
  }

  void fill_bin(BinRow& row, std::size_t k, double from, double to, Seen& seen) const {
    const StripGrid& grid = strip_.grid;
    double sum = 0.0, squares = 0.0;
    for (int j = low_; j < high_; ++j) {
      const double n = grid.n_px(j), half = 0.5 * grid.step_px;
      const double overlap = std::min(n + half, to) - std::max(n - half, from);
      const auto at = static_cast<std::size_t>(j);
      if (overlap <= 0.0 || part_[at] <= 0.0 || slope_[at] <= 0.0) continue;
      const double w = overlap / grid.step_px;
      sum += w;
      squares += w * w;
      seen.left += w * left_[at];
      seen.line += w * line_[at];
      seen.blurred += w * blurred_[at];
      seen.per_thickness += w * slope_[at];
      row.by_radius[k] += w * radius_[at] / slope_[at];
      row.by_centre[k] += w * (blurred_[at - 1] - blurred_[at + 1]) / (2.0 * grid.step_px);
      for (std::size_t p = 0; p < patterns.size(); ++p) row.taken[p][k] += w * taken_[p][at];
    }
    row.serves[k] = sum * grid.step_px >= least_share * (to - from);
    if (sum <= 0.0) return;
    for (double* of :
         {&seen.left, &seen.line, &seen.blurred, &seen.per_thickness, &row.by_radius[k], &row.by_centre[k]})
      *of /= sum;
    for (Across& of : row.taken) of[k] *= mm_ / sum;
    // Photons behind the fill are fewer, and what of the film's curve stands for a thickness is less.
    const double exposure = std::exp(-fit_.model.absorption * seen.blurred);
    row.noise[k] = squares / (sum * sum * strip_rows) * ((1.0 - usual_scatter) * exposure + usual_scatter) /
                   (exposure * exposure);
  }

  const Strip& strip_;
  const FillFit& fit_;
  double mm_;
  std::size_t columns_;
  int low_ = 0, high_ = 0;
  std::vector<double> blurred_, slope_, left_, line_, radius_, part_;
  std::array<std::vector<double>, patterns.size()> taken_;
};

/// The background of each bin less its mean over a Gaussian along the canal.
void keep_quick(const std::vector<BinRow>& rows, std::vector<SeenRow>& seen, double row_mm) {
  const std::vector<double> weight = half_gaussian(slow_mm / row_mm);
  const auto reach = static_cast<std::ptrdiff_t>(weight.size()) - 1;
  const auto count = static_cast<std::ptrdiff_t>(rows.size());
  std::vector<double> slow(rows.size());
  for (std::size_t k = 0; k < bins_across; ++k) {
    for (std::ptrdiff_t i = 0; i < count; ++i) {
      double sum = 0.0, mean = 0.0;
      for (std::ptrdiff_t j = std::max<std::ptrdiff_t>(0, i - reach); j <= std::min(count - 1, i + reach); ++j) {
        if (!rows[static_cast<std::size_t>(j)].serves[k]) continue;
        const double w = weight[static_cast<std::size_t>(std::abs(i - j))];
        sum += w;
        mean += w * seen[static_cast<std::size_t>(j)][k].line;
      }
      slow[static_cast<std::size_t>(i)] = sum > 0.0 ? mean / sum : 0.0;
    }
    for (std::size_t i = 0; i < rows.size(); ++i) seen[i][k].line -= slow[i];
  }
}

/// The fitted radius less a line through it about each row, weighted by a Gaussian along the canal, mm; nought where it
/// is a step of the width.
std::vector<double> quick_radius(const std::vector<BinRow>& rows, const FillModel& model, double mm, double row_mm) {
  const std::vector<double> by_distance = half_gaussian(slow_radius_mm / row_mm);
  const auto reach = static_cast<std::ptrdiff_t>(by_distance.size()) - 1;
  const auto count = static_cast<std::ptrdiff_t>(rows.size());
  std::vector<double> radius, quick, away, near, weight;
  for (const BinRow& row : rows) radius.push_back(model.radius_px(row.s_px) * mm);
  for (std::ptrdiff_t i = 0; i < count; ++i) {
    for (std::vector<double>* of : {&away, &near, &weight}) of->clear();
    for (std::ptrdiff_t j = std::max<std::ptrdiff_t>(0, i - reach); j <= std::min(count - 1, i + reach); ++j) {
      if (!rows[static_cast<std::size_t>(j)].useful()) continue;
      away.push_back(static_cast<double>(j - i) * row_mm);
      near.push_back(radius[static_cast<std::size_t>(j)]);
      weight.push_back(by_distance[static_cast<std::size_t>(std::abs(j - i))]);
    }
    const double own = radius[static_cast<std::size_t>(i)];
    const double d = away.empty() ? 0.0 : own - line_through(away, near, weight).level;
    const double left = std::max(0.0, 1.0 - d * d / (most_quick_mm * most_quick_mm));
    quick.push_back(d * left * left);
  }
  return quick;
}

}  // namespace

std::vector<double> half_gaussian(double deviation_rows) {
  std::vector<double> weight;
  for (double d = 0.0; d <= 3.0 * deviation_rows; d += 1.0)
    weight.push_back(std::exp(-0.5 * d * d / (deviation_rows * deviation_rows)));
  return weight;
}

bool BinRow::useful() const { return std::count(serves.begin(), serves.end(), true) >= least_bins; }

FillBins bin_fill(const Strip& strip, const FillFit& fit, int first, int last, double mm, const Stretches& out) {
  FillBins bins;
  bins.row_mm = strip_rows * strip.grid.step_px * mm;
  Binning binning(strip, fit, mm);
  std::vector<SeenRow> seen;
  for (int i = first; i + strip_rows <= last; i += strip_rows) {
    seen.emplace_back();
    bins.rows.push_back(binning.row(i, seen.back()));
    BinRow& row = bins.rows.back();
    for (const auto& [from, to] : out)
      if (row.s_px > from && row.s_px < to) row.serves.fill(false);
  }
  keep_quick(bins.rows, seen, bins.row_mm);
  const std::vector<double> quick = quick_radius(bins.rows, fit.model, mm, bins.row_mm);
  for (std::size_t i = 0; i < bins.rows.size(); ++i) {
    BinRow& row = bins.rows[i];
    const FilmCurve curve = curve_at(fit.model, row.s_px);
    for (std::size_t k = 0; k < bins_across; ++k) {
      const Seen& bin = seen[i][k];
      if (row.serves[k])
        row.missing[k] = -mm * curve.thickness_change(std::exp(-curve.absorption * bin.blurred), bin.per_thickness,
                                                      bin.left + bin.line) -
                         row.by_radius[k] * quick[i];
    }
  }
  return bins;
}

}  // namespace canalrule
