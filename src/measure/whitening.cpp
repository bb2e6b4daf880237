#include "whitening.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "dot.hpp"

namespace canalrule {

namespace {

constexpr std::size_t n = bins_across, past = (Whitening::lags.size() - 1) * n;

/// Rows that one step serves: the fill changes little over them (0.6 mm). Chosen here; tests/truth/voids.cpp.
constexpr std::size_t alike_rows = 12;

template <std::size_t size>
using Matrix = std::array<std::array<double, size>, size>;

/// Lower factor of a symmetric matrix of `order` of which the lower half is given, in place.
template <std::size_t size>
void factorise(Matrix<size>& a, std::size_t order) {
  for (std::size_t i = 0; i < order; ++i)
    for (std::size_t j = 0; j <= i; ++j) {
      const double left = a[i][j] - dot(a[i].data(), a[j].data(), j);
      a[i][j] = i == j ? std::sqrt(std::max(left, 1e-14)) : left / a[j][j];
    }
}

/// The lower factor's inverse times a column, in place.
template <std::size_t size>
void solve_lower(const Matrix<size>& lower, std::size_t order, std::array<double, size>& x) {
  for (std::size_t i = 0; i < order; ++i) x[i] = (x[i] - dot(lower[i].data(), x.data(), i)) / lower[i][i];
}

template <std::size_t size>
void solve_upper(const Matrix<size>& lower, std::size_t order, std::array<double, size>& x) {
  for (std::size_t i = order; i-- > 0;) {
    x[i] /= lower[i][i];
    for (std::size_t j = 0; j < i; ++j) x[j] -= lower[i][j] * x[i];
  }
}

/// A bin that serves, in a row before.
struct Earlier {
  std::size_t lag, bin;  ///< lag: its place among the lags
};

std::vector<Earlier> serving_before(const FillBins& bins, std::size_t row) {
  std::vector<Earlier> serving;
  for (std::size_t a = 1; a < Whitening::lags.size() && Whitening::lags[a] <= row; ++a) {
    const BinRow& before = bins.rows[row - Whitening::lags[a]];
    if (!before.useful()) continue;
    for (std::size_t j = 0; j < n; ++j)
      if (before.serves[j]) serving.push_back({a, j});
  }
  return serving;
}

/// What a row says beside the rows before it; those that don't serve tell nothing.
Whitening::Step step_at(const FillBins& bins, const RowCovariance& covariance, std::size_t row) {
  constexpr auto lags = Whitening::lags;
  const std::vector<Earlier> serving = serving_before(bins, row);
  const std::size_t order = serving.size();
  std::array<std::array<std::optional<Square>, lags.size()>, lags.size()> between;
  const auto covariances = [&](std::size_t a, std::size_t b) -> const Square& {
    std::optional<Square>& both = between[a][b];
    if (!both) both = covariance.between(row - lags[a], row - lags[b]);
    return *both;
  };
  Matrix<past> known;
  std::array<std::array<double, past>, n> promise{};
  for (std::size_t p = 0; p < order; ++p) {
    const Earlier& one = serving[p];
    for (std::size_t q = 0; q <= p; ++q) known[p][q] = covariances(one.lag, serving[q].lag)[one.bin][serving[q].bin];
    for (std::size_t i = 0; i < n; ++i) promise[i][p] = covariances(0, one.lag)[i][one.bin];
  }
  factorise(known, order);
  Square left = covariances(0, 0);
  for (auto& one : promise) solve_lower(known, order, one);
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j <= i; ++j) left[i][j] -= dot(promise[i].data(), promise[j].data(), order);
  for (auto& one : promise) solve_upper(known, order, one);
  factorise(left, n);

  Whitening::Step step{};
  for (std::size_t j = 0; j < n; ++j) {
    if (!bins.rows[row].serves[j]) continue;
    Across unit{};
    unit[j] = 1.0;
    solve_lower(left, n, unit);
    for (std::size_t i = 0; i < n; ++i) step[0][i][j] = unit[i];
  }
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t k = 0; k <= i; ++k)
      for (std::size_t p = 0; p < order; ++p)
        step[serving[p].lag][i][serving[p].bin] -= step[0][i][k] * promise[k][p];
  return step;
}

}  // namespace

Whitening::Whitening(const FillBins& bins, const Texture& texture) {
  const RowCovariance covariance(bins, texture);
  const auto same = [&](std::size_t a, std::size_t b) {
    for (const std::size_t k : lags) {
      if ((a < k) != (b < k)) return false;
      if (a >= k && bins.rows[a - k].serves != bins.rows[b - k].serves) return false;
    }
    return true;
  };
  std::vector<std::size_t> made_for;  // row of each step
  const auto alike = [&](std::size_t row) -> std::optional<std::size_t> {
    for (std::size_t k = made_for.size(); k-- > 0 && row - made_for[k] < alike_rows;)
      if (same(row, made_for[k])) return k;
    return std::nullopt;
  };
  for (std::size_t i = 0; i < bins.rows.size(); ++i) {
    if (!bins.rows[i].useful()) {
      of_row_.push_back(-1);
      continue;
    }
    std::optional<std::size_t> made = alike(i);
    if (!made) {
      made = steps_.size();
      steps_.push_back(step_at(bins, covariance, i));
      made_for.push_back(i);
    }
    of_row_.push_back(static_cast<std::ptrdiff_t>(*made));
  }
}

const Whitening::Step* Whitening::step(std::size_t row) const {
  return of_row_[row] < 0 ? nullptr : &steps_[static_cast<std::size_t>(of_row_[row])];
}

}  // namespace canalrule
