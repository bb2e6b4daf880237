#include "film_panel.hpp"

#include <canalrule/report/figures.hpp>

#include <algorithm>
#include <array>
#include <cmath>

#include "centre_line.hpp"
#include "draw_png.hpp"
#include "film_image.hpp"
#include "labels.hpp"
#include "plain_text.hpp"
#include "symbols.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr double usual_half_width_mm = 0.5;  // of signs where no width was measured

/// Where the crop of the film lies on the page.
struct View {
  Crop crop;
  Box box;
  double aspect = 1.0;
  double points_per_column() const { return box.width / crop.columns; }
  Point place(Point image) const {
    return {box.left + (image.x - crop.left) * points_per_column(),
            box.top + (image.y - crop.top) * points_per_column() * aspect};
  }
};

View fit(const Film& film, const Crop& crop, const Box& frame) {
  View view{crop, {}, film.row_to_column_aspect > 0.0 ? film.row_to_column_aspect : 1.0};
  const double tall = crop.rows * view.aspect;
  const double scale = std::min(frame.width / crop.columns, frame.height / tall);
  view.box = {frame.left, frame.top, crop.columns * scale, tall * scale};
  return view;
}

Raster raster_of(const Film& film, const Result& result, const View& view) {
  // One and a half film pixels per dot of the PNG keep what can be seen (chosen here by eye).
  const auto most = [](double points) {
    return std::max(1, static_cast<int>(1.5 * points * png_dots_per_inch / 72.0));
  };
  return {view.box, look_at(film, result, view.crop, most(view.box.width), most(view.box.height))};
}

Polyline frame_of(const Box& box) {
  return {{box.left, box.top}, {box.right(), box.top}, {box.right(), box.bottom()}, {box.left, box.bottom()}};
}

Text film_text(Point at, std::string text, double size, Colour colour, Anchor anchor) {
  return {at, std::move(text), size, colour, anchor, Weight::normal, 0.0, Colour{0, 0, 0, 0.75}};
}

/// The signs of one canal on the film.
class CanalOnFilm {
 public:
  CanalOnFilm(const CanalResult& canal, const Result& result, const View& view, double scale_side,
              Occupied& occupied, std::vector<Item>& items)
      : canal_(canal),
        view_(view),
        side_(scale_side),
        occupied_(occupied),
        items_(items),
        line_(canal.centre_line, [&view](Point image) { return view.place(image); }) {
    const double mm_per_column = result.scale.mm_per_pixel;
    points_per_mm_ = mm_per_column > 0.0 ? view.points_per_column() / mm_per_column : 1.0;
    ground_ = Ground{
        [this](double at_mm, double across_mm) { return line_.beside(at_mm, across_mm * points_per_mm_); },
        points_per_mm_, points_per_mm_, on_film};
    for (const WidthAt& width : canal.width) widest_mm_ = std::max(widest_mm_, width.width_mm);
    if (widest_mm_ <= 0.0) widest_mm_ = 2.0 * usual_half_width_mm;
  }

  void draw() {
    if (canal_.drawn_path.size() >= 2) path();
    if (!line_.empty()) found();
    name();
  }

 private:
  double half_width(double at_mm) const {
    return width_near(canal_, at_mm).value_or(2.0 * usual_half_width_mm) / 2.0;
  }

  void path() {
    Polyline points;
    for (const Point& point : canal_.drawn_path) points.push_back(view_.place(point));
    items_.push_back(styled(on_film, std::move(points), Stroke{on_film.drawn, 1.0, Dash::dotted}));
  }

  void found() {
    outline();
    stretches();
    scale();
    add(items_, apex_sign(ground_, widest_mm_ / 2.0 + mm(7.0)));
    for (const MaterialBeyond& piece : canal_.material_beyond_apex) {
      add(items_, beyond_sign(ground_, piece.from_mm, piece.to_mm, -side_ * (widest_mm_ / 2.0 + mm(5.0))));
    }
    for (const TaperBreak& each : canal_.taper.breaks) {
      add(items_, break_sign(ground_, each.at_mm, half_width(each.at_mm), each.kind));
    }
    if (canal_.terminus) {
      const double at = canal_.terminus->to_apex_mm;
      add(items_, terminus_sign(ground_, at, half_width(at) + mm(4.0)));
    }
    voids();
  }

  double mm(double points) const { return points / points_per_mm_; }

  void outline() {
    if (!fill_found(canal_)) return;
    const std::vector<CentreAt>& all = canal_.centre_line;
    for (const double side : {-1.0, 1.0}) {
      Polyline run;
      const auto finish = [&] {
        if (run.size() >= 2)
          items_.push_back(styled(on_film, run, Stroke{on_film.outline, 0.8, Dash::solid}));
        run.clear();
      };
      for (const CentreAt& each : all) {
        if (each.half_width_px)
          run.push_back(line_.beside(each.at_mm, side * *each.half_width_px * view_.points_per_column()));
        else
          finish();
      }
      finish();
    }
    Polyline centre;
    for (const CentreAt& each : all) centre.push_back(view_.place(each.position));
    items_.push_back(styled(on_film, std::move(centre), Stroke{on_film.centre, 0.7, Dash::solid}));
  }

