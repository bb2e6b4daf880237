#include "soft_edge.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace canalrule {

namespace {

constexpr double place_step_px = 0.5;
constexpr double table_step_px = 0.125;
constexpr std::size_t least_samples = 20;

/// Section of a body behind its end, 0 to 1, `x` px behind it.
double section(double x, double rounding_px) {
  if (x <= 0.0) return 0.0;
  if (x >= rounding_px) return 1.0;
  const double left = 1.0 - x / rounding_px;
  return 1.0 - left * left;
}

/// The blurred section as a table over the distance behind the end.
class Shape {
 public:
  Shape(double rounding_px, double blur_px) {
    low_ = -4.0 * blur_px - 1.0;
    high_ = rounding_px + 4.0 * blur_px + 1.0;
    const int count = static_cast<int>((high_ - low_) / table_step_px) + 2;
    constexpr int taps = 33;
    for (int k = 0; k < count; ++k) {
      const double x = low_ + k * table_step_px;
      double sum = 0.0;
      double weights = 0.0;
      for (int t = 0; t < taps; ++t) {
        const double u = 4.0 * (2.0 * t / (taps - 1) - 1.0);
        const double w = std::exp(-0.5 * u * u);
        sum += w * section(x - u * blur_px, rounding_px);
        weights += w;
      }
      table_.push_back(sum / weights);
    }
  }
  double at(double x) const {
    if (x <= low_) return 0.0;
    if (x >= high_) return 1.0;
    const double place = (x - low_) / table_step_px;
    const auto k = std::min(static_cast<std::size_t>(place), table_.size() - 2);
    const double f = place - static_cast<double>(k);
    return (1.0 - f) * table_[k] + f * table_[k + 1];
  }

 private:
  double low_ = 0.0, high_ = 0.0;
  std::vector<double> table_;
};

struct LinearFit {
  std::array<double, 3> coefficient{};
  double squares = 0.0;  ///< of what is left
  bool good = false;
};

/// y on (1, column, column * away) for up to three functions, by Cramer's rule on the normal equations.
LinearFit solve(const Profile& profile, const std::vector<double>& second, const std::vector<double>& third) {
  double s11 = 0, s12 = 0, s13 = 0, s22 = 0, s23 = 0, s33 = 0, t1 = 0, t2 = 0, t3 = 0, yy = 0;
  for (std::size_t k = 0; k < profile.value.size(); ++k) {
    const double a = second[k], b = third[k], y = profile.value[k];
    s11 += 1.0;
    s12 += a;
    s13 += b;
    s22 += a * a;
    s23 += a * b;
    s33 += b * b;
    t1 += y;
    t2 += a * y;
    t3 += b * y;
    yy += y * y;
  }
  const double det =
      s11 * (s22 * s33 - s23 * s23) - s12 * (s12 * s33 - s23 * s13) + s13 * (s12 * s23 - s22 * s13);
  LinearFit fit;
  if (!(std::fabs(det) > 1e-9 * s11 * std::max(1.0, s22) * std::max(1.0, s33))) return fit;
  fit.coefficient = {
      (t1 * (s22 * s33 - s23 * s23) - s12 * (t2 * s33 - s23 * t3) + s13 * (t2 * s23 - s22 * t3)) / det,
      (s11 * (t2 * s33 - t3 * s23) - t1 * (s12 * s33 - s23 * s13) + s13 * (s12 * t3 - t2 * s13)) / det,
      (s11 * (s22 * t3 - s23 * t2) - s12 * (s12 * t3 - t2 * s13) + t1 * (s12 * s23 - s22 * s13)) / det};
  fit.squares =
      std::max(0.0, yy - fit.coefficient[0] * t1 - fit.coefficient[1] * t2 - fit.coefficient[2] * t3);
  fit.good = true;
  return fit;
}

struct Residual {
  double variance = 0.0;
  double correlation = 1.0;  ///< times by which correlated errors widen variances
};

Residual judge(const std::vector<double>& left, int parameters, double correlated_px) {
  const double n = static_cast<double>(left.size());
  double squares = 0.0;
  for (const double v : left) squares += v * v;
  Residual residual;
  residual.variance = std::max(squares / (n - parameters), 1e-30);
  const auto lags = std::min(left.size() / 3, static_cast<std::size_t>(correlated_px));
  for (std::size_t lag = 1; lag <= lags; ++lag) {
    double sum = 0.0;
    for (std::size_t k = 0; k + lag < left.size(); ++k) sum += left[k] * left[k + lag];
    const double r = sum / std::max(squares, 1e-30);
    if (r < 0.0) break;
    residual.correlation += 2.0 * r;
  }
  return residual;
}

}  // namespace

