#pragma once

#include "fill_bins.hpp"

namespace canalrule {

/// What varies on a film without a void, in thickness of fill: bone's pattern, whose mean square difference over a
/// distance d grows as d^(2 H) (a fractional Brownian surface, as bone on radiographs is well described by: Lundahl et
/// al., IEEE Trans Med Imaging 1986;5:152), independent noise, and the fill's own density.
struct Texture {
  double pattern = 0.0;  ///< half its mean square difference at 1 mm, mm^2
  double noise = 0.0;    ///< variance of a strip's pixel beside the fill, mm^2
  double uneven = 0.0;   ///< variance of a flawless fill's density along it, of its share
  double blur_mm = 0.04; ///< that the pattern is seen through
};

/// As the differences along the canal show it, in each bin by their median, so that a void hardly counts.
Texture find_texture(const FillBins& bins, double blur_mm);

using Square = std::array<Across, bins_across>;

/// Covariance of what bins of two rows show, the texture and what else may differ: the fill's own unevenness, and what
/// the fit leaves open of radius, centre, contrast and background. 1 for a bin that doesn't serve, 0 beside it.
class RowCovariance {
 public:
  RowCovariance(const FillBins& bins, const Texture& texture);
  Square between(std::size_t row, std::size_t other) const;

 private:
  const FillBins& bins_;
  Texture texture_;
  double softened_, level_;
};

}  // namespace canalrule
