#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <canalrule/base/point.hpp>
#include <canalrule/base/quantity.hpp>

/// What was measured: `canalrule.result/1`. Distances along a canal are arc lengths in mm from the
/// radiographic apex, positive towards the crown; every standard uncertainty is k = 1.
namespace canalrule {

/// A doubt that leaves the figures standing, or a fact a person should know.
struct Note {
  std::string code;  ///< lower case with hyphens, stable
  std::string text;  ///< one sentence
};

/// A figure, or a stretch of it, that can't be measured. Without from/to the whole figure is null.
struct NotAssessable {
  std::string figure;  ///< its path within the canal, e.g. "terminus", "taper.coronal", "voids"
  std::optional<double> from_mm;
  std::optional<double> to_mm;
  std::string reason;  ///< lower case with hyphens, stable
  std::string text;    ///< one sentence
};

/// One part of a combined standard uncertainty (JCGM 100:2008, 5.1).
struct UncertaintyPart {
  std::string source;  ///< "scale", "apex mark", "outline", "path", "view"
  double standard_uncertainty_mm = 0.0;
  std::string basis = {};  ///< what it rests on, for a person; empty where the source says it
};

enum class Side { short_of, at, beyond };

struct Terminus {
  Point position;  ///< image coordinates
  double to_apex_mm = 0.0;
  double standard_uncertainty_mm = 0.0;
  Side side = Side::short_of;
  std::vector<UncertaintyPart> parts;
};

/// Material beyond the apex: the fill's own body, or apart from it (sealer, an extruded piece).
struct MaterialBeyond {
  std::string kind;  ///< "fill" or "apart"
  double from_mm = 0.0, to_mm = 0.0;  ///< from < to <= 0: from is the deepest
  Quantity length_mm;
  Quantity area_mm2;
  Point position;  ///< its middle
};

/// Where the root's outline seems to end on the canal's line: offered beside the mark, used for nothing.
struct RootEnd {
  Quantity to_apex_mm;  ///< from the apex as it was marked: > 0 short of it, < 0 beyond it
  double score = 0.0;   ///< how surely an end is seen there, in standard deviations
  Point position;
};

/// Empty canal visible between the fill's end and the apex.
struct EmptyCanal {
  bool visible = false;
  double from_mm = 0.0, to_mm = 0.0;
  double score = 0.0;  ///< how surely darker than the dentine beside it, in standard deviations
};

enum class VoidKind { across, inside, along_wall };
enum class Third { apical, middle, coronal };

struct Void {
  double from_mm = 0.0, to_mm = 0.0;  ///< from < to
  Quantity length_mm;
  Quantity width_mm;    ///< across the canal
  Quantity deficit;     ///< share of the expected attenuation missing where it is worst, 0 to 1
  double score = 0.0;   ///< strength of detection in standard deviations, corrected for the search
  VoidKind kind = VoidKind::inside;
  Third third = Third::apical;
  Point position;       ///< its middle in the image
  bool at_backfill = false;  ///< lies where the backfill was planned to start
};

struct WidthAt {
  double at_mm = 0.0;
  double width_mm = 0.0;
  double standard_uncertainty_mm = 0.0;
};

struct TaperBreak {
  double at_mm = 0.0;
  std::string kind;   ///< "step" or "kink"
  Quantity step_mm;   ///< a step's height (widening towards the crown > 0); a kink's change of taper x 1 mm
  double score = 0.0;
};

/// The largest fall of the width towards the crown; half of it is the least by which widths must be wrong for
/// the fill never to narrow (isotonic regression in the largest difference). `from_mm` is `to_mm` at a step.
struct Reversal {
  Quantity narrowing_mm;
  double from_mm = 0.0, to_mm = 0.0;
};

struct Taper {
  std::optional<Quantity> overall, apical, middle, coronal;  ///< mm per mm
  std::vector<TaperBreak> breaks;
  std::optional<Reversal> largest_reversal;
};

/// The fill against what was planned.
struct AgainstPlan {
  struct WidthDifference {
    double at_mm = 0.0;
    double planned_mm = 0.0;
    double difference_mm = 0.0;  ///< measured minus planned
    double standard_uncertainty_mm = 0.0;
  };
  std::vector<WidthDifference> width;
  std::optional<Quantity> mean_width_difference_mm;
  std::optional<Quantity> fill_length_from_reference_mm;  ///< coronal reference to terminus, along the path
  std::optional<Quantity> terminus_to_working_length_mm;  ///< > 0: the fill ends short of it
  std::optional<bool> gap_at_backfill;
};

struct CentreAt {
  double at_mm = 0.0;
  Point position;
  std::optional<double> half_width_px;  ///< across the canal, where a width was measured
};

/// How well the film shows this canal.
struct CanalFilm {
  std::optional<double> contrast_to_texture;  ///< the fill's height over its flanks' standard deviation
  std::optional<double> blur_mm;              ///< Gaussian standard deviation of the edges
  std::optional<double> bone_beyond_apex_mm;  ///< film seen beyond the apex along the path
};

struct CanalResult {
  std::string name;
  std::optional<Terminus> terminus;
  std::optional<Quantity> coronal_level_mm;
  std::optional<Quantity> filled_length_mm;
  std::vector<MaterialBeyond> material_beyond_apex;
  std::optional<EmptyCanal> empty_canal;
  std::optional<RootEnd> root_end;  ///< missing: the film doesn't show it
  std::optional<std::vector<Void>> voids;  ///< apex first; missing: can't be assessed at all
  std::vector<WidthAt> width;              ///< apex first
  Taper taper;
  std::optional<Quantity> curvature_deg;   ///< Schneider's angle of the drawn canal (1971)
  AgainstPlan against_plan;
  CanalFilm film;
  Polyline drawn_path;
  std::vector<CentreAt> centre_line;       ///< apex first
  std::vector<NotAssessable> not_assessable;
  std::vector<Note> warnings;
};

/// An instrument of known length whose tip and stop were set on the film, in place of where they were drawn.
struct SetOnFilm {
  double tip_moved_mm = 0.0;   ///< along the instrument, > 0: farther out than drawn
  double stop_moved_mm = 0.0;  ///< likewise
  Polyline points;             ///< the line that was measured, stop to tip
};

struct ScaleContribution {
  std::string kind;  ///< "known-length", "known-width", "carried-length", "dicom"
  std::string text;  ///< for a person
  Quantity mm_per_pixel;
  std::optional<SetOnFilm> set_on_film = std::nullopt;  ///< missing: the marks stand as drawn
};

struct ScaleResult {
  double mm_per_pixel = 0.0;  ///< along the canal; for unequal pixels, of a column
  double standard_uncertainty = 0.0;
  std::string source;         ///< "known-length", "known-width", "carried-length", "dicom", "pooled"
  std::optional<Quantity> mm_per_pixel_across;
  double row_to_column_aspect = 1.0;
  std::vector<ScaleContribution> contributions;
  std::optional<double> disagreement;  ///< Birge ratio of the pooled contributions
  /// mm per pixel across over along, where each is known by itself: the cosine of the tilt by which the film
  /// is shortened along the tooth (projection geometry), 1 where it isn't.
  std::optional<Quantity> foreshortening = std::nullopt;
};

struct FilmQuality {
  int columns = 0, rows = 0;
  std::string format;
  int bits_stored = 0;
  std::string response, response_source;      ///< "log", "linear", "display"
  std::string radiopaque, radiopaque_source;  ///< "bright", "dark"
  double noise_grey = 0.0;           ///< pixel noise, standard deviation, in stored grey values
  double clipped_share = 0.0;        ///< of the pixels that carry film, 0 to 1
  std::optional<double> blur_mm;     ///< sharpness: Gaussian standard deviation of an edge
  std::optional<double> halo_share;  ///< undershoot beside the fill as a share of its height
};

struct Provenance {
  std::string program, opencv;
  std::string image_file, image_sha256;
  std::string reading_file, reading_sha256;
  std::string reader, tooth;
};

enum class Verdict { within, outside, too_close_to_call, not_assessable };

/// The words of a result file: "too-close-to-call", "short".
std::string_view word_of(Verdict verdict);
std::string_view word_of(Side side);

/// One criterion applied to one canal; filled by the room `judge`.
struct Judgement {
  std::string canal;
  std::string criterion;   ///< its identifier in the criteria file
  std::string text;        ///< what was asked, for a person
  std::string limit;       ///< the same as the criteria's numbers say it
  Verdict verdict = Verdict::not_assessable;
  std::optional<double> probability_within;
  std::optional<Quantity> figure;
  std::string unit;
  std::string reason;      ///< for a person: why not assessable, or what decided
};

struct Judged {
  std::string criteria_name, criteria_version, criteria_source;
  std::vector<Judgement> judgements;
};

struct Result {
  ScaleResult scale;
  std::vector<CanalResult> canals;
  std::vector<Note> warnings;
  FilmQuality film;
  Provenance provenance;
  std::optional<Judged> judged;
  std::vector<std::string> cautions;
};

/// The result as JSON text, `canalrule.result/1`; lengths to 0.0001 mm, the same result the same bytes.
std::string write_result(const Result& result);

/// Reads it back. Refusals as parse_reading.
Result parse_result(std::string_view json, const std::string& name);

}  // namespace canalrule