std::optional<Edge> find_edge(const Profile& seen, const EdgeSearch& search) {
  const std::size_t n = seen.value.size();
  if (n < least_samples) return std::nullopt;
  // About their mean, so that sums of squares don't cancel.
  Profile profile = seen;
  double middle = 0.0;
  for (const double v : seen.value) middle += v / static_cast<double>(n);
  for (double& v : profile.value) v -= middle;
  struct Trial {
    double at = 0.0, squares = 0.0, weight = 1.0;
    std::size_t shape = 0;
    std::array<double, 3> coefficient{};
  };
  std::vector<Shape> shapes;
  std::vector<Trial> trials;
  std::vector<double> behind(n), sloped(n);
  for (const Rounding& rounding : search.roundings)
    for (const double blur : search.blurs_px) {
      shapes.emplace_back(rounding.rounding_px, blur);
      for (double at = search.from_px; at <= search.to_px; at += place_step_px) {
        for (std::size_t k = 0; k < n; ++k) {
          const double away = profile.s_px(k) - at;
          behind[k] = shapes.back().at(away);
          sloped[k] = behind[k] * std::max(0.0, away);
        }
        const LinearFit fit = solve(profile, behind, sloped);
        if (fit.good)
          trials.push_back({at, fit.squares, rounding.weight, shapes.size() - 1, fit.coefficient});
      }
    }
  if (trials.empty()) return std::nullopt;
  const Trial& best = *std::min_element(trials.begin(), trials.end(),
                                        [](const Trial& a, const Trial& b) { return a.squares < b.squares; });
  std::vector<double> left(n);
  for (std::size_t k = 0; k < n; ++k) {
    const double away = profile.s_px(k) - best.at;
    const double shape = shapes[best.shape].at(away);
    left[k] = profile.value[k] - best.coefficient[0] - best.coefficient[1] * shape -
              best.coefficient[2] * shape * std::max(0.0, away);
  }
  const Residual residual = judge(left, 5, search.correlated_px);
  const double unit = residual.variance * residual.correlation;

  double total = 0.0, mean = 0.0, square = 0.0;
  for (const Trial& t : trials) {
    const double w = t.weight * std::exp(-0.5 * (t.squares - best.squares) / unit);
    total += w;
    mean += w * t.at;
    square += w * t.at * t.at;
  }
  mean /= total;
  double sum = 0.0, sum_s = 0.0, sum_ss = 0.0, sum_y = 0.0, sum_sy = 0.0, sum_yy = 0.0;
  for (std::size_t k = 0; k < n; ++k) {
    const double s = profile.s_px(k) - best.at;
    sum += 1.0;
    sum_s += s;
    sum_ss += s * s;
    sum_y += profile.value[k];
    sum_sy += s * profile.value[k];
    sum_yy += profile.value[k] * profile.value[k];
  }
  const double slope = (sum * sum_sy - sum_s * sum_y) / (sum * sum_ss - sum_s * sum_s);
  const double straight = sum_yy - sum_y * sum_y / sum - slope * (sum_sy - sum_s * sum_y / sum);
  Edge edge;
  edge.at_px = mean;
  edge.u_px = std::sqrt(std::max(square / total - mean * mean, place_step_px * place_step_px / 12.0));
  edge.level = middle + best.coefficient[0];
  edge.height = best.coefficient[1];
  edge.score = std::sqrt(std::max(0.0, (straight - best.squares) / unit));
  return edge;
}

}  // namespace canalrule
