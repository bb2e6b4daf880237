#include "symbols.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numbers>

namespace canalrule::report {
namespace {

constexpr Colour casing_colour{0, 0, 0, 0.55};
constexpr double casing_extra = 1.4;          // points
constexpr double smallest_half_length = 1.8;  // of a sign along the canal, points
constexpr double smallest_width = 3.0;        // of a sign across, points

/// A closed shape: on the film an open outline with a dark edge, so that the film shows inside it; on
/// paper white inside.
std::vector<Item> closed(const Palette& palette, const Polyline& points, const Stroke& stroke) {
  if (!palette.casing) return {Polygon{points, white, stroke}};
  return {Polygon{points, std::nullopt, Stroke{casing_colour, stroke.width + casing_extra, Dash::solid}},
          Polygon{points, std::nullopt, stroke}};
}

/// Half an ellipse or a whole one in mm along and across, as a polygon on the ground.
Polyline arc(const Ground& ground, double at, double across, double half_along, double half_across,
             double from_turn, double to_turn) {
  constexpr int pieces = 24;
  Polyline points;
  for (int i = 0; i <= pieces; ++i) {
    const double turn = (from_turn + (to_turn - from_turn) * i / pieces) * 2.0 * std::numbers::pi;
    points.push_back(ground.place(at + half_along * std::sin(turn), across + half_across * std::cos(turn)));
  }
  return points;
}

}  // namespace

void add(std::vector<Item>& items, std::vector<Item> more) {
  items.insert(items.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
}

Line styled(const Palette& palette, Polyline points, const Stroke& stroke) {
  Line line{std::move(points), stroke, std::nullopt};
  if (palette.casing)
    line.casing = Stroke{
        casing_colour, stroke.width + (stroke.dash == Dash::dotted ? 0.5 : 1.0) * casing_extra, stroke.dash};
  return line;
}

Polyline disc(Point centre, double radius) {
  constexpr int corners = 28;
  Polyline points;
  for (int i = 0; i < corners; ++i) {
    const double turn = 2.0 * std::numbers::pi * i / corners;
    points.push_back({centre.x + radius * std::cos(turn), centre.y + radius * std::sin(turn)});
  }
  return points;
}

std::vector<Item> void_sign(const Ground& ground, const VoidShape& shape) {
  const double at = (shape.from_mm + shape.to_mm) / 2.0;
  const double half_along =
      std::max((shape.to_mm - shape.from_mm) / 2.0, smallest_half_length / ground.points_per_mm_along);
  const double wall = std::max(shape.half_width_mm, smallest_width / 2.0 / ground.points_per_mm_across);
  const double width = std::clamp(shape.width_mm, smallest_width / ground.points_per_mm_across, 2.0 * wall);
  Polyline points;
  switch (shape.kind) {
    case VoidKind::across:
      for (const auto& [along, across] : {std::pair{-1, -1}, {1, -1}, {1, 1}, {-1, 1}}) {
        points.push_back(ground.place(at + along * half_along, across * wall));
      }
      break;
    case VoidKind::inside: {
      const double room = std::max(0.0, wall - width / 2.0);
      points = arc(ground, at, std::clamp(shape.offset_mm, -room, room), half_along, width / 2.0, 0.0, 1.0);
      break;
    }
    case VoidKind::along_wall: {
      const double side = shape.offset_mm < 0.0 ? -1.0 : 1.0;
      points = arc(ground, at, side * wall, half_along, -side * width, -0.25, 0.25);
      break;
    }
  }
  return closed(ground.palette, points, Stroke{ground.palette.gap, 1.3, Dash::solid});
}

std::vector<Item> terminus_sign(const Ground& ground, double at_mm, double half_length_mm) {
  const double half = half_length_mm;
  const double tall = 5.0 / ground.points_per_mm_along;
  const double wide = 2.6 / ground.points_per_mm_across;
  std::vector<Item> items{styled(ground.palette, {ground.place(at_mm, -half), ground.place(at_mm, half)},
                                 Stroke{ground.palette.terminus, 1.8, Dash::solid})};
  for (const double side : {-1.0, 1.0}) {
    const double across = side * half;
    items.push_back(Polygon{{ground.place(at_mm, across), ground.place(at_mm + tall, across - wide),
                             ground.place(at_mm + tall, across + wide)},
                            ground.palette.terminus,
                            Stroke{ground.palette.casing ? casing_colour : ground.palette.terminus, 0.5}});
  }
  return items;
}

std::vector<Item> apex_sign(const Ground& ground, double half_length_mm) {
  const Point centre = ground.place(0.0, 0.0);
  std::vector<Item> items{styled(ground.palette,
                                 {ground.place(0.0, -half_length_mm), ground.place(0.0, half_length_mm)},
                                 Stroke{ground.palette.apex, 0.8, Dash::solid})};
  if (ground.palette.casing)
    items.push_back(Polygon{disc(centre, 3.2), std::nullopt, Stroke{casing_colour, 2.4}});
  items.push_back(Polygon{disc(centre, 3.2), std::nullopt, Stroke{ground.palette.apex, 1.1}});
  return items;
}

std::vector<Item> break_sign(const Ground& ground, double at_mm, double half_width_mm,
                             const std::string& kind) {
  const bool kink = kind == "kink";
  const double tall = 3.0 / ground.points_per_mm_along;
  const double deep = (kink ? 3.2 : 6.0) / ground.points_per_mm_across;
  const double clear = 1.5 / ground.points_per_mm_across;
  std::vector<Item> items;
  for (const double side : {-1.0, 1.0}) {
    for (int i = 0; i < (kink ? 2 : 1); ++i) {
      const double tip = half_width_mm + clear + i * deep;
      items.push_back(
          styled(ground.palette,
                 {ground.place(at_mm + tall, side * (tip + deep)), ground.place(at_mm, side * tip),
                  ground.place(at_mm - tall, side * (tip + deep))},
                 Stroke{ground.palette.taper_break, 1.3, Dash::solid}));
    }
  }
  return items;
}

std::vector<Item> beyond_sign(const Ground& ground, double from_mm, double to_mm, double offset_mm) {
  const double foot = 3.0 / ground.points_per_mm_across * (offset_mm < 0.0 ? -1.0 : 1.0);
  const double short_of =
      std::max(0.0, 2.0 * smallest_half_length / ground.points_per_mm_along - (to_mm - from_mm));
  return {styled(
      ground.palette,
      {ground.place(to_mm, offset_mm - foot), ground.place(to_mm, offset_mm),
       ground.place(from_mm - short_of, offset_mm), ground.place(from_mm - short_of, offset_mm - foot)},
      Stroke{ground.palette.beyond, 1.4, Dash::solid})};
}

std::vector<Item> hatched_stretch(const Ground& ground, double from_mm, double to_mm, double half_width_mm) {
  constexpr double apart = 4.0;  // points between strokes
  std::vector<Item> items;
  const double step = apart / ground.points_per_mm_along;
  const double rise = 2.0 * half_width_mm * ground.points_per_mm_across / ground.points_per_mm_along;
  const Stroke thin{ground.palette.hatch, 0.7, Dash::solid};
  for (double start = from_mm - rise + step / 2.0; start < to_mm; start += step) {
    // The stroke rises from the left edge at `start` to the right edge at `start + rise`, cut to the stretch.
    const double low = std::max(start, from_mm);
    const double high = std::min(start + rise, to_mm);
    if (high <= low) continue;
    const auto across = [&](double at) { return -half_width_mm + 2.0 * half_width_mm * (at - start) / rise; };
    items.push_back(
        styled(ground.palette, {ground.place(low, across(low)), ground.place(high, across(high))}, thin));
  }
  for (const double end : {from_mm, to_mm}) {
    items.push_back(styled(ground.palette,
                           {ground.place(end, -half_width_mm), ground.place(end, half_width_mm)},
                           Stroke{ground.palette.hatch, 0.9, Dash::dotted}));
  }
  return items;
}

std::vector<Item> empty_sign(const Ground& ground, double from_mm, double to_mm, double half_width_mm) {
  std::vector<Item> items;
  for (const double side : {-1.0, 1.0}) {
    items.push_back(
        styled(ground.palette,
               {ground.place(from_mm, side * half_width_mm), ground.place(to_mm, side * half_width_mm)},
               Stroke{ground.palette.drawn, 0.9, Dash::dash_dotted}));
  }
  return items;
}

std::vector<Item> verdict_sign(Verdict verdict, Point centre, double radius) {
  const Stroke edge{ink, 0.9, Dash::solid};
  const double arm = 0.8 * radius;
  switch (verdict) {
    case Verdict::within:
      return {Polygon{disc(centre, radius), ink, edge}};
    case Verdict::outside:
      return {
          Line{
              {{centre.x - arm, centre.y - arm}, {centre.x + arm, centre.y + arm}}, {ink, 1.5}, std::nullopt},
          Line{{{centre.x - arm, centre.y + arm}, {centre.x + arm, centre.y - arm}},
               {ink, 1.5},
               std::nullopt}};
    case Verdict::too_close_to_call: {
      Polyline half;
      for (int i = 0; i <= 14; ++i) {
        const double turn = std::numbers::pi * (0.5 + i / 14.0);
        half.push_back({centre.x + radius * std::cos(turn), centre.y + radius * std::sin(turn)});
      }
      return {Polygon{disc(centre, radius), std::nullopt, edge}, Polygon{half, ink, std::nullopt}};
    }
    case Verdict::not_assessable:
      break;
  }
  return {Polygon{disc(centre, radius), std::nullopt, Stroke{ink_soft, 0.9, Dash::dotted}}};
}

std::vector<Item> numbered_ring(std::size_t number, Point centre, const Palette& palette) {
  const Colour paper = palette.casing ? Colour{0, 0, 0, 0.6} : white;
  return {Polygon{disc(centre, ring_radius), paper, Stroke{palette.gap, 0.9, Dash::solid}},
          Text{{centre.x, centre.y + 0.36 * size_small},
               std::to_string(number),
               number < 10 ? size_small : 5.5,
               palette.gap,
               Anchor::middle,
               Weight::bold,
               0.0,
               std::nullopt}};
}

}  // namespace canalrule::report
