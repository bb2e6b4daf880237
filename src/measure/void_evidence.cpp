#include "void_evidence.hpp"

#include <algorithm>
#include <cmath>

#include "dot.hpp"

namespace canalrule {

namespace {

constexpr std::size_t n = bins_across;

/// Deviations at which a whitened value is clipped where their variance is measured. Chosen here;
/// tests/truth/voids.cpp.
constexpr double outlier = 4.0;

// Chosen here; tests/truth/voids.cpp. Whitened values vary as they do near a row, by a Gaussian along the canal of this
// deviation, mm, as far as these tell more than so many values of the whole fill; up to so many times as much as all
// do, for a strong void is among them.
constexpr double near_mm = 1.0, held = 50.0, most_near = 1.3;

/// Adds a matrix times a column to another.
void add_times(const Square& matrix, const Across& column, Across& to) {
  for (std::size_t i = 0; i < n; ++i) to[i] += dot(matrix[i].data(), column.data(), n);
}

/// Sums of products over a row's bins, each by its width, after a level and a slope are taken out of both.
class Flat {
 public:
  explicit Flat(const BinRow& row) : row_(row) {
    for (std::size_t k = 0; k < n; ++k) {
      if (!row.serves[k]) continue;
      s0_ += row.width[k];
      s1_ += row.width[k] * row.place[k];
      s2_ += row.width[k] * row.place[k] * row.place[k];
    }
  }
  double product(const Across& a, const Across& b) const {
    const double det = s0_ * s2_ - s1_ * s1_;
    if (!row_.useful() || det <= 0.0) return 0.0;
    double ab = 0.0, a0 = 0.0, a1 = 0.0, b0 = 0.0, b1 = 0.0;
    for (std::size_t k = 0; k < n; ++k) {
      if (!row_.serves[k]) continue;
      const double wa = row_.width[k] * a[k], wb = row_.width[k] * b[k];
      ab += wa * b[k];
      a0 += wa;
      a1 += wa * row_.place[k];
      b0 += wb;
      b1 += wb * row_.place[k];
    }
    return ab - (a0 * (s2_ * b0 - s1_ * b1) + a1 * (s0_ * b1 - s1_ * b0)) / det;
  }

 private:
  const BinRow& row_;
  double s0_ = 0.0, s1_ = 0.0, s2_ = 0.0;
};

Across transposed_times(const Square& matrix, const Across& column) {
  Across out{};
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j) out[j] += matrix[i][j] * column[i];
  return out;
}

}  // namespace

VoidEvidence::VoidEvidence(const FillBins& bins, const Texture& texture)
    : bins_(bins), whitening_(bins_, texture), weight_(bins.rows.size(), 1.0) {
  constexpr auto lags = Whitening::lags;
  const std::size_t rows = bins_.rows.size();
  pull();
  weigh_rows();
  for (std::size_t p = 0; p < patterns.size(); ++p) {
    // What a row of the pattern makes of itself and of those after it, whitened.
    std::vector<std::array<Across, lags.size()>> shown(rows);
    series_[p].hold.assign(rows, {});
    for (std::size_t i = 0; i < rows; ++i)
      for (std::size_t k = 0; k < lags.size() && i + lags[k] < rows; ++k)
        if (const Whitening::Step* step = whitening_.step(i + lags[k]))
          add_times((*step)[k], bins_.rows[i].taken[p], shown[i][k]);
    for (std::size_t i = 0; i < rows; ++i)
      for (std::size_t k = 0; k < lags.size() && i + lags[k] < rows; ++k)
        for (std::size_t m = 0; m <= k; ++m) {
          const std::size_t l = lags[k] - lags[m];
          series_[p].hold[i][l] += weight_[i + lags[k]] * dot(shown[i][k].data(), shown[i + l][m].data(), n);
        }
  }
  pull();
}

void VoidEvidence::weigh_rows() {
  const std::size_t rows = bins_.rows.size();
  double all = 0.0, count = 0.0;
  for (std::size_t i = 0; i < rows; ++i) {
    all += clipped_[i];
    count += counts_[i];
  }
  if (all <= 0.0) return;
  const double usual = all / count;
  const std::vector<double> by_distance = half_gaussian(near_mm / bins_.row_mm);
  for (std::size_t i = 0; i < rows; ++i) {
    double squares = held * usual, seen = held;
    const std::size_t reach = by_distance.size() - 1;
    for (std::size_t j = i > reach ? i - reach : 0; j < std::min(rows, i + reach + 1); ++j) {
      const double w = by_distance[j > i ? j - i : i - j];
      squares += w * clipped_[j];
      seen += w * counts_[j];
    }
    const double variance = std::min(squares / seen, most_near * usual);
    weight_[i] = 1.0 / (variance * heavier_tails * heavier_tails);
  }
}

void VoidEvidence::take_out(std::size_t pattern, std::size_t first, const std::vector<double>& depth) {
  for (std::size_t k = 0; k < depth.size(); ++k) {
    BinRow& row = bins_.rows[first + k];
    for (std::size_t j = 0; j < n; ++j) row.missing[j] -= depth[k] * row.taken[pattern][j];
  }
  pull();
}

double VoidEvidence::unruly(std::size_t first, std::size_t last) const {
  double squares = 0.0, count = 0.0;
  for (std::size_t i = first; i < last; ++i) {
    squares += squares_[i] * weight_[i];
    count += counts_[i];
  }
  return count > 0.0 ? std::max(1.0, squares * heavier_tails * heavier_tails / count) : 1.0;
}

void VoidEvidence::pull() {
  constexpr auto lags = Whitening::lags;
  squares_.assign(bins_.rows.size(), 0.0);
  clipped_ = counts_ = squares_;
  const std::size_t rows = bins_.rows.size();
  std::vector<Across> information(rows, Across{});
  for (std::size_t i = 0; i < rows; ++i) {
    const Whitening::Step* step = whitening_.step(i);
    if (step == nullptr) continue;
    Across white{};
    for (std::size_t k = 0; k < lags.size() && lags[k] <= i; ++k)
      add_times((*step)[k], bins_.rows[i - lags[k]].missing, white);
    for (std::size_t j = 0; j < n; ++j) {
      if (!bins_.rows[i].serves[j]) continue;
      clipped_[i] += std::min(white[j] * white[j], outlier * outlier);
      squares_[i] += white[j] * white[j];
      counts_[i] += 1.0;
    }
    for (std::size_t k = 0; k < lags.size() && lags[k] <= i; ++k) {
      const Across back = transposed_times((*step)[k], white);
      for (std::size_t j = 0; j < n; ++j) information[i - lags[k]][j] += back[j] * weight_[i];
    }
  }
  for (std::size_t p = 0; p < patterns.size(); ++p) {
    VoidSeries& one = series_[p];
    for (std::vector<double>* of : {&one.pull, &one.plain_pull, &one.plain_hold}) of->assign(rows, 0.0);
    for (std::size_t i = 0; i < rows; ++i) {
      const Across& taken = bins_.rows[i].taken[p];
      const Flat flat(bins_.rows[i]);
      one.pull[i] = dot(information[i].data(), taken.data(), n);
      one.plain_pull[i] = flat.product(taken, bins_.rows[i].missing);
      one.plain_hold[i] = flat.product(taken, taken);
    }
  }
}

}  // namespace canalrule
