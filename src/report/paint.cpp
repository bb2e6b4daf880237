#include "paint.hpp"

#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <cmath>
#include <numbers>

#include "look.hpp"

namespace canalrule::report {
namespace {

class Painter {
 public:
  Painter(cairo_t* pen, Letters letters) : pen_(pen), letters_(letters) {}

  void operator()(const Raster& raster) const {
    const Surface film = grey_surface(raster.image, CAIRO_FORMAT_RGB24);
    cairo_save(pen_);
    cairo_translate(pen_, raster.box.left, raster.box.top);
    cairo_scale(pen_, raster.box.width / raster.image.columns, raster.box.height / raster.image.rows);
    cairo_set_source_surface(pen_, film.get(), 0.0, 0.0);
    cairo_pattern_set_extend(cairo_get_source(pen_), CAIRO_EXTEND_PAD);
    cairo_pattern_set_filter(cairo_get_source(pen_), CAIRO_FILTER_GOOD);
    cairo_rectangle(pen_, 0.0, 0.0, raster.image.columns, raster.image.rows);
    cairo_fill(pen_);
    cairo_restore(pen_);
  }

  void operator()(const Polygon& polygon) const {
    trace(polygon.points);
    cairo_close_path(pen_);
    if (polygon.fill) {
      ink(*polygon.fill);
      cairo_fill_preserve(pen_);
    }
    if (polygon.stroke) stroke(*polygon.stroke);
    cairo_new_path(pen_);
  }

  void operator()(const Line& line) const {
    trace(line.points);
    if (line.casing) stroke(*line.casing);
    stroke(line.stroke);
    cairo_new_path(pen_);
  }

  void operator()(const Text& text) const {
    cairo_select_font_face(pen_, font_family, CAIRO_FONT_SLANT_NORMAL,
                           text.weight == Weight::bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(pen_, text.size);
    cairo_text_extents_t extents{};
    cairo_text_extents(pen_, text.text.c_str(), &extents);
    const double share = text.anchor == Anchor::start ? 0.0 : text.anchor == Anchor::middle ? 0.5 : 1.0;
    cairo_save(pen_);
    cairo_translate(pen_, text.at.x, text.at.y);
    cairo_rotate(pen_, text.turned_deg * std::numbers::pi / 180.0);
    cairo_move_to(pen_, -share * extents.x_advance, 0.0);
    if (letters_ == Letters::outlined || text.halo) cairo_text_path(pen_, text.text.c_str());
    if (text.halo) stroke(Stroke{*text.halo, halo_width, Dash::solid});
    ink(text.colour);
    if (letters_ == Letters::outlined) {
      cairo_fill(pen_);
    } else {
      cairo_new_path(pen_);
      cairo_move_to(pen_, -share * extents.x_advance, 0.0);
      cairo_show_text(pen_, text.text.c_str());
    }
    cairo_restore(pen_);
  }

 private:
  void trace(const Polyline& points) const {
    cairo_new_path(pen_);
    for (const Point& point : points) cairo_line_to(pen_, point.x, point.y);
  }

  void ink(const Colour& colour) const {
    cairo_set_source_rgba(pen_, colour.red / 255.0, colour.green / 255.0, colour.blue / 255.0,
                          colour.opacity);
  }

  /// Draws the path and keeps it.
  void stroke(const Stroke& style) const {
    ink(style.colour);
    cairo_set_line_width(pen_, style.width);
    cairo_set_line_join(pen_, CAIRO_LINE_JOIN_ROUND);
    cairo_set_line_cap(pen_, style.dash == Dash::dotted ? CAIRO_LINE_CAP_ROUND : CAIRO_LINE_CAP_BUTT);
    const std::vector<double> dashes = dash_lengths(style);
    cairo_set_dash(pen_, dashes.data(), static_cast<int>(dashes.size()), 0.0);
    cairo_stroke_preserve(pen_);
  }

  cairo_t* pen_;
  Letters letters_;
};

}  // namespace

Surface make_image(cairo_format_t format, int columns, int rows) {
  Surface surface(cairo_image_surface_create(format, columns, rows), &cairo_surface_destroy);
  ensure(cairo_surface_status(surface.get()) == CAIRO_STATUS_SUCCESS, "cairo makes an image surface");
  return surface;
}

Surface grey_surface(const GreyImage& image, cairo_format_t format) {
  Surface surface = make_image(format, image.columns, image.rows);
  cairo_surface_flush(surface.get());
  unsigned char* const data = cairo_image_surface_get_data(surface.get());
  const int stride = cairo_image_surface_get_stride(surface.get());
  const int bytes = format == CAIRO_FORMAT_A8 ? 1 : 4;
  for (int row = 0; row < image.rows; ++row) {
    for (int column = 0; column < image.columns; ++column) {
      const std::size_t from = static_cast<std::size_t>(row) * static_cast<std::size_t>(image.columns) +
                               static_cast<std::size_t>(column);
      std::fill_n(data + std::ptrdiff_t{row} * stride + std::ptrdiff_t{column} * bytes, bytes,
                  image.grey[from]);
    }
  }
  cairo_surface_mark_dirty(surface.get());
  return surface;
}

void paint(cairo_t* pen, const Scene& scene, Letters letters) {
  const std::unique_ptr<cairo_font_options_t, decltype(&cairo_font_options_destroy)> options(
      cairo_font_options_create(), &cairo_font_options_destroy);
  cairo_font_options_set_hint_style(options.get(), CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options.get(), CAIRO_HINT_METRICS_OFF);
  cairo_set_font_options(pen, options.get());
  for (const Layer& layer : scene.layers) {
    cairo_save(pen);
    if (layer.clip) {
      cairo_rectangle(pen, layer.clip->left, layer.clip->top, layer.clip->width, layer.clip->height);
      cairo_clip(pen);
    }
    for (const Item& item : layer.items) std::visit(Painter(pen, letters), item);
    cairo_restore(pen);
  }
  ensure(cairo_status(pen) == CAIRO_STATUS_SUCCESS, "cairo draws the whole scene");
}

}  // namespace canalrule::report
