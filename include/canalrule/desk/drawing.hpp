#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include <canalrule/base/grey.hpp>
#include <canalrule/base/point.hpp>
#include <canalrule/record/reading.hpp>

/// The drawing: what a person has marked on a film so far, complete or not. All points are in the film's
/// pixels (base/point.hpp), to a fraction of a pixel.
namespace canalrule::desk {

/// One thing that gives the scale. What isn't known yet is empty.
struct ScaleDrawn {
  enum class Kind {
    known_length,  ///< a file, from its stop to its tip, with as many points as it bends
    known_width,   ///< an object of known width, from side to side
    carried        ///< two landmarks of the tooth, marked here and on a film whose scale is known
  };
  Kind kind = Kind::known_length;
  Polyline points;                       ///< on this film
  std::optional<double> size_mm;         ///< the length or the width; none for `carried`
  std::optional<double> uncertainty_mm;  ///< its standard uncertainty, k = 1
  /// `carried`: the other film's reading. A reading names it from its own folder, the desk (work.hpp) by its
  /// whole path, so that the drawing doesn't depend on where it is saved.
  std::string from_reading;
  Polyline from_points;  ///< `carried`: the same landmarks on the other film
  friend bool operator==(const ScaleDrawn&, const ScaleDrawn&) = default;
};

struct CanalDrawn {
  std::string name;
  Polyline path;                        ///< from the orifice towards the apex
  std::optional<Point> apex;            ///< the radiographic apex
  LineSource line = LineSource::drawn;  ///< a proposal is one until it is accepted or changed by hand
  std::optional<double> apex_uncertainty_mm;
  std::optional<Planned> planned;
  std::optional<Point> coronal_reference;  ///< where the working length is measured from
  Polyline apex_marks = {};                ///< the apex marked again, as the reading had it
  friend bool operator==(const CanalDrawn&, const CanalDrawn&) = default;
};

/// Everything that a person can change. Without `scale` the film's own spacing serves, where it has one.
struct Drawing {
  std::string tooth;  ///< ISO 3950, may be empty
  std::optional<Radiopaque> radiopaque;
  std::optional<Response> response;
  std::vector<ScaleDrawn> scale;
  std::vector<CanalDrawn> canals;
  std::string note;                           ///< about this film, one line
  std::optional<std::string> not_assessable;  ///< the reason why the film can't be read
  friend bool operator==(const Drawing&, const Drawing&) = default;
};

/// Complete: all that a reading needs of it is there, and its points are a pixel or more apart in all.
bool complete(const ScaleDrawn& mark);
bool complete(const CanalDrawn& canal);

Drawing drawing_of(const Reading& reading);

/// The reading that the drawing amounts to; unfinished marks are left out. Image, reader and unknown fields
/// are those of `base`. Nothing where there is nothing to write down yet: no complete canal, and the film not
/// said to be not assessable.
std::optional<Reading> reading_of(const Drawing& drawing, const Reading& base);

/// Whether the reading says all that the drawing holds, so that nothing is lost if only the reading is kept.
bool all_in_reading(const Drawing& drawing);

/// Which point is meant.
struct PointPlace {
  enum class Of { scale, scale_from, canal, apex, coronal_reference };
  Of of = Of::canal;
  std::size_t item = 0;   ///< which scale mark or canal
  std::size_t index = 0;  ///< which of its points; 0 for apex and coronal reference
  friend bool operator==(const PointPlace&, const PointPlace&) = default;
};

/// The point at a place; nothing where the drawing has none there.
std::optional<Point> point_at(const Drawing& drawing, const PointPlace& place);

}  // namespace canalrule::desk
