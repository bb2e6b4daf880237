#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <utility>
#include <vector>

#include <canalrule/base/fault.hpp>
#include <canalrule/base/side_by_side.hpp>
#include <canalrule/film/quality.hpp>

#include "histogram.hpp"

namespace canalrule {

namespace {

/// So many places at least are looked at: the standard error of the median of their magnitudes is 0.5 %.
constexpr double wanted_places = 50'000.0;
/// The square root of the sum of the mask's squares, 1 + 4 + 1 + 4 + 16 + 4 + 1 + 4 + 1.
constexpr double mask_norm = 6.0;
/// The median of the magnitude of a standard normal variable.
constexpr double normal_median = 0.674489750196;

/// One grey level of the stored values; 0 where the film doesn't say.
double grey_step(const Film& film) {
  if (film.bits_stored <= 0) return 0.0;
  return (film.highest_grey - film.lowest_grey) / (std::ldexp(1.0, film.bits_stored) - 1.0);
}

class Places {
 public:
  Places(const Film& film, const ClippedEnds& ends)
      : film_(film),
        floor_(static_cast<float>(ends.floor.value_or(-std::numeric_limits<float>::infinity()))),
        ceiling_(static_cast<float>(ends.ceiling.value_or(std::numeric_limits<float>::infinity()))) {}

  /// The magnitudes of the mask's answers at a grid of places whose nine pixels all count.
  std::vector<float> magnitudes(std::size_t threads) const {
    const double inner = (film_.grey.rows - 2.0) * (film_.grey.cols - 2.0);
    const int step = std::max(1, static_cast<int>(std::sqrt(inner / wanted_places)));
    const std::size_t bands = std::max<std::size_t>(1, threads);
    std::vector<std::vector<float>> of_band(bands);
    bands_side_by_side((film_.grey.rows - 3) / step + 1, bands, threads, [&](const RowBand& band) {
      std::vector<float>& found = of_band[band.number];
      found.reserve(static_cast<std::size_t>(2.0 * wanted_places) / bands);
      for (int k = band.from; k < band.to; ++k) add_row(1 + k * step, step, found);
    });
    std::vector<float> all = std::move(of_band.front());
    for (std::size_t k = 1; k < bands; ++k) all.insert(all.end(), of_band[k].begin(), of_band[k].end());
    return all;
  }

 private:
  using Nine = std::array<float, 9>;

  void add_row(int row, int step, std::vector<float>& found) const {
    const float* above = film_.grey.ptr<float>(row - 1);
    const float* here = film_.grey.ptr<float>(row);
    const float* below = film_.grey.ptr<float>(row + 1);
    for (int column = 1; column + 1 < film_.grey.cols; column += step) {
      const Nine nine{above[column - 1], above[column], above[column + 1],
                      here[column - 1],  here[column],  here[column + 1],
                      below[column - 1], below[column], below[column + 1]};
      if (unclipped(nine) && usable(row, column)) found.push_back(std::abs(answer(nine)));
    }
  }

  bool unclipped(const Nine& nine) const {
    bool all = true;
    for (const float value : nine) all = all && value > floor_ && value < ceiling_;
    return all;
  }

  bool usable(int row, int column) const {
    return film_.unusable.empty() ||
           cv::countNonZero(film_.unusable(cv::Rect(column - 1, row - 1, 3, 3))) == 0;
  }

  static float answer(const Nine& n) {
    return n[0] - 2 * n[1] + n[2] - 2 * (n[3] - 2 * n[4] + n[5]) + n[6] - 2 * n[7] + n[8];
  }

  const Film& film_;
  float floor_;
  float ceiling_;
};

/// The median of magnitudes that are whole multiples of a step, each taken as spread evenly over its
/// step, so that a film of few levels still gives a graded answer.
double graded_median(std::vector<float>& magnitudes, double step) {
  const std::size_t half = magnitudes.size() / 2;
  std::nth_element(magnitudes.begin(), magnitudes.begin() + static_cast<std::ptrdiff_t>(half),
                   magnitudes.end());
  const double median = static_cast<double>(magnitudes[half]);
  if (step <= 0.0) return median;
  const double from = std::max(0.0, median - step / 2);
  const double to = median + step / 2;
  std::size_t below = 0, at = 0;
  for (const float magnitude : magnitudes) {
    const double value = static_cast<double>(magnitude);
    if (value < from) ++below;
    if (value >= from && value < to) ++at;
  }
  return from + (to - from) * (static_cast<double>(magnitudes.size()) / 2 - static_cast<double>(below)) /
                    static_cast<double>(at);
}

double noise_between(const Film& film, const ClippedEnds& ends, std::size_t threads) {
  const double step = grey_step(film);
  const double rounding = step / std::sqrt(12.0);
  std::vector<float> magnitudes = film.grey.rows < 3 ? std::vector<float>() : Places(film, ends).magnitudes(threads);
  if (magnitudes.empty()) return rounding;
  return std::max(rounding, graded_median(magnitudes, step) / mask_norm / normal_median);
}

}  // namespace

WholeFilm look_at_whole(const Film& film, std::size_t threads) {
  WholeFilm whole;
  whole.clipping = find_clipping(film, threads);
  whole.noise_grey = noise_between(film, {whole.clipping.floor, whole.clipping.ceiling}, threads);
  return whole;
}

}  // namespace canalrule
