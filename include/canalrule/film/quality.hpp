#pragma once

#include <optional>

#include <opencv2/core.hpp>

#include <canalrule/film/film.hpp>

namespace canalrule {

/// Where the film's grey stands at an end that it could not pass, and so carries no attenuation.
struct Clipping {
  std::optional<double> floor;    ///< grey at or below it is clipped; nothing where the dark end is not
  std::optional<double> ceiling;  ///< grey at or above it is clipped
  double share = 0.0;             ///< clipped pixels over all usable ones, 0 to 1
  cv::Mat mask;                   ///< CV_8UC1, 255 where clipped; empty where nothing is
};

/// Tells clipping from the pile-up it leaves in the histogram: a level near an end of the grey that
/// occurs, holding several times as many pixels as any of its neighbours, with next to nothing beyond it
/// (sharpening done after the clipping leaves a little). Not only at the ends that the bits could hold:
/// a sensor may saturate below them. An unexposed border or a white one is found as well, since its grey
/// carries no attenuation either; what it touches is for the caller to judge. The ends of an ordinary
/// histogram, which thin out, are not found, nor is a level that half of the film holds unless it is an
/// end of the scale. Unusable pixels are left out.
/// `threads` as look_at_whole.
Clipping find_clipping(const Film& film, std::size_t threads = 1);

/// What measuring needs to know of a film as a whole, whatever is marked on it.
struct WholeFilm {
  Clipping clipping;
  /// Standard deviation of the film's pixel noise in grey, the median over the film: the median of the
  /// magnitudes of J. Immerkaer's difference of two Laplacians (Computer Vision and Image Understanding
  /// 1996;64:300-302), which is blind to ramps, divided by its norm 6 and by 0.6745 (the median of a
  /// standard normal variable's magnitude, so that edges hardly count). Exact for noise that is
  /// independent from pixel to pixel; blurred noise reads too low, sharpened noise too high. Never less
  /// than one grey level's rounding, step / sqrt(12). Clipped and unusable pixels are left out; 0 for a
  /// film smaller than 3 x 3 pixels and without a known step.
  double noise_grey = 0.0;
};

/// About 8 ms on a film of 1500 x 2000: whoever measures on one film again and again looks at it once. Up to `threads`
/// work on it side by side, for the same answer.
WholeFilm look_at_whole(const Film& film, std::size_t threads = 1);

}  // namespace canalrule
