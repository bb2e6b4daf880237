#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include <nlohmann/json_fwd.hpp>

#include <canalrule/base/grey.hpp>
#include <canalrule/base/point.hpp>

namespace canalrule {

/// A reading's file is no larger, bytes; chosen here: a hundred canals drawn with 10,000 points each.
inline constexpr std::uint64_t largest_reading_bytes = std::uint64_t{16} << 20U;

/// Steepest taper that a reading takes, mm per mm: what is steeper is a slip of the pen. Chosen here, and wide.
inline constexpr double steepest_taper = 0.5;

/// Which film a reading belongs to.
struct ImageReference {
  std::string file;                   ///< relative to the reading's own folder
  std::optional<std::string> sha256;  ///< 64 hexadecimal digits, lower case
  std::optional<int> columns;
  std::optional<int> rows;
};

/// An object of known length: a polyline from one end to the other, straight or curved.
struct KnownLength {
  Polyline points;  ///< 2 or more
  double length_mm = 0.0;
  std::optional<double> length_uncertainty_mm;  ///< standard uncertainty, k = 1
  friend bool operator==(const KnownLength&, const KnownLength&) = default;
};

/// An object of known width, marked from side to side.
struct KnownWidth {
  Polyline points;  ///< 2
  double width_mm = 0.0;
  std::optional<double> width_uncertainty_mm;  ///< standard uncertainty, k = 1
  friend bool operator==(const KnownWidth&, const KnownWidth&) = default;
};

/// Two landmarks of the tooth, marked on this film and on another whose scale is known.
struct CarriedLength {
  Polyline points;           ///< 2, on this film
  std::string from_reading;  ///< the other film's reading, relative to this reading's folder
  Polyline from_points;      ///< 2, the same landmarks on the other film
  friend bool operator==(const CarriedLength&, const CarriedLength&) = default;
};

using ScaleMark = std::variant<KnownLength, KnownWidth, CarriedLength>;

/// What was planned for a canal; each field optional.
struct Planned {
  std::optional<double> tip_diameter_mm;
  std::optional<double> taper;              ///< mm per mm
  std::optional<double> working_length_mm;  ///< from the coronal reference, see coronal_reference
  std::optional<double> backfill_from_mm;   ///< from the apex, where the backfill starts
  friend bool operator==(const Planned&, const Planned&) = default;
};

/// Whose line a path is; a program's proposal is one until a person accepts or changes it.
enum class LineSource { drawn, proposed };

/// What was marked of one canal.
struct CanalMarks {
  std::string name;
  Polyline path;                              ///< 2 or more, from the orifice towards the apex
  Point apex;                                 ///< the radiographic apex
  std::optional<double> apex_uncertainty_mm;  ///< of the apex mark, along the canal, k = 1
  std::optional<Planned> planned;
  /// Where the working length is measured from (a cusp tip, an incisal edge); without it the terminus
  /// can't be compared with the working length.
  std::optional<Point> coronal_reference;
  /// The same apex marked again by the same reader, 3 times or more; empty where it was marked once. Their
  /// spread says how well `apex` is known, where apex_uncertainty_mm doesn't.
  Polyline apex_marks = {};
  LineSource line = LineSource::drawn;
};

/// A field that isn't known and looks like one that is, and that the reading lacks.
struct MisspeltField {
  std::string pointer;   ///< by RFC 6901
  std::string expected;  ///< the known field's name
};

/// What a person marked on one film: `canalrule.reading/1`.
struct Reading {
  ImageReference image;
  std::string reader;
  std::string tooth;  ///< ISO 3950, may be empty
  std::optional<Radiopaque> radiopaque;
  std::optional<Response> response;
  std::vector<ScaleMark> scale;
  std::vector<CanalMarks> canals;  ///< 1 or more; may be none where the film is not assessable
  std::string note;                ///< about the film, may be empty
  std::optional<std::string> not_assessable;  ///< the reader's reason why the film can't be read

  std::vector<MisspeltField> misspelt;  ///< kept as all unknown fields are, and used for nothing

  /// The document it was read from, so that unknown fields are kept when it is written again; null
  /// for a reading made in memory.
  std::shared_ptr<const nlohmann::json> document;
};

/// Reads `*.reading.json`. `name` is the file as refusals name it. Refuses (unusable_input) text that
/// is not JSON, and every field that is missing, of the wrong type or out of range, by its JSON pointer,
/// with the value found and what was expected.
Reading parse_reading(std::string_view json, const std::string& name);

/// The same from a file of at most 16 MiB.
Reading load_reading(const std::filesystem::path& file);

/// The reading as JSON text, known fields in the order of the contract, unknown ones kept.
std::string write_reading(const Reading& reading);

}  // namespace canalrule