  void stretches() {
    for (const NotAssessable& entry : stretches_not_assessable(canal_))
      add(items_, hatched_stretch(ground_, *entry.from_mm, *entry.to_mm, widest_mm_ / 2.0 + mm(2.0)));
    if (canal_.empty_canal && canal_.empty_canal->visible) {
      add(items_, empty_sign(ground_, canal_.empty_canal->from_mm, canal_.empty_canal->to_mm,
                             half_width(canal_.empty_canal->to_mm)));
    }
  }

  /// A millimetre scale that runs beside the canal, numbered from the apex.
  void scale() {
    const int lowest = static_cast<int>(std::ceil(std::max(line_.apical_end_mm(), -5.0)));
    const int highest = static_cast<int>(std::floor(std::min(line_.coronal_end_mm(), 60.0)));
    const double offset = side_ * (widest_mm_ / 2.0 + mm(9.0));
    if (points_per_mm_ < 1.5 || highest <= lowest) return;
    Polyline edge;
    for (double at = lowest; at <= highest + 1e-9; at += 0.25) edge.push_back(ground_.place(at, offset));
    items_.push_back(styled(on_film, std::move(edge), Stroke{on_film.scale, 0.6, Dash::solid}));
    const int numbered_every = points_per_mm_ * 2.0 >= 16.0 ? 2 : points_per_mm_ * 5.0 >= 14.0 ? 5 : 10;
    for (int at = lowest; at <= highest; ++at) {
      const bool numbered = at % numbered_every == 0;
      const double length = side_ * mm(numbered ? 5.0 : 3.0);
      items_.push_back(styled(on_film, {ground_.place(at, offset), ground_.place(at, offset + length)},
                              Stroke{on_film.scale, numbered ? 0.9 : 0.6, Dash::solid}));
      if (numbered) number(at, offset + length);
    }
  }

  void number(int at, double from_offset) {
    const std::string text = fixed(at, 0);
    const double wide = text_width(text, size_small);
    const Point middle = ground_.place(at, from_offset + side_ * mm(3.0 + wide / 2.0));
    const Box box{middle.x - wide / 2.0, middle.y - size_small / 2.0, wide, size_small};
    if (!occupied_.free(box)) return;
    occupied_.take(box);
    items_.push_back(
        film_text({middle.x, middle.y + 0.36 * size_small}, text, size_small, on_film.scale, Anchor::middle));
  }

  void voids() {
    if (!canal_.voids) return;
    std::size_t index = 0;
    for (const Void& gap : *canal_.voids) {
      const double at = (gap.from_mm + gap.to_mm) / 2.0;
      const double offset = mm(line_.offset_of(at, view_.place(gap.position)));
      add(items_,
          void_sign(ground_, {gap.kind, gap.from_mm, gap.to_mm, gap.width_mm.value, offset, half_width(at)}));
      ring(++index, at);
    }
  }

  /// The void's number beside it, on the side without the scale where there is room, with a leader.
  void ring(std::size_t index, double at) {
    const double near = half_width(at) + mm(ring_radius + 5.0);
    for (const double offset : {-side_ * near, -side_ * (near + mm(11.0)), side_ * (near + mm(26.0)),
                                -side_ * (near + mm(22.0)), side_ * (near + mm(37.0))}) {
      const Point centre = ground_.place(at, offset);
      const Box box{centre.x - ring_radius, centre.y - ring_radius, 2.0 * ring_radius, 2.0 * ring_radius};
      if (!occupied_.free(box)) continue;
      occupied_.take(box);
      const double sign = offset < 0.0 ? -1.0 : 1.0;
      items_.push_back(styled(
          on_film,
          {ground_.place(at, sign * half_width(at)), ground_.place(at, offset - sign * mm(ring_radius))},
          Stroke{on_film.gap, 0.6, Dash::solid}));
      add(items_, numbered_ring(index, centre, on_film));
      return;
    }
  }

  /// Beyond the orifice, in the direction the canal comes from.
  void name() {
    if (canal_.drawn_path.size() < 2) return;
    const Point end = view_.place(canal_.drawn_path[0]);
    const Point next = view_.place(canal_.drawn_path[1]);
    const double length = std::max(1e-9, std::hypot(end.x - next.x, end.y - next.y));
    const std::string text = shortened(clean(canal_.name), 14);
    const double wide = text_width(text, size_heading, Weight::bold);
    constexpr double away = 9.0;
    const auto held = [](double value, double low, double high) {
      return std::max(low, std::min(value, high));
    };
    Point at{held(end.x + away * (end.x - next.x) / length, view_.box.left + wide / 2.0 + 3.0,
                  view_.box.right() - wide / 2.0 - 3.0),
             held(end.y + away * (end.y - next.y) / length + 0.36 * size_heading,
                  view_.box.top + size_heading + 2.0, view_.box.bottom() - 4.0)};
    for (int tries = 0; tries < 6; ++tries) {
      const Box box{at.x - wide / 2.0, at.y - size_heading, wide, 1.2 * size_heading};
      if (occupied_.free(box)) break;
      at.y += at.y < view_.box.centre().y ? 1.25 * size_heading : -1.25 * size_heading;
    }
    occupied_.take({at.x - wide / 2.0, at.y - size_heading, wide, 1.2 * size_heading});
    Text label = film_text(at, text, size_heading, white, Anchor::middle);
    label.weight = Weight::bold;
    items_.push_back(std::move(label));
  }

