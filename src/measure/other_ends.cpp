#include "other_ends.hpp"

#include <algorithm>
#include <cmath>

namespace canalrule {

namespace {

// Chosen here on hard films, seeds 1 to 220; tests/truth/around_the_end.cpp.
constexpr double apart_mm = 0.6;         ///< of the starts from the fitted end
constexpr double at_rest_mm = 0.02;      ///< nearest to a fit's farthest reach that its end counts as found
constexpr double most_deviations = 3.0;  ///< that a residual counts
/// By so much less likely the first end is not the fill's; and how many variances texture, which the fit's noise
/// doesn't hold, makes of one.
constexpr double surely = 12.0;
constexpr double texture_factor = 4.0;

/// Sum of squared residuals over rows [first, last), in variances of another fit's noise, outliers cut.
double misfit(const FillFit& fit, const FillFit& by, int first, int last) {
  const double noise2 = by.noise * by.noise;
  double sum = 0.0;
  for (int i = first; i < last; ++i) {
    const double* r = fit.residual.ptr<double>(i);
    const double* in = fit.part.ptr<double>(i);
    for (int j = 0; j < fit.residual.cols; ++j)
      if (in[j] > 0.0) sum += std::min(r[j] * r[j] / noise2, most_deviations * most_deviations);
  }
  return sum / by.correlation;
}

}  // namespace

std::vector<OtherEnd> other_ends(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                 const Stretches& blocked, const Stretches& voids) {
  const double mm = film.mm_per_px;
  const double reach_mm = FitSettings{}.end_reach_mm - at_rest_mm;
  std::vector<OtherEnd> ends;
  for (const double aside : {-apart_mm, apart_mm}) {
    FillFit start = fit;
    start.model.end_px += aside / mm;
    FillFit other = refit(film, followed, start, blocked, voids);
    if (std::fabs(other.model.end_px - start.model.end_px) * mm > reach_mm) continue;
    const int first = std::max(fit.first_row, other.first_row), last = std::min(fit.last_row, other.last_row);
    const double less_likely = 0.5 * (misfit(other, fit, first, last) - misfit(fit, fit, first, last));
    ends.push_back({std::move(other), less_likely});
  }
  return ends;
}

bool is_likelier(const OtherEnd& other) { return other.less_likely < -surely; }

double spread_over(const std::vector<OtherEnd>& others, double end_px) {
  double total = 1.0, mean = 0.0, square = 0.0;
  for (const OtherEnd& other : others) {
    const double likelihood = std::exp(-std::clamp(other.less_likely, -surely, 10.0 * surely) / texture_factor);
    const double away = other.fit.model.end_px - end_px;
    total += likelihood;
    mean += likelihood * away;
    square += likelihood * away * away;
  }
  mean /= total;
  return std::sqrt(std::max(0.0, square / total - mean * mean));
}

}  // namespace canalrule
