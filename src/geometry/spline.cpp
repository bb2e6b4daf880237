#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <canalrule/geometry/spline.hpp>
#include <utility>

namespace canalrule {

NaturalSpline::NaturalSpline(std::vector<double> t, std::vector<double> y)
    : t_(std::move(t)), y_(std::move(y)), second_(t_.size(), 0.0) {
  ensure(t_.size() >= 2 && t_.size() == y_.size(), "a spline has two or more knots, each with a value");
  const std::size_t n = t_.size();
  for (std::size_t i = 1; i < n; ++i) ensure(t_[i] > t_[i - 1], "a spline's knots increase");
  if (n < 3) return;
  // Thomas' algorithm on the tridiagonal system of the inner second derivatives.
  std::vector<double> upper(n, 0.0);
  for (std::size_t i = 1; i + 1 < n; ++i) {
    const double before = t_[i] - t_[i - 1];
    const double after = t_[i + 1] - t_[i];
    const double diagonal = 2.0 * (before + after) - before * upper[i - 1];
    const double right = 6.0 * ((y_[i + 1] - y_[i]) / after - (y_[i] - y_[i - 1]) / before);
    upper[i] = after / diagonal;
    second_[i] = (right - before * second_[i - 1]) / diagonal;
  }
  for (std::size_t i = n - 2; i >= 1; --i) second_[i] -= upper[i] * second_[i + 1];
}

std::size_t NaturalSpline::piece(double t) const {
  const auto after = std::upper_bound(t_.begin() + 1, t_.end() - 1, t);
  return static_cast<std::size_t>(after - t_.begin()) - 1;
}

double NaturalSpline::value(double t) const {
  if (t < t_.front()) return y_.front() + slope(t_.front()) * (t - t_.front());
  if (t > t_.back()) return y_.back() + slope(t_.back()) * (t - t_.back());
  const std::size_t i = piece(t);
  const double h = t_[i + 1] - t_[i];
  const double a = (t_[i + 1] - t) / h;
  const double b = (t - t_[i]) / h;
  return a * y_[i] + b * y_[i + 1] +
         ((a * a * a - a) * second_[i] + (b * b * b - b) * second_[i + 1]) * h * h / 6.0;
}

double NaturalSpline::slope(double t) const {
  const double inside = std::clamp(t, t_.front(), t_.back());
  const std::size_t i = piece(inside);
  const double h = t_[i + 1] - t_[i];
  const double a = (t_[i + 1] - inside) / h;
  const double b = (inside - t_[i]) / h;
  return (y_[i + 1] - y_[i]) / h +
         ((1.0 - 3.0 * a * a) * second_[i] + (3.0 * b * b - 1.0) * second_[i + 1]) * h / 6.0;
}

}  // namespace canalrule