  const CanalResult& canal_;
  const View& view_;
  double side_;
  Occupied& occupied_;
  std::vector<Item>& items_;
  CentreLine line_;
  Ground ground_;
  double points_per_mm_ = 1.0;
  double widest_mm_ = 0.0;
};

/// +1 where the scale stands on the right of the canal (looking towards the crown), -1 on the left:
/// the side away from the other canals, the nearest counting most.
double scale_side(const Result& result, std::size_t index) {
  const CentreLine line(result.canals[index].centre_line, [](Point p) { return p; });
  if (line.empty()) return 1.0;
  const double middle = (line.apical_end_mm() + line.coronal_end_mm()) / 2.0;
  double crowding = 0.0;
  for (std::size_t i = 0; i < result.canals.size(); ++i) {
    const CentreLine other(result.canals[i].centre_line, [](Point p) { return p; });
    if (i == index || other.empty()) continue;
    const Point place = other.place((other.apical_end_mm() + other.coronal_end_mm()) / 2.0);
    const double offset = line.offset_of(middle, place);
    if (offset != 0.0) crowding += 1.0 / offset;
  }
  return crowding > 0.0 ? -1.0 : 1.0;
}

/// The whole film, small, with the part that is shown marked on it, in a corner clear of the canals.
std::optional<Layer> inset(const Film& film, const Result& result, const View& view) {
  if (view.crop.columns == film.grey.cols && view.crop.rows == film.grey.rows) return std::nullopt;
  const double longest = 0.2 * std::min(view.box.width, view.box.height);
  const double tall = film.grey.rows * view.aspect;
  const double scale = longest / std::max<double>(film.grey.cols, tall);
  const double wide_points = film.grey.cols * scale;
  const double tall_points = tall * scale;
  constexpr double gap = 6.0;
  for (const auto& [x, y] : {std::pair{view.box.left + gap, view.box.top + gap},
                             {view.box.right() - gap - wide_points, view.box.top + gap},
                             {view.box.left + gap, view.box.bottom() - gap - tall_points},
                             {view.box.right() - gap - wide_points, view.box.bottom() - gap - tall_points}}) {
    const Box box{x, y, wide_points, tall_points};
    constexpr double clearance = 26.0;  // of signs and numbers beside a canal, points
    const auto inside = [&, box = box](Point image) {
      const Point p = view.place(image);
      return p.x > box.left - clearance && p.x < box.right() + clearance && p.y > box.top - clearance &&
             p.y < box.bottom() + clearance;
    };
    const bool covered =
        std::any_of(result.canals.begin(), result.canals.end(), [&](const CanalResult& canal) {
          return std::any_of(canal.drawn_path.begin(), canal.drawn_path.end(), inside) ||
                 std::any_of(canal.centre_line.begin(), canal.centre_line.end(),
                             [&](const CentreAt& each) { return inside(each.position); });
        });
    if (covered) continue;
    const View small{whole_film(film), box, view.aspect};
    const Point from = small.place({static_cast<double>(view.crop.left), static_cast<double>(view.crop.top)});
    const Point to = small.place({static_cast<double>(view.crop.left + view.crop.columns),
                                  static_cast<double>(view.crop.top + view.crop.rows)});
    return Layer{"whole-film",
                 std::nullopt,
                 {raster_of(film, result, small), Polygon{frame_of(box), std::nullopt, Stroke{white, 0.8}},
                  Polygon{frame_of({from.x, from.y, to.x - from.x, to.y - from.y}), std::nullopt,
                          Stroke{white, 0.9, Dash::dashed}}}};
  }
  return std::nullopt;
}

}  // namespace

Box film_box(const Film& film, const Result& result, const Box& frame) {
  return fit(film, crop_to_canals(film, result, frame), frame).box;
}

std::vector<Layer> film_panel(const Film& film, const Result& result, const Box& frame) {
  const View view = fit(film, crop_to_canals(film, result, frame), frame);
  std::vector<Layer> layers;
  layers.push_back({"film",
                    std::nullopt,
                    {Polygon{frame_of(view.box), film_ground, std::nullopt}, raster_of(film, result, view)}});
  Layer signs{"signs-on-film", view.box, {}};
  Occupied occupied;
  for (std::size_t i = 0; i < result.canals.size(); ++i) {
    CanalOnFilm(result.canals[i], result, view, scale_side(result, i), occupied, signs.items).draw();
  }
  layers.push_back(std::move(signs));
  if (std::optional<Layer> whole = inset(film, result, view)) layers.push_back(*std::move(whole));
  layers.push_back(
      {"film-frame", std::nullopt, {Polygon{frame_of(view.box), std::nullopt, Stroke{ink, 0.6}}}});
  return layers;
}

}  // namespace canalrule::report
