#include "draw_png.hpp"

#include <canalrule/base/fault.hpp>
#include <cmath>

#include "paint.hpp"

namespace canalrule::report {
namespace {

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

}  // namespace

std::vector<std::uint8_t> draw_png(const Scene& scene) {
  const double dots_per_point = png_dots_per_inch / 72.0;
  const Surface page =
      make_image(CAIRO_FORMAT_RGB24, static_cast<int>(std::lround(scene.width * dots_per_point)),
                 static_cast<int>(std::lround(scene.height * dots_per_point)));
  {
    const Pen pen(cairo_create(page.get()), &cairo_destroy);
    cairo_set_source_rgb(pen.get(), 1.0, 1.0, 1.0);
    cairo_paint(pen.get());
    cairo_scale(pen.get(), dots_per_point, dots_per_point);
    paint(pen.get(), scene, Letters::outlined);
  }
  return encoded(page);
}

std::vector<std::uint8_t> encode_grey_png(const GreyImage& image) {
  return encoded(grey_surface(image, CAIRO_FORMAT_A8));
}

}  // namespace canalrule::report
