#include <canalrule/report/scene.hpp>

#include <algorithm>
#include <cmath>

#include "canal_panel.hpp"
#include "film_panel.hpp"
#include "legend.hpp"
#include "plain_text.hpp"
#include "summary.hpp"
#include "symbols.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr double page_width = 841.89;  // A4 landscape, ISO 216
constexpr double page_height = 595.28;
constexpr double margin = 28.0;
constexpr double gap = 20.0;  // between film and canals
constexpr double body_top = 70.0;
constexpr double body_height = 448.0;
constexpr std::size_t canals_in_a_row = 4;

/// Lines of text from a baseline down.
void block(std::vector<Item>& items, const std::vector<std::string>& lines, Point at, double size,
           Colour colour) {
  for (const std::string& line : lines) {
    items.push_back(Text{at, line, size, colour});
    at.y += line_height(size);
  }
}

std::string or_unknown(const std::string& text) { return text.empty() ? std::string(unknown) : clean(text); }

Layer header(const Result& result) {
  const Provenance& from = result.provenance;
  const double wide = page_width - 2.0 * margin;
  Layer layer{"header", std::nullopt, {}};
  const std::string title = "Root canal filling, tooth " + or_unknown(from.tooth);
  layer.items.push_back(Text{{margin, margin + 11.0},
                             fitted(title, size_title, 0.5 * wide, Weight::bold),
                             size_title,
                             ink,
                             Anchor::start,
                             Weight::bold});
  layer.items.push_back(Text{{page_width - margin, margin + 11.0},
                             fitted(joined({from.image_file.empty() ? "" : "film " + clean(from.image_file),
                                            from.reader.empty() ? "" : "read by " + clean(from.reader)},
                                           " · "),
                                    size_heading, 0.48 * wide),
                             size_heading,
                             ink,
                             Anchor::end});
  const FilmQuality& film = result.film;
  const std::string second = "Scale " + scale_words(result.scale) + ".  Film " +
                             std::to_string(film.columns) + " × " + std::to_string(film.rows) + ", noise " +
                             fixed(film.noise_grey, 1) + " grey levels, blur " +
                             (film.blur_mm ? mm(*film.blur_mm) : std::string(unknown)) + ", clipped " +
                             percent(film.clipped_share, 1) + ", halo " +
                             (film.halo_share ? percent(*film.halo_share, 0) : std::string(unknown)) + ".";
  layer.items.push_back(Text{{margin, margin + 25.0}, fitted(second, size_text, wide), size_text, ink_soft});
  layer.items.push_back(
      Line{{{margin, margin + 32.0}, {page_width - margin, margin + 32.0}}, {ink, 0.8}, std::nullopt});
  return layer;
}

Layer footer(const Result& result, double bottom) {
  const double wide = page_width - 2.0 * margin;
  Layer layer{"footer", std::nullopt, {}};
  layer.items.push_back(
      Line{{{margin, bottom - 42.0}, {page_width - margin, bottom - 42.0}}, {ink, 0.8}, std::nullopt});
  constexpr std::size_t most_lines = 4;
  const auto cut_to = [wide](std::vector<std::string>& lines, std::size_t most, std::string_view rest) {
    if (lines.size() <= most) return;
    lines.resize(most);
    lines.back() = fitted(lines.back() + " …" + std::string(rest), size_small, wide);
  };
  const std::string made_by =
      joined({clean(result.provenance.program),
              result.judged ? "judged by " + criteria_words(*result.judged) : "not judged: no criteria given",
              "± expanded uncertainty, k = 2 (about 95 %)",
              result.judged ? "p:\u00A0probability\u00A0of\u00A0being\u00A0within" : ""},
             " · ");
  std::vector<std::string> last = wrapped_to(made_by, size_small, wide, wide);
  cut_to(last, most_lines - 1, "");
  std::vector<std::string> cautions;
  for (const std::string& caution : result.cautions) cautions.push_back(clean(caution));
  std::vector<std::string> lines = wrapped_to(joined(cautions, " "), size_small, wide, wide);
  cut_to(lines, most_lines - last.size(), " all in the text report");
  block(layer.items, lines, {margin, bottom - 32.0}, size_small, ink);
  block(layer.items, last,
        {margin, bottom - 32.0 + static_cast<double>(lines.size()) * line_height(size_small) + 2.0},
        size_small, ink_soft);
  return layer;
}

std::string description(const Result& result) {
  std::vector<std::string> parts{
      "Left: the film with the drawn and the found centre line and what was found. Right: each canal "
      "unrolled straight, "
      "its width against the distance from the apex."};
  for (const CanalResult& canal : result.canals) {
    parts.push_back("Canal " + clean(canal.name) + ": terminus " +
                    (canal.terminus ? terminus_words(*canal.terminus) : "not assessable") + "; " +
                    (canal.voids ? std::to_string(canal.voids->size()) + " voids" : "voids not assessable") +
                    ".");
  }
  return joined(parts, " ");
}

/// How tall the words below a canal are: the narrower, the taller.
double summary_height(std::size_t canals) { return canals <= 2 ? 146.0 : 200.0; }

/// How wide the film's column is: the more canals, the less.
double film_width(std::size_t canals) {
  return canals <= 1 ? 370.0 : canals == 2 ? 345.0 : canals == 3 ? 285.0 : 230.0;
}

}  // namespace

Scene page_scene(const Film& film, const Result& result) {
  const std::size_t canals = result.canals.size();
  const std::size_t rows = std::max<std::size_t>(1, (canals + canals_in_a_row - 1) / canals_in_a_row);
  const double bottom = page_height + static_cast<double>(rows - 1) * (body_height + gap) - margin;
  Scene scene{page_width, bottom + margin, {}, description(result), {}};
  const std::string& file = result.provenance.image_file;
  scene.title = joined({"Root canal filling, tooth " + or_unknown(result.provenance.tooth),
                        file.empty() ? "" : "film " + clean(file)},
                       ", ");
  scene.layers.push_back(header(result));

  const double column = film_width(canals);
  const double legend_tall = legend_height(result, column);
  const Box film_frame{margin, body_top, column, body_height - legend_tall - 8.0};
  for (Layer& layer : film_panel(film, result, film_frame)) scene.layers.push_back(std::move(layer));
  scene.layers.push_back(
      legend(result, {margin, film_box(film, result, film_frame).bottom() + 8.0, column, legend_tall}));

  const double left = film_frame.right() + gap;
  const double right = page_width - margin;
  const std::size_t in_a_row = std::clamp<std::size_t>(canals, 1, canals_in_a_row);
  const double between = 12.0;
  const double wide = (right - left + between) / static_cast<double>(in_a_row) - between;
  const UnrolledRange range = unrolled_range(result);
  const double words = summary_height(canals);
  for (std::size_t i = 0; i < canals; ++i) {
    const double x = left + static_cast<double>(i % canals_in_a_row) * (wide + between);
    const double y = body_top + static_cast<double>(i / canals_in_a_row) * (body_height + gap);
    scene.layers.push_back(
        canal_panel(result.canals[i], result, range, {x, y, wide, body_height - words}, i));
    scene.layers.push_back(summary(result.canals[i], result,
                                   {x, y + body_height - words + 4.0, wide, words - 4.0},
                                   i));
  }
  scene.layers.push_back(footer(result, bottom));
  return scene;
}

}  // namespace canalrule::report
