#include "root_end.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>
#include <vector>

#include "dot.hpp"

namespace canalrule {

namespace {

// Lengths in mm; chosen here, tests/truth/root_end.cpp holds them.
constexpr double search_mm = 1.5;      ///< to both sides of the marked apex
constexpr double outside_mm = 1.2;     ///< bone looked at beyond a supposed end
constexpr double inside_mm = 1.5;      ///< and root within it
constexpr double aside_mm = 0.8;       ///< to each side of the canal
constexpr double clear_mm = 0.12;      ///< left out beside the fill or the empty canal
constexpr double step_mm = 0.05;       ///< of the search and of the profile
constexpr double least_profile = 0.9;  ///< share of the line that must lie on the film
constexpr double parameters = 5.0;     ///< of a trial: line, shape, place, outline
constexpr double correlated_mm = 0.6;
constexpr double least_score = 5.0;
constexpr double largest_u_mm = 0.35;
constexpr double model_mm = 0.07;  ///< standard uncertainty of what the model can't follow

/// Sizes of a root's end (the first chosen here): radius of the outline's curve at its end; ligament space of
/// about 0.2 mm and lamina dura of about 0.25 mm (textbooks, from memory).
constexpr std::array outline_mm = {0.7, 1.1, 1.8};
constexpr std::array ligament_mm = {0.15, 0.25};
constexpr double lamina_mm = 0.25;

/// Mean radiopacity along arcs that follow an outline of the given radius, its end at arc length `s`: a
/// root's sides lie crownwards of its end.
struct Profile {
  std::vector<double> s_mm, value;
};

Profile along_arcs(const Strip& strip, double outline_px, double clear_px, double mm, double from_mm,
                   double to_mm) {
  const StripGrid& grid = strip.grid;
  Profile profile;
  for (double at = from_mm; at <= to_mm; at += step_mm) {
    double sum = 0.0;
    int count = 0;
    for (int j = 0; j < grid.columns; ++j) {
      const double n = grid.n_px(j);
      if (std::fabs(n) < clear_px) continue;
      const double row = grid.row_of(at / mm + 0.5 * n * n / outline_px);
      const int i = static_cast<int>(std::floor(row));
      if (i < 0 || i + 1 >= grid.rows || strip.usable.at<std::uint8_t>(i, j) == 0 ||
          strip.usable.at<std::uint8_t>(i + 1, j) == 0)
        continue;
      const double f = row - i;
      sum += (1.0 - f) * static_cast<double>(strip.value.at<float>(i, j)) +
             f * static_cast<double>(strip.value.at<float>(i + 1, j));
      ++count;
    }
    if (count < 4) continue;
    profile.s_mm.push_back(at);
    profile.value.push_back(sum / count);
  }
  return profile;
}

/// Of a body that begins at 0 and is round along the beam, as a root is at its end.
double chord(double s) { return s > 0.0 ? std::sqrt(s) : 0.0; }

/// How dark the ligament space and how bright the lamina dura show against bone, as shares of what dentine
/// does.
struct Look {
  double ligament, lamina;
};
constexpr std::array looks = {Look{0.35, 0.7}, Look{0.2, 0.3}, Look{0.6, 1.0}, Look{0.3, 0.0}};

/// Least squares on 1 and s, taken out of what is given.
class Line {
 public:
  explicit Line(const std::vector<double>& s) : s_(s) {
    for (const double at : s) {
      s1_ += at;
      s2_ += at * at;
    }
  }

  std::vector<double> cleared(std::vector<double> v) const {
    const auto s0 = static_cast<double>(s_.size());
    double v0 = 0.0, v1 = 0.0;
    for (std::size_t k = 0; k < v.size(); ++k) {
      v0 += v[k];
      v1 += v[k] * s_[k];
    }
    const double slope = (s0 * v1 - s1_ * v0) / (s0 * s2_ - s1_ * s1_);
    const double level = (v0 - slope * s1_) / s0;
    for (std::size_t k = 0; k < v.size(); ++k) v[k] -= level + slope * s_[k];
    return v;
  }

  /// The chord of a body that begins `apical_mm` before s = 0.
  std::vector<double> cleared_chord(double apical_mm) const {
    std::vector<double> v;
    for (const double at : s_) v.push_back(chord(at + apical_mm));
    return cleared(std::move(v));
  }

