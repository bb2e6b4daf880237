#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include <canalrule/base/point.hpp>
#include <canalrule/film/film.hpp>
#include <canalrule/record/result.hpp>

/// What a picture shows, as values, before anything is drawn. Places and sizes are in points (1/72
/// inch) of the page, x to the right, y down. All back ends (SVG, PNG, PDF, the window) draw the same scene.
namespace canalrule::report {

struct Colour {
  std::uint8_t red = 0, green = 0, blue = 0;
  double opacity = 1.0;
};

enum class Dash { solid, dashed, dotted, dash_dotted };

struct Stroke {
  Colour colour;
  double width = 1.0;
  Dash dash = Dash::solid;
};

struct Box {
  double left = 0.0, top = 0.0, width = 0.0, height = 0.0;
  double right() const { return left + width; }
  double bottom() const { return top + height; }
  Point centre() const { return {left + width / 2.0, top + height / 2.0}; }
};

/// An open line through 2 or more points. The casing is a wider line under it that sets it off from
/// whatever lies behind.
struct Line {
  Polyline points;
  Stroke stroke;
  std::optional<Stroke> casing = std::nullopt;
};

/// A closed shape.
struct Polygon {
  Polyline points;
  std::optional<Colour> fill;
  std::optional<Stroke> stroke;
};

constexpr const char* font_family = "DejaVu Sans";
constexpr double halo_width = 2.2;  ///< of the outline behind letters, points

/// On and off lengths of a line style in points, in proportion to the width; empty for a solid line.
inline std::vector<double> dash_lengths(const Stroke& stroke) {
  switch (stroke.dash) {
    case Dash::dashed:
      return {4.0 + stroke.width, 2.5 + stroke.width};
    case Dash::dotted:
      return {0.01, 2.4 * stroke.width + 0.4};
    case Dash::dash_dotted:
      return {5.0 + stroke.width, 2.0 + stroke.width, 0.8 * stroke.width, 2.0 + stroke.width};
    case Dash::solid:
      break;
  }
  return {};
}

enum class Anchor { start, middle, end };
enum class Weight { normal, bold };

/// One line of text; `at` is on its baseline.
struct Text {
  Point at;
  std::string text;
  double size = 8.0;
  Colour colour;
  Anchor anchor = Anchor::start;
  Weight weight = Weight::normal;
  double turned_deg = 0.0;                    ///< clockwise about `at`
  std::optional<Colour> halo = std::nullopt;  ///< an outline behind the letters
};

/// An 8-bit grey picture, row by row from the top; 0 is black.
struct GreyImage {
  int columns = 0, rows = 0;
  std::vector<std::uint8_t> grey;
};

struct Raster {
  Box box;
  GreyImage image;
};

using Item = std::variant<Raster, Polygon, Line, Text>;

/// Items drawn in order, inside the clip where there is one.
struct Layer {
  std::string name;  ///< lower case with hyphens; the id of the group in SVG
  std::optional<Box> clip;
  std::vector<Item> items;
};

struct Scene {
  double width = 0.0, height = 0.0;
  std::string title;  ///< for a screen reader
  std::string description;
  std::vector<Layer> layers;
};

/// The whole picture on a landscape A4 page (taller where there are more than four canals).
Scene page_scene(const Film& film, const Result& result);

}  // namespace canalrule::report
