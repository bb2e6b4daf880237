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

/// Lower factor of a symmetric matrix of which the lower half is given, in place.
template <std::size_t size>
void factorise(std::array<std::array<double, size>, size>& a) {
  for (std::size_t i = 0; i < size; ++i)
    for (std::size_t j = 0; j <= i; ++j) {
      const double left = a[i][j] - dot(a[i].data(), a[j].data(), j);
      a[i][j] = i == j ? std::sqrt(std::max(left, 1e-14)) : left / a[j][j];
    }
}

/// The lower factor's inverse times a column, in place.
template <std::size_t size>
void solve_lower(const std::array<std::array<double, size>, size>& lower, std::array<double, size>& x) {
  for (std::size_t i = 0; i < size; ++i) x[i] = (x[i] - dot(lower[i].data(), x.data(), i)) / lower[i][i];
}

template <std::size_t size>
void solve_upper(const std::array<std::array<double, size>, size>& lower, std::array<double, size>& x) {
  for (std::size_t i = size; i-- > 0;) {
    x[i] /= lower[i][i];
    for (std::size_t j = 0; j < i; ++j) x[j] -= lower[i][j] * x[i];
  }
}

using Past = std::array<std::array<double, past>, past>;

/// What a row says beside the rows before it; those that don't serve tell nothing.
Whitening::Step step_at(const FillBins& bins, const RowCovariance& covariance, std::size_t row) {
  constexpr auto lags = Whitening::lags;
  const auto served = [&](std::size_t lag) { return lag <= row && bins.rows[row - lag].useful(); };
  Past known{};
  for (std::size_t i = 0; i < past; ++i) known[i][i] = 1.0;
  std::array<std::array<double, past>, n> promise{};
  for (std::size_t a = 1; a < lags.size(); ++a) {
    if (!served(lags[a])) continue;
    const Square own = covariance.between(row, row - lags[a]);
    for (std::size_t i = 0; i < n; ++i) std::copy(own[i].begin(), own[i].end(), promise[i].begin() + (a - 1) * n);
    for (std::size_t b = 1; b <= a; ++b) {
      if (!served(lags[b])) continue;
      const Square both = covariance.between(row - lags[a], row - lags[b]);
      for (std::size_t i = 0; i < n; ++i)
        std::copy(both[i].begin(), both[i].end(), known[(a - 1) * n + i].begin() + (b - 1) * n);
    }
  }
  factorise(known);
  Square left = covariance.between(row, row);
  for (auto& one : promise) solve_lower(known, one);
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j <= i; ++j) left[i][j] -= dot(promise[i].data(), promise[j].data(), past);
  for (auto& one : promise) solve_upper(known, one);
  factorise(left);

  Whitening::Step step{};
  for (std::size_t j = 0; j < n; ++j) {
    if (!bins.rows[row].serves[j]) continue;
    Across unit{};
    unit[j] = 1.0;
    solve_lower(left, unit);
    for (std::size_t i = 0; i < n; ++i) step[0][i][j] = unit[i];
  }
  for (std::size_t a = 1; a < lags.size(); ++a)
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t k = 0; k <= i; ++k)
        for (std::size_t j = 0; j < n; ++j) step[a][i][j] -= step[0][i][k] * promise[k][(a - 1) * n + j];
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
