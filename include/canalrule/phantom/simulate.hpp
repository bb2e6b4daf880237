#pragma once

#include <optional>
#include <string>
#include <vector>

#include <opencv2/core.hpp>

#include <canalrule/film/film.hpp>
#include <canalrule/phantom/description.hpp>
#include <canalrule/record/reading.hpp>

namespace canalrule::phantom {

/// A diameter of the fill, without void: of its outline, in mm of the object.
struct TrueWidth {
  double at_mm = 0.0;
  double width_mm = 0.0;
};

struct TrueVoid {
  DefectKind kind = DefectKind::across;
  double from_mm = 0.0, to_mm = 0.0, length_mm = 0.0;
  double width_mm = 0.0;            ///< across the canal, on the film
  double deficit_section = 0.0;     ///< largest share of a cross-section's excess that is missing
  double deficit_point = 0.0;       ///< largest share of a ray's excess that is missing, before blur
  Point position;
};

struct TrueBreak {
  double at_mm = 0.0;
  double step_mm = 0.0;             ///< of the diameter, towards the crown
  double taper_change = 0.0;
};

struct TrueMaterialBeyond {
  std::string kind;                 ///< "fill" or "apart"
  double from_mm = 0.0, to_mm = 0.0, length_mm = 0.0;
  double area_mm2 = 0.0;            ///< of its outline on the film
  Point position;
};

struct TrueOverlap {
  std::string with;
  double from_mm = 0.0, to_mm = 0.0;
};

struct TrueCentre {
  double at_mm = 0.0;
  Point position;
};

/// A file in the canal: its length from the tip to the stop's apical face, along its own curve.
struct TrueFile {
  Point tip, stop;
  double length_mm = 0.0;           ///< of the file
  double film_px = 0.0;             ///< of its image
};

/// What is true of one canal. `at_mm`, `from_mm`, `to_mm`: arc length of the projected centre line from
/// the projected apex, times mm_per_pixel; positive towards the crown.
struct TrueCanal {
  std::string name;
  Point apex;
  std::vector<TrueCentre> centre_line;  ///< every 0.1 mm, apex first, from beyond it to above the fill
  double bend_deg = 0.0;                ///< of the canal in space
  std::optional<TrueFile> file;
  bool filled = false;
  // Of the fill; 0 or empty where there is none.
  Point terminus;                       ///< the very tip of the continuous fill's outline
  double terminus_to_apex_mm = 0.0;
  double coronal_level_mm = 0.0, filled_length_mm = 0.0;
  std::vector<TrueWidth> width;         ///< every 0.05 mm, apex first
  double taper_overall = 0.0;           ///< straight line through `width`, the tip's rounding apart
  double taper_apical = 0.0, taper_middle = 0.0, taper_coronal = 0.0;
  std::vector<TrueBreak> breaks;
  double narrowing_mm = 0.0;            ///< largest fall of the diameter towards the crown
  std::vector<TrueVoid> voids;
  std::vector<TrueMaterialBeyond> material_beyond_apex;
  std::vector<TrueOverlap> overlaps;
  double contrast_per_mm = 0.0;         ///< fill over dentine: attenuation per mm, mean over the spectrum
  double flank_attenuation = 0.0;       ///< total attenuation beside the fill's middle, before blur
  double flank_texture = 0.0;           ///< standard deviation of the bone's pattern there, in attenuation
  double flank_noise = 0.0;             ///< standard deviation of the attenuation's noise there, per pixel
};

struct Truth {
  std::uint64_t seed = 0;
  double mm_per_pixel = 0.0;  ///< along the tooth: what a straight object of known length in it gives
  double mm_per_pixel_across = 0.0;     ///< across it: the same without tilt
  double magnification = 1.0;           ///< at the apex's depth
  double blur_mm = 0.0;  ///< Gaussian standard deviation at the object's scale, without the pixel's own
  double texture = 0.0, scatter_to_primary = 0.0, photons_per_pixel = 0.0;
  std::string response, radiopaque;
  int bits = 0;
  double window_low = 0.0, window_high = 0.0;  ///< attenuations at the ends of the grey scale
  double clipped_share = 0.0;
  std::vector<TrueCanal> canals;
  /// Landmarks of the tooth: its apex and its highest cusp, projected.
  Point apex, cusp;
};

struct Simulated {
  cv::Mat grey;     ///< CV_16UC1, values below 2^bits
  Film film;        ///< as if it had been read from a PNG file (with a spacing where the description says so)
  Reading reading;  ///< image.file is empty: who writes the film sets it
  Truth truth;
};

/// Makes the film. The same description gives the same bytes on any machine and any number of threads:
/// one thread, own random numbers (std::mt19937_64 and own transforms of it), doubles without
/// contraction or reordering, and rounding to whole grey values at the end, so that the last bit of
/// a library's exp or log is not seen.
///
/// `canalrule simulate` writes `grey` as PNG or DICOM; where asked for, with --reading the reading with its
/// image.file and sha256 set, and with --truth what write_truth() gives.
Simulated simulate(const Description& description);

/// `canalrule.truth/1` as JSON text.
std::string write_truth(const Truth& truth);

}  // namespace canalrule::phantom
