#pragma once

#include <algorithm>
#include <atomic>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include <opencv2/core/utility.hpp>

#include <canalrule/cases/open_case.hpp>
#include <canalrule/measure/measure.hpp>
#include <canalrule/phantom/simulate.hpp>

/// Simulated films on their way through the measuring, for the tests.
namespace canalrule_test {

/// A simulated film with its reading, as if both had been opened.
inline canalrule::Case case_of(const canalrule::phantom::Simulated& simulated) {
  canalrule::Case opened;
  opened.film = simulated.film;
  opened.reading = simulated.reading;
  opened.reading_file = "simulated.reading.json";
  opened.image_file = "simulated.png";
  return opened;
}

/// The outline's true width at a distance from the apex, between the truth's samples; not a number
/// where the fill is not.
inline double true_width(const canalrule::phantom::TrueCanal& canal, double at_mm) {
  for (std::size_t i = 1; i < canal.width.size(); ++i) {
    const auto& below = canal.width[i - 1];
    const auto& above = canal.width[i];
    if (below.at_mm <= at_mm && at_mm <= above.at_mm)
      return below.width_mm +
             (above.width_mm - below.width_mm) * (at_mm - below.at_mm) / (above.at_mm - below.at_mm);
  }
  return std::numeric_limits<double>::quiet_NaN();
}

inline bool warned(const canalrule::CanalResult& canal, const std::string& code) {
  return std::any_of(canal.warnings.begin(), canal.warnings.end(),
                     [&](const canalrule::Note& note) { return note.code == code; });
}

/// The seed that a family's film was drawn from.
inline std::uint64_t family_seed(const canalrule::phantom::Truth& truth) { return truth.seed / 16; }

/// A film of which all is known: what was simulated, and what was measured on it.
struct Measured {
  canalrule::phantom::Truth truth;
  canalrule::Result result;
};

inline Measured measured(const canalrule::phantom::Description& description) {
  const canalrule::phantom::Simulated simulated = canalrule::phantom::simulate(description);
  return {simulated.truth, canalrule::measure(case_of(simulated))};
}

/// one(0), one(1), ... one(count - 1), worked off by two threads; OpenCV keeps to the calling ones.
template <class One>
auto on_two_workers(int count, One one) {
  std::vector<decltype(one(0))> out(static_cast<std::size_t>(count));
  cv::setNumThreads(1);
  std::atomic<int> next = 0;
  const auto work = [&] {
    for (int i = next++; i < count; i = next++) out[static_cast<std::size_t>(i)] = one(i);
  };
  {
    const std::jthread first(work);
    const std::jthread second(work);
  }
  return out;
}

/// Errors of a figure and what they make together.
class Errors {
 public:
  void add(double error, double standard_uncertainty) {
    error_.push_back(error);
    if (standard_uncertainty > 0.0) standardised_.push_back(error / standard_uncertainty);
  }
  std::size_t count() const { return error_.size(); }
  double bias() const { return mean(error_); }
  double rms() const { return root_mean_square(error_); }
  double largest() const {
    double largest = 0.0;
    for (const double e : error_) largest = std::fmax(largest, std::fabs(e));
    return largest;
  }
  std::size_t within(double limit) const { return count_within(error_, limit); }
  /// Root mean square of error over stated standard uncertainty: 1 where what is stated is true.
  double standardised_rms() const { return root_mean_square(standardised_); }
  /// Share of errors within `k` stated standard uncertainties.
  double coverage(double k) const {
    return static_cast<double>(count_within(standardised_, k)) / static_cast<double>(standardised_.size());
  }

 private:
  static double mean(const std::vector<double>& v) {
    double sum = 0.0;
    for (const double x : v) sum += x;
    return sum / static_cast<double>(v.size());
  }
  static double root_mean_square(const std::vector<double>& v) {
    double sum = 0.0;
    for (const double x : v) sum += x * x;
    return std::sqrt(sum / static_cast<double>(v.size()));
  }
  static std::size_t count_within(const std::vector<double>& v, double limit) {
    std::size_t inside = 0;
    for (const double x : v) inside += std::fabs(x) <= limit ? 1U : 0U;
    return inside;
  }

  std::vector<double> error_;
  std::vector<double> standardised_;
};

}  // namespace canalrule_test
