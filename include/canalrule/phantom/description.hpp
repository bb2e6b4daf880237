#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <canalrule/base/grey.hpp>
#include <canalrule/base/point.hpp>
#include <canalrule/phantom/attenuation.hpp>

/// Simulated periapical films with exactly known truth. Shares no numerics with the rooms that
/// measure, so that it can't hide their faults.
///
/// A description says what is in front of the sensor, in the tooth's own frame, in mm: `along` the
/// tooth's axis from its apex (the reference point) towards the crown, `across` it in the plane of the
/// film (to the right, with the crown up), `depth` towards the source. Distances along a canal are
/// 3-D arc lengths from its own apex, positive towards the crown. Every field has a default.
namespace canalrule::phantom {

/// The X-ray beam.
struct Beam {
  double source_to_detector_mm = 400.0;
  double object_to_detector_mm = 12.0;  ///< depth of the tooth's apex above the detector
  double detector_tilt_deg = 0.0;       ///< detector off perpendicular to the central ray, about its rows
  std::vector<SpectrumLine> spectrum{{40.0, 1.0}};
  double scatter_to_primary = 0.15;     ///< scattered over mean primary exposure
  double photons_per_pixel = 40000.0;   ///< in the open beam; 0: no noise
};

/// The curve between attenuation and grey, made for looking at.
enum class DisplayCurve { gamma, sigmoid };

/// The sensor and what its software does.
struct Detector {
  int columns = 700;
  int rows = 1050;
  double pixel_mm = 0.03;
  double blur_mm = 0.045;          ///< Gaussian standard deviation at the detector: focal spot and sensor
  double noise_correlation_px = 0; ///< Gaussian standard deviation that correlates the noise
  double electronic_noise = 0.0005;///< standard deviation as a share of the open-beam exposure
  double dark_level = 0.02;        ///< `linear`: grey without exposure, as a share of full scale
  int bits = 12;                   ///< 8 to 16
  Response response = Response::log;
  Radiopaque radiopaque = Radiopaque::bright;
  DisplayCurve display_curve = DisplayCurve::sigmoid;
  double display_strength = 4.0;   ///< sigmoid: slope; gamma: the exponent
  /// Attenuations at the two ends of the grey scale (`log`, `display`); missing: from the film itself,
  /// its 0.1 and 99.9 percentiles.
  std::optional<double> window_low, window_high;
  double sharpen_amount = 0.0;     ///< unsharp masking of the grey
  double sharpen_radius_mm = 0.12; ///< Gaussian standard deviation of its mask
  double jpeg_coarseness = 0.0;    ///< lossy compression: factor on the example table of T.81, K.1; 0: none
  double border_mm = 0.0;          ///< unexposed border with rounded corners, as a scanned plate shows
};

/// Bone and soft tissue about the tooth.
struct Jaw {
  double bone_mm = 11.0;            ///< along the beam, cortical plates included
  double cortical_mm = 1.6;         ///< both plates together
  double crest_mm = 13.0;           ///< along the tooth's axis from its apex to the bone crest
  double ligament_mm = 0.22;
  double lamina_dura_mm = 0.25;
  double soft_tissue_mm = 9.0;
  double lesion_mm = 0.0;           ///< diameter of the bone lost about the tooth's apex
  double texture = 0.16;            ///< trabecular pattern: standard deviation as a share of the bone path
  double texture_exponent = 1.4;    ///< amplitude spectrum falls as 1 / frequency to this power
  double strands = 0.55;            ///< share of the pattern that is strands, 0 to 1
  double trabecula_mm = 0.7;        ///< size of the strands' mesh
  double patches = 0.0;             ///< bone denser here, thinner there: standard deviation as a share of it
  double patch_mm = 3.0;            ///< size of such patches
};

/// A curve in the tooth: straight coronally, bent by `bend_deg` over the last `bend_over_mm`.
struct Curve {
  double across_mm = 0.0, along_mm = 0.0, depth_mm = 0.0;  ///< where its apex lies
  double splay_deg = 0.0;        ///< of the straight part off the tooth's axis, in the film's plane
  double bend_deg = 0.0;         ///< between the straight part and the direction at the apex
  double bend_over_mm = 6.0;
  double bend_azimuth_deg = 0.0; ///< 0: in the film's plane, 90: towards the source
};

struct Root {
  Curve curve;
  double apical_radius_mm = 1.1;  ///< in the film's plane, without the rounding of the very end
  double taper = 0.13;            ///< of the radius: mm per mm
  double depth_ratio = 1.25;      ///< radius along the beam over that in the film's plane
};

struct Crown {
  double root_length_mm = 13.5;   ///< from the apex to the neck
  double height_mm = 8.0;
  double width_mm = 7.2;          ///< across, at its widest
  double depth_mm = 7.5;          ///< along the beam
  double enamel_mm = 1.3;         ///< occlusally; thins out to the neck
  int cusps = 2;
  double trunk_mm = 0.0;          ///< how far the common trunk of several roots reaches below the neck
};

enum class Restoration { none, plug, composite, amalgam, metal_crown };

enum class TipShape { round, cut };

/// A break in the fill's line: from here towards the crown the diameter steps and the taper changes.
struct Break {
  double at_mm = 0.0;
  double step_mm = 0.0;             ///< of the diameter; negative: narrower towards the crown
  std::optional<double> taper;      ///< from here on
};

enum class DefectKind { across, inside, along_wall };

/// A void in the fill.
struct Defect {
  DefectKind kind = DefectKind::across;
  double at_mm = 5.0;               ///< its middle
  double length_mm = 0.5;           ///< `across`: between the half-depths of its ends
  double width_mm = 0.2;            ///< `inside`: diameter; `along_wall`: how deep it goes in from the wall
  double soft_mm = 0.0;             ///< `across`: length of each end's slope (raised cosine)
  double offset_mm = 0.0;           ///< `inside`: its centre off the axis, in the film's plane
  double azimuth_deg = 0.0;  ///< `along_wall`: 0 and 180 the two sides on the film, 90 facing the source
  std::optional<double> deficit;    ///< share of the fill's excess over dentine that is missing in it, 0 to 1
  Material content = Material::nothing;  ///< what is in it where no deficit is given
};

/// Material beyond the fill: sealer pressed out.
struct Puff {
  double along_mm = -0.5;           ///< its centre, along the canal from the apex (negative: beyond)
  double across_mm = 0.0;
  double length_mm = 0.5, width_mm = 0.5, depth_mm = 0.5;
  Material material = Material::sealer;
};

struct Fill {
  double terminus_mm = 1.0;         ///< very tip, from the apex; negative: beyond
  double coronal_mm = 12.0;
  double tip_diameter_mm = 0.3;     ///< of the line at the very tip
  double taper = 0.06;              ///< of the diameter: mm per mm
  /// Its depth along the beam over its width, at its coronal end: 1 at the tip, evenly more or less towards there.
  double coronal_depth_ratio = 1.0;
  TipShape tip = TipShape::round;
  double tip_rounding = 1.0;        ///< `round`: length of the rounding over the radius there
  std::vector<Break> breaks;
  std::vector<Defect> defects;
  Material material = Material::gutta_percha;
  double opacity = 1.0;             ///< scales the material's attenuation
  double uneven = 0.0;              ///< its density's standard deviation along the canal, as a share
};

/// A hand instrument of ISO 3630-1 geometry in the canal: d(x) = size/100 + 0.02 x up to 16 mm.
struct File {
  double size = 25.0;               ///< hundredths of a mm
  double length_mm = 21.0;          ///< tip to stop
  double tip_mm = 0.5;              ///< from the apex
  Material material = Material::steel;
};

struct Canal {
  std::string name = "1";
  std::optional<Curve> curve;       ///< missing: the first root's
  double foramen_mm = 0.25;         ///< diameter of the unfilled canal at the apex
  double unfilled_taper = 0.04;     ///< of the unfilled canal apical to the fill
  std::optional<Fill> fill;
  std::optional<File> file;
  std::vector<Puff> puffs;
  std::optional<double> planned_tip_mm, planned_taper, planned_working_length_mm, backfill_from_mm;
};

struct Tooth {
  std::string number = "36";        ///< ISO 3950
  double apex_x = 0.5, apex_y = 0.78;  ///< where the tooth's apex lies, as shares of the film
  bool upper = false;               ///< apex above the crown on the film
  double rotation_deg = 0.0;        ///< on the film
  double tilt_deg = 0.0;            ///< axis off perpendicular to the beam
  std::vector<Root> roots{Root{}};
  Crown crown;
  Restoration restoration = Restoration::plug;
};

/// A tooth beside, without canals of interest.
struct Neighbour {
  double across_mm = 7.5;           ///< of its axis at the reference tooth's apex level
  double along_mm = 0.0;
  double lean_deg = 0.0;
  std::vector<Root> roots{Root{}};
  Crown crown;
  Restoration restoration = Restoration::none;
};

/// exact: two points of the tooth's axis; file: along the file; spacing: the film's own; carried: its
/// highest cusp and its apex, marked here and on another film.
enum class ScaleMarking { exact, file, spacing, carried, none };

/// The reading that goes with the film, as a hand would draw it.
struct Hand {
  std::string reader = "A1";
  int points = 6;
  double jitter_px = 2.5;           ///< standard deviation of each drawn point
  double apex_jitter_mm = 0.0;      ///< standard deviation of the apex mark
  std::optional<double> apex_uncertainty_mm;
  double path_from_mm = 0.8;        ///< where the path starts, coronal to the fill's end
  double path_to_mm = 0.0;          ///< where it ends, from the apex; negative: past it
  ScaleMarking scale = ScaleMarking::exact;
  std::string carried_from;         ///< `carried`: the other film's reading
  Polyline carried_points;          ///< and the cusp and the apex there
  double scale_jitter_px = 0.0;
  double scale_uncertainty_mm = 0.0005;
};

struct Description {
  std::uint64_t seed = 1;
  std::string text;                 ///< for a person
  Beam beam;
  Detector detector;
  Jaw jaw;
  Tooth tooth;
  std::vector<Neighbour> neighbours;
  std::vector<Canal> canals{Canal{}};
  Hand hand;
};

/// Reads `canalrule.phantom/1`. `name` is the file as refusals name it. Refuses (unusable_input) text
/// that is not JSON, unknown fields, and every field of the wrong type or out of range, by its JSON
/// pointer, with the value found and what was expected.
Description parse_description(std::string_view json, const std::string& name);

}  // namespace canalrule::phantom