 private:
  const std::vector<double>& s_;
  double s1_ = 0.0, s2_ = 0.0;
};

/// What a straight line, and with it the root's shape, leave of a stretch of the profile.
struct Comparison {
  double gain = 0.0;   ///< fall of the sum of squares by the root
  double unit = 1.0;   ///< variance of a sample, the noise's correlation along the line allowed for
  bool rises = false;  ///< whether the root is more radiopaque than what lies beyond it
};

/// Of a profile and a shape that are both cleared of a line.
Comparison compare(std::vector<double> left, const std::vector<double>& shape) {
  const std::size_t n = left.size();
  const double ss = dot(shape.data(), shape.data(), n);
  const double ys = dot(shape.data(), left.data(), n);
  Comparison found;
  if (ss <= 0.0 || ys <= 0.0) return found;
  found.rises = true;
  found.gain = ys * ys / ss;
  for (std::size_t k = 0; k < n; ++k) left[k] -= ys / ss * shape[k];
  const double squares = dot(left.data(), left.data(), n);
  double correlation = 1.0;
  for (std::size_t lag = 1; lag <= static_cast<std::size_t>(correlated_mm / step_mm) && lag < n; ++lag) {
    const double sum = dot(left.data(), left.data() + lag, n - lag);
    if (sum <= 0.0) break;
    correlation += 2.0 * sum / squares;
  }
  found.unit = correlation * squares / (static_cast<double>(n) - parameters);
  return found;
}

struct Trial {
  double at_mm = 0.0, score2 = 0.0;
};

/// Every end that the profile's root may have, with how surely it is one: dentine from the end on, the ligament
/// space and the lamina dura about it.
void try_ends(const Profile& profile, std::vector<Trial>& trials) {
  for (double at = -search_mm; at <= search_mm; at += step_mm) {
    std::vector<double> s, y;
    for (std::size_t k = 0; k < profile.value.size(); ++k) {
      if (profile.s_mm[k] < at - outside_mm || profile.s_mm[k] > at + inside_mm) continue;
      s.push_back(profile.s_mm[k] - at);
      y.push_back(profile.value[k]);
    }
    const Line line(s);
    const std::vector<double> left = line.cleared(std::move(y));
    const std::vector<double> root = line.cleared_chord(0.0);
    for (const double ligament : ligament_mm) {
      const std::vector<double> socket = line.cleared_chord(ligament);
      const std::vector<double> lamina = line.cleared_chord(ligament + lamina_mm);
      for (const Look& look : looks) {
        std::vector<double> shape(s.size());
        for (std::size_t k = 0; k < shape.size(); ++k)
          shape[k] = root[k] - look.ligament * (socket[k] - root[k]) + look.lamina * (lamina[k] - socket[k]);
        const Comparison found = compare(left, shape);
        if (found.rises) trials.push_back({at, found.gain / found.unit});
      }
    }
  }
}

}  // namespace

std::optional<RootEnd> root_end_of(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                   double relative_scale) {
  const double mm = film.mm_per_px;
  const double lowest = -search_mm - outside_mm, highest = search_mm + inside_mm;
  StripGrid grid;
  grid.step_px = 1.0;
  grid.first_s_px = std::floor(lowest / mm) - 1.0;
  grid.rows = static_cast<int>((highest - lowest + aside_mm) / mm) + 3;
  const int half = static_cast<int>(aside_mm / mm);
  grid.columns = 2 * half + 1;
  grid.first_n_px = -half;
  const Strip strip = sample_strip(film.radiopacity, film.unusable, followed.path, grid, film.origin);
  const double fill_px = fit.model.radius_px(std::max(fit.model.end_px, highest / mm));
  const double clear_px = std::min(fill_px + clear_mm / mm, 0.6 * half);

  std::vector<Trial> trials;
  for (const double outline : outline_mm) {
    Profile profile = along_arcs(strip, outline / mm, clear_px, mm, lowest, highest);
    const double count = static_cast<double>(profile.value.size());
    if (count < least_profile * (highest - lowest) / step_mm) return std::nullopt;
    double mean = 0.0;
    for (const double v : profile.value) mean += v / count;
    for (double& v : profile.value) v -= mean;
    try_ends(profile, trials);
  }
  if (trials.empty()) return std::nullopt;
  const double top = std::max_element(trials.begin(), trials.end(), [](const Trial& a, const Trial& b) {
                       return a.score2 < b.score2;
                     })->score2;
  double total = 0.0, mean = 0.0, square = 0.0;
  for (const Trial& t : trials) {
    const double w = std::exp(0.5 * (t.score2 - top));
    total += w;
    mean += w * t.at_mm;
    square += w * t.at_mm * t.at_mm;
  }
  mean /= total;
  const double u = std::sqrt(std::max(0.0, square / total - mean * mean) + model_mm * model_mm);
  RootEnd end;
  end.score = std::sqrt(std::max(0.0, top - 2.0 * std::log(2.0 * search_mm / step_mm)));
  end.to_apex_mm = {mean, std::hypot(u, mean * relative_scale)};
  end.position = followed.path.at(mean / mm);
  if (end.score < least_score || u > largest_u_mm || std::fabs(mean) > search_mm - 2.0 * step_mm)
    return std::nullopt;
  return end;
}

}  // namespace canalrule
