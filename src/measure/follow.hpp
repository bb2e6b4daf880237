#pragma once

#include <canalrule/film/film.hpp>
#include <canalrule/geometry/path.hpp>
#include <canalrule/geometry/strip.hpp>
#include <canalrule/record/reading.hpp>
#include <opencv2/core.hpp>
#include <optional>
#include <vector>

#include "fill_fit.hpp"
#include "trace.hpp"

namespace canalrule {

/// The film as the canals are followed on it.
struct FilmOnBench {
  cv::Mat radiopacity;      ///< CV_32FC1, more radiopaque is higher
  cv::Mat unusable;         ///< CV_8UC1, 255: padding or clipped; or empty
  cv::Mat padding;          ///< CV_8UC1, 255: padding alone; or empty
  double mm_per_px = 0.03;  ///< along the canal
  double aspect = 1.0;
  /// Weight of the drawn line against what the film shows, where the fill is searched.
  double hand_weight = 0.35;
  bool display = true;  ///< the film's curve is unknown
  bool linear = false;  ///< radiopacity is in units of attenuation
};

/// One canal followed along its fill.
struct Followed {
  CanalPath path;  ///< smooth: the fill's own centre line, then on to the apex
  Strip strip;     ///< along it
  cv::Mat mask;    ///< CV_8UC1, 0: a pixel that belongs to something else
  Trace trace;     ///< on the drawn path's strip
  FillFit fit;
  double coronal_px = 0.0;    ///< s of the fill's coronal end
  double first_end_px = 0.0;  ///< s at which its apical end was first found
  double halo_share = 0.0;  ///< undershoot beside the fill, as a share of its height; 0: not sharpened
  double evidence = 0.0;    ///< the fill's height over its flanks' deviation, its correlation allowed for
};

/// A stretch of film that belongs to another canal's fill or to an object of the scale.
struct Foreign {
  Polyline line;                      ///< its centre line in image coordinates
  std::vector<double> half_width_px;  ///< at each of its points
};

/// Follows a canal's fill from a hand-drawn path, or says why it can't.
struct FollowedOrNot {
  std::optional<Followed> followed;
  NoTrace why = NoTrace::no_fill;
  double evidence = 0.0;
};
FollowedOrNot follow_fill(const FilmOnBench& film, const CanalMarks& marks,
                          const std::vector<Foreign>& foreign);

/// Fits again with the radius free by `kink_mm`: `blocked` stretches are left out whole, in `voids` only
/// the fill itself.
FillFit refit(const FilmOnBench& film, const Followed& followed, const Stretches& blocked,
              const Stretches& voids, double kink_mm);

}  // namespace canalrule
