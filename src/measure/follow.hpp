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

/// Weight of a drawn line against what the film shows: of a canal by itself, and among several, where a neighbour's
/// fill tempts the search and the hand says which is which. Chosen here; tests/truth/terminus.cpp and together.cpp.
inline constexpr double usual_hand_weight = 0.35, hand_weight_among_several = 1.0;

/// Radius up to which a usual fill is searched. Chosen here; tests/truth/terminus.cpp.
inline constexpr double greatest_radius_mm = 0.85;

/// The film as the canals are followed on it.
struct FilmOnBench {
  cv::Mat radiopacity;      ///< CV_32FC1, more radiopaque is higher; of the part of the film about the canals
  cv::Point origin;         ///< that part's first column and row
  cv::Size size;            ///< of the whole film
  cv::Mat unusable;         ///< CV_8UC1, 255: padding or clipped, of the whole film; or empty
  cv::Mat padding;          ///< CV_8UC1, 255: padding alone, of the whole film; or empty
  double mm_per_px = 0.03;  ///< along the canal
  double aspect = 1.0;
  /// Weight of the drawn line against what the film shows, where the fill is searched.
  double hand_weight = usual_hand_weight;
  bool display = true;  ///< the film's curve is unknown
  bool linear = false;  ///< radiopacity is in units of attenuation
};

/// One canal followed along its fill.
struct Followed {
  CanalPath path;  ///< smooth: the fill's own centre line, then on to the apex
  Strip strip;     ///< along it, less the contours about the root's end (end_contours.hpp)
  cv::Mat mask;    ///< CV_8UC1, 0: a pixel that belongs to something else
  cv::Mat other;   ///< CV_64FC1, thickness of other fills over it, px; or empty
  Trace trace;     ///< on the drawn path's strip
  FillFit fit;
  double coronal_px = 0.0;    ///< s of the fill's coronal end
  double first_end_px = 0.0;  ///< s at which its apical end was first found
  bool settled = false;     ///< with `other`: fitting both in turn moves neither any more
  double halo_share = 0.0;  ///< undershoot beside the fill, as a share of its height; 0: not sharpened
  double evidence = 0.0;    ///< the fill's height over its flanks' deviation, its correlation allowed for
  bool ridge_goes_on = false;  ///< apical of its end something is seen all along, however much less it shows
};

/// A stretch of film that belongs to another canal's fill or to an object of the scale.
struct Foreign {
  Polyline line;                      ///< its centre line in image coordinates
  std::vector<double> half_width_px;  ///< at each of its points
};

/// A fill is fitted up to this distance from its coronal end, mm. Chosen here; tests/truth/width.cpp.
inline constexpr double coronal_margin_mm = 0.15;

/// Freedom of the radius while voids are looked for, mm. Chosen here; tests/truth/voids.cpp.
inline constexpr double stiff_kink_mm = 0.005;

FitSettings settings_for(const FilmOnBench& film, double kink_mm);

/// CV_8UC1 of a strip's size: 0 where a pixel lies on something foreign, 255 elsewhere.
cv::Mat mask_foreign(const Strip& strip, const CanalPath& path, const std::vector<Foreign>& foreign);

/// A canal's fill as it was followed, or why it couldn't be.
struct FollowedOrNot {
  std::optional<Followed> followed;
  NoTrace why = NoTrace::no_fill;
  double evidence = 0.0;
};
FollowedOrNot follow_fill(const FilmOnBench& film, const CanalMarks& marks,
                          const std::vector<Foreign>& foreign);

/// What is known of a canal's fill before any fit, where others come so near that it can't be fitted alone:
/// by the hand's path and a usual cone; `fit` holds the model only. Lies on the drawn path.
FollowedOrNot begin_by_hand(const FilmOnBench& film, const CanalMarks& marks,
                            const std::vector<Foreign>& foreign);

/// A fill on its own smooth centre line: strip and model, not fitted there yet. `path`: what `model` runs along.
Followed on_own_line(const FilmOnBench& film, const CanalMarks& marks, const CanalPath& path,
                     const FillModel& model, const Trace& trace, double coronal_px);

/// Least height of a fill over its flanks' deviation, correlation of the texture allowed for: between what
/// unfilled canals (58 of 60 under 1.45) and faint fills (1.69 and more) show; tests/unit/measure/nothing_to_find.cpp.
inline constexpr double least_evidence = 1.5;

/// Takes back what hardly stands out from its flanks' texture, or is not shaped as a fill: it is refused, not
/// guessed.
FollowedOrNot refuse_what_is_no_fill(const FilmOnBench& film, FollowedOrNot answer);

/// The fill as it is where a gap parts it from material apical of it: it ends at the gap's coronal end.
Followed ending_at(const FilmOnBench& film, const Followed& followed, double gap_from_px, double gap_to_px);

/// What a fill's section may be: round all along, so that one material's contrast hardly changes; or anything between
/// round and oval, so that it may change by much. Where a fill's end is faint such a change may pass for its end: the
/// end stays where it was.
enum class Section { round, oval };

/// Fits again, starting from a fit of the same fill, with the radius free: `blocked` stretches are left out whole, in
/// `voids` only the fill itself, through which its centre is led straight.
FillFit refit(const FilmOnBench& film, const Followed& followed, const FillFit& from, const Stretches& blocked,
              const Stretches& voids, Section section = Section::round);

}  // namespace canalrule
