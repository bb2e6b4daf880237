#pragma once

#include <canalrule/geometry/strip.hpp>
#include <optional>
#include <vector>

#include "ridge.hpp"

namespace canalrule {

/// A first, rough account of the fill on a straightened strip, in px of the strip: good to about a
/// tenth of a millimetre, and the place from which the fit starts.
struct Trace {
  std::vector<double> s_px;       ///< middle of each block of rows, apex first
  std::vector<double> offset_px;  ///< centre line's offset from the strip's axis
  /// Attenuation found over that expected of the fill: about 1 in it; NaN where nothing is seen.
  std::vector<double> share;
  std::vector<double> share_noise;   ///< its standard deviation, from the flanks
  double radius_at_px = 0.0;         ///< fill's radius where s = 0
  double radius_slope = 0.0;         ///< and its growth towards the crown, px per px
  double contrast = 0.0;             ///< radiopacity per px of thickness
  double end_px = 0.0;               ///< the fill's apical end, s
  double coronal_px = 0.0;           ///< its coronal end, s
  bool reaches_coronal_end = false;  ///< still filled where the strip stops, or the film
  bool coronal_end_clipped = false;  ///< clipped grey to both sides of that end: the fill may go on

  double radius_px(double s) const;
};

/// A fill's radius along the canal, px, where it is known better than the trace would find it.
struct RadiusLine {
  double at_px = 0.0;  ///< where s = 0
  double slope = 0.0;
};

/// What stands in the way of a trace.
enum class NoTrace { off_film, no_fill, too_faint, no_fit };

/// Where a fill may run: what is common to every trace of it.
struct Search {
  Blocks blocks;
  cv::Mat clipped;                  ///< CV_8UC1, a row a block: not 0 where the grey is clipped; empty: nowhere
  Ridge ridge;
  std::size_t first = 0, last = 0;  ///< blocks of the surest stretch, inclusive
  double at_widest = 0.0;           ///< share of that stretch that is as wide as a fill was looked for, or nearly
  double drawn_to_px = 0.0;         ///< s of the drawn path's coronal end
  double step_px = 1.0;             ///< of the strip
  double mm_per_px = 0.03;
};

/// How a fill is searched: `hand_weight` of the drawn line against what the film shows; up to which radius.
struct SearchSettings {
  double hand_weight;
  double greatest_radius_mm;
  enum class Widths { usual, any } widths = Widths::usual;
};

struct SearchFound {
  std::optional<Search> search;
  NoTrace why = NoTrace::no_fill;
};

/// Finds a fill by its most probable ridge (dynamic programming over offset and radius) and the stretch of it
/// that is surest. `mask` (CV_8UC1 of the strip's size): 0 where another fill or object lies. `clipped` (the same, or
/// empty): not 0 where the film's grey is clipped, so that the strip shows less than there is. `drawn_from`,
/// `drawn_to`: the s of the drawn path's ends.
SearchFound search_fill(const Strip& strip, const cv::Mat& mask, const cv::Mat& clipped, double mm_per_px,
                        double drawn_from, double drawn_to, const SearchSettings& settings);

/// Whether a fill's contrast may change along it, as a film's curve makes it; even where its radius is but assumed.
enum class AlongFill { drifts, even };

/// Walks along a found ridge from its surest stretch with a hidden Markov chain: before the fill, fill, gap,
/// beyond the fill. `radius`: from an earlier fit. Nothing where no fill is seen.
std::optional<Trace> trace_fill(const Search& search, const std::optional<RadiusLine>& radius = std::nullopt,
                                AlongFill contrast = AlongFill::drifts);

}  // namespace canalrule
