#include "draw_png.hpp"

#include <cairo.h>

#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <cmath>
#include <memory>
#include <numbers>
#include <type_traits>

#include "look.hpp"

namespace canalrule::report {
namespace {

using Surface = std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>;
using Pen = std::unique_ptr<cairo_t, decltype(&cairo_destroy)>;

Surface make_surface(cairo_format_t format, int columns, int rows) {
  Surface surface(cairo_image_surface_create(format, columns, rows), &cairo_surface_destroy);
  ensure(cairo_surface_status(surface.get()) == CAIRO_STATUS_SUCCESS, "cairo makes an image surface");
  return surface;
}

cairo_status_t append(void* bytes, const unsigned char* data, unsigned int length) {
  auto& out = *static_cast<std::vector<std::uint8_t>*>(bytes);
  out.insert(out.end(), data, data + length);
  return CAIRO_STATUS_SUCCESS;
}

std::vector<std::uint8_t> encoded(const Surface& surface) {
  std::vector<std::uint8_t> bytes;
  const cairo_status_t status = cairo_surface_write_to_png_stream(surface.get(), append, &bytes);
  ensure(status == CAIRO_STATUS_SUCCESS, "cairo encodes a surface as PNG");
  return bytes;
}

/// A surface of the grey picture; `format` is A8 (one byte a pixel) or RGB24 (four).
Surface grey_surface(const GreyImage& image, cairo_format_t format) {
  Surface surface = make_surface(format, image.columns, image.rows);
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

class Painter {
 public:
  explicit Painter(cairo_t* pen) : pen_(pen) {}

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
    cairo_text_path(pen_, text.text.c_str());
    if (text.halo) stroke(Stroke{*text.halo, halo_width, Dash::solid});
    ink(text.colour);
    cairo_fill(pen_);
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
};

}  // namespace

std::vector<std::uint8_t> draw_png(const Scene& scene) {
  const double dots_per_point = png_dots_per_inch / 72.0;
  const Surface page =
      make_surface(CAIRO_FORMAT_RGB24, static_cast<int>(std::lround(scene.width * dots_per_point)),
                   static_cast<int>(std::lround(scene.height * dots_per_point)));
  {
    const Pen pen(cairo_create(page.get()), &cairo_destroy);
    cairo_set_source_rgb(pen.get(), 1.0, 1.0, 1.0);
    cairo_paint(pen.get());
    cairo_scale(pen.get(), dots_per_point, dots_per_point);
    // Letters are filled outlines: neither hinting nor the screen's sub-pixels change them.
    const std::unique_ptr<cairo_font_options_t, decltype(&cairo_font_options_destroy)> options(
        cairo_font_options_create(), &cairo_font_options_destroy);
    cairo_font_options_set_hint_style(options.get(), CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options.get(), CAIRO_HINT_METRICS_OFF);
    cairo_set_font_options(pen.get(), options.get());
    for (const Layer& layer : scene.layers) {
      cairo_save(pen.get());
      if (layer.clip) {
        cairo_rectangle(pen.get(), layer.clip->left, layer.clip->top, layer.clip->width, layer.clip->height);
        cairo_clip(pen.get());
      }
      for (const Item& item : layer.items) std::visit(Painter(pen.get()), item);
      cairo_restore(pen.get());
    }
    ensure(cairo_status(pen.get()) == CAIRO_STATUS_SUCCESS, "cairo draws the whole scene");
  }
  return encoded(page);
}

std::vector<std::uint8_t> encode_grey_png(const GreyImage& image) {
  return encoded(grey_surface(image, CAIRO_FORMAT_A8));
}

}  // namespace canalrule::report
