#include "legend.hpp"

#include <algorithm>
#include <functional>
#include <string>
#include <vector>

#include "centre_line.hpp"
#include "look.hpp"
#include "symbols.hpp"

namespace canalrule::report {
namespace {

constexpr double swatch_width = 30.0;
constexpr double swatch_height = 11.0;
constexpr double row_height = 13.4;

constexpr double least_column = 112.0;
constexpr Colour swatch_grey{86, 89, 94};

enum class Where { film, paper };
enum class Lie { along, upright };

struct Entry {
  std::string text;
  Where where = Where::film;
  Lie lie = Lie::along;
  std::function<std::vector<Item>(const Ground&)> sign;  ///< one mm is a point there
};

template <class Test>
bool any_canal(const Result& result, Test test) {
  return std::any_of(result.canals.begin(), result.canals.end(), test);
}

std::vector<Item> straight(const Ground& ground, Colour colour, double width, Dash dash) {
  return {styled(ground.palette, {ground.place(-12.0, 0.0), ground.place(12.0, 0.0)},
                 Stroke{colour, width, dash})};
}

std::vector<Item> two_walls(const Ground& ground) {
  const Stroke stroke{ground.palette.outline, 0.8, Dash::solid};
  return {styled(ground.palette, {ground.place(-12.0, 3.6), ground.place(12.0, 3.6)}, stroke),
          styled(ground.palette, {ground.place(-12.0, -3.6), ground.place(12.0, -3.6)}, stroke)};
}

Entry void_entry(std::string text, VoidKind kind) {
  return {
      std::move(text), Where::film, Lie::along, [kind](const Ground& ground) {
        std::vector<Item> items = two_walls(ground);
        add(items, void_sign(ground, {kind, -4.5, 4.5, 4.4, kind == VoidKind::along_wall ? 1.0 : 0.0, 3.6}));
        return items;
      }};
}

bool has_void(const Result& result, VoidKind kind) {
  return any_canal(result, [kind](const CanalResult& canal) {
    return canal.voids && std::any_of(canal.voids->begin(), canal.voids->end(),
                                      [kind](const Void& gap) { return gap.kind == kind; });
  });
}

bool has_kink(const TaperBreak& each) { return each.kind == "kink"; }
bool has_step(const TaperBreak& each) { return !has_kink(each); }

bool has_break(const Result& result, bool (*kind)(const TaperBreak&)) {
  return any_canal(result, [kind](const CanalResult& canal) {
    return std::any_of(canal.taper.breaks.begin(), canal.taper.breaks.end(), kind);
  });
}

bool has_stretch(const CanalResult& canal) {
  return std::any_of(canal.not_assessable.begin(), canal.not_assessable.end(),
                     [](const NotAssessable& entry) { return entry.from_mm && entry.to_mm; });
}

std::vector<Entry> film_entries(const Result& result) {
  std::vector<Entry> out;
  const auto enter = [&out](std::string text, Lie lie, std::function<std::vector<Item>(const Ground&)> sign) {
    out.push_back({std::move(text), Where::film, lie, std::move(sign)});
  };
  enter("path as drawn", Lie::along,
        [](const Ground& g) { return straight(g, g.palette.drawn, 1.0, Dash::dotted); });
  if (any_canal(result, fill_found)) {
    enter("centre line found", Lie::along,
          [](const Ground& g) { return straight(g, g.palette.centre, 0.8, Dash::solid); });
    enter("outline of the fill", Lie::along, two_walls);
  }
  enter("radiographic apex", Lie::upright, [](const Ground& g) { return apex_sign(g, 11.0); });
  if (any_canal(result, [](const CanalResult& canal) { return canal.terminus.has_value(); })) {
    enter("terminus of the fill", Lie::upright, [](const Ground& g) { return terminus_sign(g, -2.5, 9.0); });
  }
  if (has_void(result, VoidKind::across)) out.push_back(void_entry("void across", VoidKind::across));
  if (has_void(result, VoidKind::inside)) out.push_back(void_entry("void inside", VoidKind::inside));
  if (has_void(result, VoidKind::along_wall))
    out.push_back(void_entry("void along a wall", VoidKind::along_wall));
  if (has_break(result, has_step)) {
    enter("step in the taper", Lie::upright, [](const Ground& g) { return break_sign(g, 0.0, 3.0, "step"); });
  }
  if (has_break(result, has_kink)) {
    enter("kink in the taper", Lie::upright, [](const Ground& g) { return break_sign(g, 0.0, 3.0, "kink"); });
  }
  if (any_canal(result, [](const CanalResult& canal) { return !canal.material_beyond_apex.empty(); })) {
    enter("beyond the apex", Lie::along, [](const Ground& g) { return beyond_sign(g, -8.0, 8.0, 2.0); });
  }
  if (any_canal(result,
                [](const CanalResult& canal) { return canal.empty_canal && canal.empty_canal->visible; })) {
    enter("canal seen empty", Lie::along, [](const Ground& g) { return empty_sign(g, -12.0, 12.0, 2.5); });
  }
  if (any_canal(result, has_stretch)) {
    enter("not assessable", Lie::along, [](const Ground& g) { return hatched_stretch(g, -10.0, 10.0, 4.0); });
  }
  return out;
}

/// Signs that stand on the unrolled canal alone.
std::vector<Entry> paper_entries(const Result& result) {
  std::vector<Entry> out;
  if (any_canal(result, [](const CanalResult& canal) { return !canal.width.empty(); })) {
    out.push_back({"width and its ±", Where::paper, Lie::along, [](const Ground& g) {
                     return std::vector<Item>{Polygon{{g.place(-12.0, -3.0), g.place(12.0, -3.0),
                                                       g.place(12.0, 3.0), g.place(-12.0, 3.0)},
                                                      band_fill,
                                                      std::nullopt},
                                              Line{{g.place(-12.0, 0.0), g.place(12.0, 0.0)}, {ink, 1.0}}};
                   }});
  }
  if (any_canal(result, [](const CanalResult& canal) { return canal.against_plan.width.size() >= 2; })) {
    out.push_back({"planned cone", Where::paper, Lie::along,
                   [](const Ground& g) { return straight(g, g.palette.centre, 1.2, Dash::dashed); }});
  }
  return out;
}

std::vector<Entry> all_entries(const Result& result) {
  std::vector<Entry> out = film_entries(result);
  for (Entry& entry : paper_entries(result)) out.push_back(std::move(entry));
  return out;
}

struct Grid {
  std::size_t columns = 1, rows = 1;
};

Grid grid_for(std::size_t count, double width) {
  const std::size_t columns = std::max<std::size_t>(1, static_cast<std::size_t>(width / least_column));
  return {columns, (count + columns - 1) / columns};
}

Polyline corners(const Box& box) {
  return {{box.left, box.top}, {box.right(), box.top}, {box.right(), box.bottom()}, {box.left, box.bottom()}};
}

}  // namespace

double legend_height(const Result& result, double width) {
  return static_cast<double>(grid_for(all_entries(result).size(), width).rows) * row_height;
}

Layer legend(const Result& result, const Box& box) {
  Layer layer{"legend", std::nullopt, {}};
  const std::vector<Entry> all = all_entries(result);
  const Grid grid = grid_for(all.size(), box.width);
  const double column_width = box.width / static_cast<double>(grid.columns);
  for (std::size_t i = 0; i < all.size(); ++i) {
    const Entry& entry = all[i];
    const double left = box.left + static_cast<double>(i / grid.rows) * column_width;
    const Point middle{left + swatch_width / 2.0,
                       box.top + (static_cast<double>(i % grid.rows) + 0.5) * row_height};
    const Box swatch{left, middle.y - swatch_height / 2.0, swatch_width, swatch_height};
    const bool film = entry.where == Where::film;
    layer.items.push_back(Polygon{corners(swatch), film ? std::optional<Colour>(swatch_grey) : std::nullopt,
                                  Stroke{rule_grey, 0.5}});
    // A sign lies along the swatch or stands in it, whichever shows more of it.
    const auto place = entry.lie == Lie::along
                           ? std::function<Point(double, double)>([middle](double at, double across) {
                               return Point{middle.x - at, middle.y - across};
                             })
                           : [middle](double at, double across) {
                               return Point{middle.x + across, middle.y - at};
                             };
    add(layer.items, entry.sign(Ground{place, 1.0, 1.0, film ? on_film : on_paper}));
    layer.items.push_back(Text{{swatch.right() + 5.0, middle.y + 0.36 * size_small},
                               fitted(entry.text, size_small, column_width - swatch_width - 9.0),
                               size_small,
                               ink});
  }
  return layer;
}

}  // namespace canalrule::report
