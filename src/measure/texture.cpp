#include "texture.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/core.hpp>

#include "robust.hpp"

namespace canalrule {

namespace {

// Chosen here on simulated films, seeds 201 to 320; tests/truth/voids.cpp.
constexpr double outer_mm = 6.0;            ///< over which the pattern's level may differ freely
constexpr double least_pattern_mm = 0.004;  ///< its deviation at 1 mm: what the model can't follow of any film
/// Share by which a flawless fill's density usually differs, at least, and over which length.
constexpr double usually_uneven = 0.015, least_uneven = 0.004, uneven_mm = 0.17;
constexpr double alike_rows = 20.0;         ///< of the film tell as much as one that is independent
/// What the fit leaves open of a fill, and over which length: shares of its contrast, its radius and its centre; and of
/// the background beside it.
constexpr double contrast = 0.02, contrast_mm = 3.0;
constexpr double radius_mm = 0.01, radius_over_mm = 0.4;
constexpr double centre_mm = 0.02, centre_over_mm = 0.5;
constexpr double background_mm = 0.05, background_over_mm = 1.2;
/// Shares of the contrast that are open where the fill has left the root: alike there, and as its surroundings change.
constexpr double outside = 0.06;
constexpr double outside_uneven = 0.15, outside_uneven_mm = 0.3;

/// A distance to the power 2 H = 3/4, of its square.
double grown(double square) {
  const double quarter = std::sqrt(std::sqrt(square));
  return quarter * std::sqrt(quarter);
}

double spread(double distance, double over) { return std::exp(-0.5 * distance * distance / (over * over)); }

/// Means over bins of these widths are as if the pattern were seen through so much more blur.
double widened(double a, double b) { return (a * a + b * b) / 12.0; }

}  // namespace

Texture find_texture(const FillBins& bins, double blur_mm) {
  struct Difference {
    std::array<double, 3> by;  ///< pattern, noise and unevenness
    double square, independent;
  };
  std::vector<Difference> seen;
  std::vector<double> sizes;
  for (const std::size_t lag : std::array<std::size_t, 5>{1, 2, 3, 4, 6})
    for (std::size_t k = 0; k < bins_across; ++k) {
      sizes.clear();
      double width2 = 0.0, noise = 0.0, filled2 = 0.0;
      for (std::size_t i = lag; i < bins.rows.size(); ++i) {
        const BinRow &a = bins.rows[i], &b = bins.rows[i - lag];
        if (!a.serves[k] || !b.serves[k]) continue;
        sizes.push_back(std::fabs(a.missing[k] - b.missing[k]));
        width2 += a.width[k] * a.width[k];
        noise += a.noise[k] + b.noise[k];
        filled2 += a.taken[0][k] * a.taken[0][k];
      }
      constexpr std::size_t least = 20;
      if (sizes.size() < least) continue;
      const double n = static_cast<double>(sizes.size());
      const double soft = 4.0 * blur_mm * blur_mm + bins.row_mm * bins.row_mm / 6.0 + width2 / n / 6.0;
      const double apart = static_cast<double>(lag) * bins.row_mm;
      const double deviation = deviation_from(sizes);
      seen.push_back({{2.0 * (grown(apart * apart + soft) - grown(soft)), noise / n,
                       2.0 * filled2 / n * (1.0 - spread(apart, uneven_mm))},
                      deviation * deviation,
                      n / alike_rows});
    }
  // Weighted least squares, each weighted by what it should be: a variance seen n times is known to 2 / n.
  constexpr double least = 1e-8;  // mm^2
  constexpr double usual = usually_uneven * usually_uneven;
  cv::Vec3d found(0.0, 0.0, usual);
  for (int turn = 0; turn < 6; ++turn) {
    cv::Matx33d normal = cv::Matx33d::zeros();
    normal(2, 2) = 1.0 / (usual * usual);
    cv::Vec3d right(0.0, 0.0, usual * normal(2, 2));
    for (const Difference& d : seen) {
      const cv::Vec3d by(d.by[0], d.by[1], d.by[2]);
      const double expected = turn == 0 ? d.square : found.dot(by);
      const double w = d.independent / (2.0 * std::max(1e-16, expected * expected));
      normal += w * by * by.t();
      right += w * d.square * by;
    }
    cv::Vec3d solved;
    if (!cv::solve(normal, right, solved, cv::DECOMP_CHOLESKY)) break;
    found = {std::max(least, solved[0]), std::max(least, solved[1]),
             std::max(least_uneven * least_uneven, solved[2])};
  }
  return {std::max(found[0], least_pattern_mm * least_pattern_mm), std::max(found[1], least), found[2], blur_mm};
}

RowCovariance::RowCovariance(const FillBins& bins, const Texture& texture)
    : bins_(bins),
      texture_(texture),
      softened_(4.0 * texture.blur_mm * texture.blur_mm + bins.row_mm * bins.row_mm / 6.0),
      level_(grown(outer_mm * outer_mm)) {}

Square RowCovariance::between(std::size_t row, std::size_t other) const {
  const BinRow &a = bins_.rows[row], &b = bins_.rows[other];
  const double apart = (static_cast<double>(row) - static_cast<double>(other)) * bins_.row_mm;
  const double background = background_mm * background_mm * spread(apart, background_over_mm);
  const double radius = radius_mm * radius_mm * spread(apart, radius_over_mm);
  const double centre = centre_mm * centre_mm * spread(apart, centre_over_mm);
  const double fill = texture_.uneven * spread(apart, uneven_mm) + contrast * contrast * spread(apart, contrast_mm) +
                      (outside * outside + outside_uneven * outside_uneven * spread(apart, outside_uneven_mm)) *
                          a.outside * b.outside;
  Square c{};
  for (std::size_t i = 0; i < bins_across; ++i) {
    if (!a.serves[i]) {
      if (row == other) c[i][i] = 1.0;
      continue;
    }
    for (std::size_t j = 0; j < bins_across; ++j) {
      const double across = a.place[i] + a.centre - b.place[j] - b.centre;
      const double d2 = apart * apart + across * across + softened_ + widened(a.width[i], b.width[j]);
      const double xy = a.place[i] * b.place[j];
      const double both = texture_.pattern * (level_ - grown(d2)) + background * (1.0 + xy + xy * xy) +
                          radius * a.by_radius[i] * b.by_radius[j] + centre * a.by_centre[i] * b.by_centre[j] +
                          fill * a.taken[0][i] * b.taken[0][j];
      c[i][j] = b.serves[j] ? both : 0.0;
    }
    if (row == other) c[i][i] += texture_.noise * a.noise[i];
  }
  return c;
}

}  // namespace canalrule
