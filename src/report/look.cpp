#include "look.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

#include "plain_text.hpp"

namespace canalrule::report {
namespace {

/// Advance widths of DejaVu Sans 2.37, U+0020 to U+007E, in thousandths of the type size.
constexpr std::array<short, 95> advances{
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361,  318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635,  611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352,  635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592,  525, 636, 337, 636, 838};
constexpr int wide_advance = 838;     // the widest of the signs used here
constexpr double bold_factor = 1.13;  // DejaVu Sans Bold over the regular face, no letter mix is wider

}  // namespace

double text_width(std::string_view text, double size, Weight weight) {
  int thousandths = 0;
  for (const char letter : text) {
    const auto byte = static_cast<unsigned char>(letter);
    if (byte >= 0x20U && byte < 0x7FU)
      thousandths += advances[byte - 0x20U];
    else if (byte >= 0xC0U)
      thousandths += wide_advance;
  }
  return thousandths / 1000.0 * size * (weight == Weight::bold ? bold_factor : 1.0);
}

std::string fitted(std::string_view text, double size, double width, Weight weight) {
  const std::string whole = plain_spaces(text);
  std::string out = whole;
  for (std::size_t most = code_points(whole); most > 3 && text_width(out, size, weight) > width;) {
    out = shortened(whole, --most);
  }
  return out;
}

std::vector<std::string> wrapped_to(std::string_view text, double size, double first, double further) {
  std::vector<std::string> lines(1);
  const auto fits = [&](std::string_view line) {
    return text_width(plain_spaces(line), size) <= (lines.size() == 1 ? first : further);
  };
  while (!text.empty()) {
    std::string_view word = text.substr(0, text.find(' '));
    text.remove_prefix(std::min(text.size(), word.size() + 1));
    const std::string longer =
        lines.back().empty() ? std::string(word) : lines.back() + " " + std::string(word);
    if (fits(longer)) {
      lines.back() = longer;
      continue;
    }
    if (!lines.back().empty()) lines.emplace_back();
    while (!fits(word) && code_points(word) > 1) {
      std::size_t count = code_points(word) - 1;
      while (count > 1 && !fits(first_code_points(word, count))) --count;
      const std::string_view piece = first_code_points(word, count);
      lines.back() = piece;
      word.remove_prefix(piece.size());
      lines.emplace_back();
    }
    lines.back() = word;
  }
  std::transform(lines.begin(), lines.end(), lines.begin(), plain_spaces);
  return lines;
}

}  // namespace canalrule::report
