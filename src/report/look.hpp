#pragma once

#include <string>
#include <string_view>
#include <vector>

#include <canalrule/report/scene.hpp>

/// How everything in the picture looks: letters, inks, line styles. Every kind of thing has a shape or
/// a line style of its own; the inks only help.
namespace canalrule::report {

constexpr const char* font_families = "DejaVu Sans, Verdana, sans-serif";

/// Type sizes in points: 6 is the smallest that prints legibly (common practice, no source).
constexpr double size_title = 13.0;
constexpr double size_heading = 9.5;
constexpr double size_text = 7.5;
constexpr double size_small = 6.5;

constexpr double line_height(double size) { return 1.28 * size; }

constexpr Colour white{255, 255, 255};
constexpr Colour black{0, 0, 0};
constexpr Colour ink{28, 30, 33};
constexpr Colour ink_soft{92, 98, 105};
constexpr Colour rule_grey{200, 204, 209};
constexpr Colour film_ground{24, 25, 27};

/// The inks of what was found, once for a dark ground (the film) and once for paper. Chosen from hues
/// that stay apart for people with any common colour blindness (after Wong, Nature Methods 2011;8:441,
/// from memory).
struct Palette {
  Colour drawn, centre, outline, apex, terminus, gap, taper_break, beyond, hatch, scale;
  bool casing = false;  ///< lines need a dark edge to stand out
};
constexpr Palette on_film{{235, 235, 235},
                          {120, 200, 245},
                          {250, 228, 120},
                          {255, 255, 255},
                          {255, 158, 84},
                          {140, 240, 210},
                          {245, 170, 215},
                          {255, 158, 84},
                          {230, 230, 230},
                          {235, 235, 235},
                          true};
constexpr Palette on_paper{
    ink_soft,     {0, 96, 150},    ink,      ink,  {184, 66, 0}, {0, 110, 82}, {150, 40, 110},
    {184, 66, 0}, {130, 136, 143}, ink_soft, false};
constexpr Colour body_fill{222, 226, 231};
constexpr Colour band_fill{150, 166, 184, 0.55};

/// The advance width of a line of text in points, from the advance widths of DejaVu Sans, so that the
/// layout is the same whatever fonts a machine has. Letters outside ASCII count as wide.
double text_width(std::string_view text, double size, Weight weight = Weight::normal);

/// Breaks text at spaces into lines of at most `first` points, then `further`; a longer word is broken
/// inside. Never empty; its spaces are plain.
std::vector<std::string> wrapped_to(std::string_view text, double size, double first, double further);

/// The text, its middle given way to "…" where it is wider than `width` points.
std::string fitted(std::string_view text, double size, double width, Weight weight = Weight::normal);

}  // namespace canalrule::report
