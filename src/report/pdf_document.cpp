#include <cairo-pdf.h>

#include <canalrule/base/fault.hpp>
#include <canalrule/base/version.hpp>
#include <canalrule/report/document.hpp>

#include "paint.hpp"
#include "plain_text.hpp"
#include "sheets.hpp"

namespace canalrule::report {
namespace {

cairo_status_t append(void* bytes, const unsigned char* data, unsigned int length) {
  static_cast<std::string*>(bytes)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

/// Every PDF bears this date, so that the same document gives the same bytes: that of the PDF standard's
/// first edition (ISO 32000-1:2008), no day on which anything was measured.
constexpr const char* fixed_date = "2008-07-01T00:00:00Z";

void describe(cairo_surface_t* surface, const Document& document) {
  const std::string title = clean(document.title);
  const std::string made_by = "canalrule " + std::string(version());
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title.c_str());
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, made_by.c_str());
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, fixed_date);
}

void draw(cairo_t* pen, const Sheet& sheet) {
  for (const Placement& placed : sheet.placements) {
    cairo_save(pen);
    cairo_translate(pen, placed.at.x, placed.at.y);
    cairo_scale(pen, placed.scale, placed.scale);
    paint(pen, placed.scene, Letters::as_text);
    cairo_restore(pen);
  }
  paint(pen,
        Scene{sheet.whole.width, sheet.whole.height, {}, {}, {Layer{"sheet", std::nullopt, sheet.items}}},
        Letters::as_text);
}

}  // namespace

std::string pdf_document(const Document& document) {
  std::string bytes;
  const std::vector<Sheet> sheets = sheets_of(document);
  const Surface surface(cairo_pdf_surface_create_for_stream(append, &bytes, sheets.front().whole.width,
                                                            sheets.front().whole.height),
                        &cairo_surface_destroy);
  cairo_pdf_surface_restrict_to_version(surface.get(), CAIRO_PDF_VERSION_1_5);
  describe(surface.get(), document);
  {
    const Pen pen(cairo_create(surface.get()), &cairo_destroy);
    for (const Sheet& sheet : sheets) {
      cairo_pdf_surface_set_size(surface.get(), sheet.whole.width, sheet.whole.height);
      draw(pen.get(), sheet);
      cairo_show_page(pen.get());
    }
    ensure(cairo_status(pen.get()) == CAIRO_STATUS_SUCCESS, "cairo draws every sheet");
  }
  cairo_surface_finish(surface.get());
  ensure(cairo_surface_status(surface.get()) == CAIRO_STATUS_SUCCESS, "cairo writes the PDF");
  return bytes;
}

}  // namespace canalrule::report
