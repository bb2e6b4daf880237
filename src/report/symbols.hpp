#pragma once

#include <canalrule/record/result.hpp>
#include <functional>
#include <string>
#include <vector>

#include "look.hpp"
#include <canalrule/report/scene.hpp>

/// The signs for what was found, drawn alike on the film, on the unrolled canal and in the legend.
namespace canalrule::report {

/// A ground to draw on along a canal: distance from the apex and offset across (to the right, looking
/// towards the crown), both in mm, to a place on the page.
struct Ground {
  std::function<Point(double at_mm, double across_mm)> place;
  double points_per_mm_along = 1.0;
  double points_per_mm_across = 1.0;
  Palette palette;
};

/// A line in the palette's manner: with a dark casing on the film.
Line styled(const Palette& palette, Polyline points, const Stroke& stroke);

/// A closed shape for a void: a rectangle across, an ellipse inside, half an ellipse on one wall; never
/// smaller than can be seen. `half_width_mm` is half the fill's width there, `offset_mm` where the
/// void's middle lies across it.
struct VoidShape {
  VoidKind kind = VoidKind::inside;
  double from_mm = 0.0, to_mm = 0.0;
  double width_mm = 0.0;
  double offset_mm = 0.0;
  double half_width_mm = 0.0;
};
std::vector<Item> void_sign(const Ground& ground, const VoidShape& shape);

/// A bar across with a filled arrowhead at each end that points apically.
std::vector<Item> terminus_sign(const Ground& ground, double at_mm, double half_length_mm);

/// A ring on a thin line across.
std::vector<Item> apex_sign(const Ground& ground, double half_length_mm);

/// Two open wedges that point at the canal from both sides; a kink's are half as deep and doubled.
std::vector<Item> break_sign(const Ground& ground, double at_mm, double half_width_mm,
                             const std::string& kind);

/// A square bracket along the canal beside the material, dots inside it for material apart.
std::vector<Item> beyond_sign(const Ground& ground, double from_mm, double to_mm, double offset_mm);

/// Oblique strokes over a stretch, inside dotted edges.
std::vector<Item> hatched_stretch(const Ground& ground, double from_mm, double to_mm, double half_width_mm);

/// Dash-dotted walls of the canal seen empty.
std::vector<Item> empty_sign(const Ground& ground, double from_mm, double to_mm, double half_width_mm);

/// The mark of a verdict: a full disc within, a cross outside, a half disc too close to call, an open
/// ring not assessable.
std::vector<Item> verdict_sign(Verdict verdict, Point centre, double radius);

/// A number in a ring, its middle at `centre`.
std::vector<Item> numbered_ring(std::size_t number, Point centre, const Palette& palette);
constexpr double ring_radius = 4.6;

/// A closed curve of straight pieces.
Polyline disc(Point centre, double radius);

void add(std::vector<Item>& items, std::vector<Item> more);

}  // namespace canalrule::report
