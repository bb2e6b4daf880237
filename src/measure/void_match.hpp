#pragma once

#include <cstddef>
#include <vector>

#include "void_evidence.hpp"

namespace canalrule {

/// An edge as the film shows it: blurred by a Gaussian, and overshooting where the film was sharpened. By tables of the
/// Gaussian's cumulative distribution, linear between 1/256 of a deviation, within 1e-6.
class BlurredEdge {
 public:
  /// `halo_px`: of the Gaussian that sharpening takes away.
  BlurredEdge(double blur_px, double halo_px);
  /// `halo`: how much sharpening takes away and puts on the edge itself; 0: none.
  double at(double distance_px, double halo) const;
  /// A dome 1 - x^2 of the given half width instead of a step, `away_px` from its middle.
  double dome(double away_px, double half_px, double halo) const;
  double reach_px(double halo) const;  ///< beyond which it is 0 or 1

 private:
  static constexpr int reach = 5 * 256;
  double step_at(double deviations) const;
  double blur_px_, halo_px_;
  std::vector<double> table_;
};

/// How a gap that takes the share `deficit` of a fill of optical depth `depth` shows in what is missing
/// where the blurred box has the height `w`: the exposure is blurred, not the attenuation, so that a deep
/// gap looks longer than it is.
struct Shade {
  double depth = 0.0;    ///< optical depth of the fill there
  double deficit = 0.0;  ///< of it that is missing; 0: shallow

  double shown(double w) const;
};

/// How much of what a void takes it takes along its length: all alike, or most in its middle as a bubble.
enum class Along { alike, domed };

/// A void of given ends as the film's blur along the canal leaves it, row by row from `first`.
struct Box {
  double from = 0.0, to = 0.0;
  std::size_t first = 0;
  std::vector<double> height;
};

/// Rows of a series by place; all series of a fill have the same ones.
struct Rows {
  double first_px = 0.0, step_px = 1.0;
  std::size_t count = 0;

  /// The first row at or above s.
  std::size_t at(double s) const;
  double s_px(std::size_t i) const { return first_px + static_cast<double>(i) * step_px; }
};

Box make_box(const Rows& rows, const BlurredEdge& edge, double halo, Along along, double from, double to,
             const Shade& shade);

struct Match {
  double z = 0.0;
  double amplitude = 0.0;
  double u_amplitude = 0.0;
};

/// Strength of a box in a series, behind the inverse covariance.
Match match(const VoidSeries& series, const Box& box);

/// The same by the plain sums, which don't depend on a covariance.
double plain_amplitude(const VoidSeries& series, const Box& box);

/// What of the film a box of a pattern takes up by them, a sum of squares: not more than all of the fill. And how much
/// of it an amplitude of 1 would be.
double taken_up(const VoidSeries& series, const Box& box);
double plain_hold(const VoidSeries& series, const Box& box);

}  // namespace canalrule
