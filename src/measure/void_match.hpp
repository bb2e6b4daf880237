#pragma once

#include <cstddef>
#include <vector>

#include "row_series.hpp"

namespace canalrule {

/// A Gaussian's cumulative distribution by a table: linear between 1/256 of a deviation, within 1e-6.
class BlurredEdge {
 public:
  explicit BlurredEdge(double blur_px);
  double at(double distance_px) const;

 private:
  static constexpr int reach = 5 * 256;
  double per_px_;
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

/// A gap of given ends as the film's blur along the canal leaves it, row by row from `first`.
struct Box {
  double from = 0.0, to = 0.0;
  std::size_t first = 0;
  std::vector<double> height, square;  ///< of each row, and squared
};

/// Rows of a series by place; all series of a fill have the same ones.
struct Rows {
  double first_px = 0.0, step_px = 1.0;
  std::size_t count = 0;

  /// The first row at or above s.
  std::size_t at(double s) const;
  double s_px(std::size_t i) const { return first_px + static_cast<double>(i) * step_px; }
};

Box make_box(const Rows& rows, const BlurredEdge& edge, double blur_px, double from, double to, const Shade& shade);

/// What a series' rows add to a box's match, and their sums before each row, with which a box's baseline costs the
/// same however long it is.
struct Sums {
  std::vector<double> row_uu, row_uus, row_ur;  ///< as below, of each row
  std::vector<double> uu, uus, uuss;  ///< strength squared, times s, times s squared
  std::vector<double> ur, urs;        ///< strength times response, times s
  std::vector<double> served;         ///< rows of any strength

  explicit Sums(const RowSeries& series);
};

struct Match {
  double z = 0.0;
  double amplitude = 0.0;
  double u_amplitude = 0.0;
};

/// The stretch of a fill by which a box is judged, px. Boxes that are compared with each other share one.
struct Window {
  double from = 0.0, to = 0.0;
};

/// Strength of a box in a series, against a baseline that slopes along the canal. `blur_px`: of its edges;
/// `ratio`: of the correlated to the independent variance; `floor_share`: what the amplitude is never surer than.
Match match(const RowSeries& series, const Sums& sums, const Rows& rows, double blur_px, const Window& window,
            const Box& box, double floor_share, double ratio);

/// Ratio of the correlated to the independent variance of a box's amplitude, for a box of a length in the middle
/// of the fill: it depends on little else.
double correlation_ratio(const RowSeries& series, const BlurredEdge& edge, double length, double baseline_px);

}  // namespace canalrule
