#include <algorithm>
#include <canalrule/report/grade_pages.hpp>

#include "canal_panel.hpp"
#include "film_panel.hpp"
#include "legend.hpp"
#include "plain_text.hpp"

namespace canalrule::report {
namespace {

constexpr double column_width = 510.0;  // points: an upright A4 sheet (ISO 216) with margins of 15 mm
constexpr double only_row = 330.0, one_of_rows = 250.0;  // heights; two rows and a heading fit a sheet
constexpr double gap = 16.0;
constexpr double legend_gap = 8.0;
constexpr double narrowest_canal = 140.0;  // with its labels

std::string description(const Result& result) {
  std::string text =
      "Left: the film with the fill that was found and its faults. Right: each canal unrolled straight, "
      "the fill's width against the distance from the apex, beside the planned cone. Canals:";
  for (const CanalResult& canal : result.canals) text += " " + clean(canal.name);
  return text + ".";
}

}  // namespace

Scene case_scene(const Film& film, const Result& result) {
  const std::size_t canals = result.canals.size();
  const double film_width = canals > 1 ? 200.0 : 240.0;
  const double beside_width = column_width - film_width - gap;
  const std::size_t beside = std::clamp<std::size_t>(
      canals, 1, static_cast<std::size_t>((beside_width + gap) / (narrowest_canal + gap)));
  const std::size_t in_a_row = static_cast<std::size_t>((column_width + gap) / (narrowest_canal + gap));
  const std::size_t below = canals > beside ? canals - beside : 0;
  const std::size_t rows_below = (below + in_a_row - 1) / in_a_row;

  const double row_height = rows_below > 0 ? one_of_rows : only_row;
  const double legend_tall = legend_height(result, column_width);
  const Box film_frame{0.0, 0.0, film_width, row_height};
  Scene scene{column_width, 0.0, {}, description(result), {}};
  // Not the film's file name: it may name a patient.
  scene.title = "The film and its canals, tooth " +
                (result.provenance.tooth.empty() ? "not said" : clean(result.provenance.tooth));
  for (Layer& layer : film_panel(film, result, film_frame)) scene.layers.push_back(std::move(layer));

  const UnrolledRange range = unrolled_range(result);
  for (std::size_t i = 0; i < canals; ++i) {
    const bool first_row = i < beside;
    const std::size_t of_row = first_row ? beside : in_a_row;
    const std::size_t place = first_row ? i : (i - beside) % in_a_row;
    const double left = first_row ? film_frame.right() + gap : 0.0;
    const double wide = (column_width - left + gap) / static_cast<double>(of_row) - gap;
    const double top =
        first_row ? 0.0 : static_cast<double>(1 + (i - beside) / in_a_row) * (row_height + gap);
    scene.layers.push_back(
        canal_panel(result.canals[i], result, range,
                    {left + static_cast<double>(place) * (wide + gap), top, wide, row_height}, i));
  }
  const double bottom = row_height + static_cast<double>(rows_below) * (row_height + gap);
  scene.layers.push_back(legend(result, {0.0, bottom + legend_gap, column_width, legend_tall}));
  scene.height = bottom + legend_gap + legend_tall;
  return scene;
}

}  // namespace canalrule::report
