#include "plain_text.hpp"

#include <algorithm>
#include <cstdint>

#include <canalrule/base/utf8.hpp>

namespace canalrule::report {
namespace {

constexpr std::string_view replacement = "\xEF\xBF\xBD";  // U+FFFD

struct Decoded {
  std::uint32_t code = 0;
  std::size_t bytes = 0;  ///< 0: malformed
};

bool continues(unsigned char byte) { return (byte & 0xC0U) == 0x80U; }

/// The code point that the text begins with.
Decoded decode(std::string_view text) {
  const std::size_t length = utf8_length(text);
  if (length == 0) return {};
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  if (length == 1) return {byte(0), 1};
  std::uint32_t code = byte(0) & (0x7FU >> length);
  for (std::size_t i = 1; i < length; ++i) code = (code << 6U) | (byte(i) & 0x3FU);
  return {code, length};
}

bool is_space(std::uint32_t code) {
  return code == ' ' || (code >= 0x09U && code <= 0x0DU) || code == 0xA0U || code == 0x2028U;
}

bool printable(std::uint32_t code) {
  const auto between = [code](std::uint32_t low, std::uint32_t high) { return code >= low && code <= high; };
  if (between(0, 0x1F) || between(0x7F, 0x9F)) return false;             // C0, DEL, C1
  if (between(0x200B, 0x200F) || between(0x2028, 0x202E)) return false;  // zero width, direction
  if (between(0x2060, 0x206F) || code == 0xFEFFU) return false;          // isolates, byte order mark
  return !between(0xFDD0, 0xFDEF) && (code & 0xFFFEU) != 0xFFFEU;        // noncharacters
}

}  // namespace

std::string clean(std::string_view text) {
  std::string out;
  bool space_owed = false;
  while (!text.empty()) {
    const Decoded next = decode(text);
    const std::size_t taken = std::max<std::size_t>(next.bytes, 1);
    if (next.bytes != 0 && is_space(next.code)) {
      space_owed = !out.empty();
    } else {
      if (space_owed) out += ' ';
      space_owed = false;
      out += next.bytes != 0 && printable(next.code) ? text.substr(0, taken) : replacement;
    }
    text.remove_prefix(taken);
  }
  return out;
}

std::string plain_spaces(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const std::size_t next = text.find(no_break);
    out += text.substr(0, next);
    if (next == std::string_view::npos) break;
    out += ' ';
    text.remove_prefix(next + no_break.size());
  }
  return out;
}

std::size_t code_points(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return !continues(static_cast<unsigned char>(c)); }));
}

std::string_view first_code_points(std::string_view text, std::size_t count) {
  std::size_t at = 0;
  while (at < text.size() && count > 0) {
    ++at;
    while (at < text.size() && continues(static_cast<unsigned char>(text[at]))) ++at;
    --count;
  }
  return text.substr(0, at);
}

std::string padded(std::string_view text, std::size_t columns) {
  std::string out(text);
  const std::size_t length = code_points(text);
  if (length < columns) out.append(columns - length, ' ');
  return out;
}

std::string shortened(std::string_view text, std::size_t most) {
  const std::size_t length = code_points(text);
  if (length <= most || most < 3) return std::string(first_code_points(text, most));
  const std::size_t head = (most - 1) / 2;
  const std::size_t tail = most - 1 - head;
  std::string out(first_code_points(text, head));
  out += "…";
  out += text.substr(first_code_points(text, length - tail).size());
  return out;
}

std::vector<std::string> wrapped(std::string_view text, std::size_t first, std::size_t further) {
  std::vector<std::string> lines(1);
  const auto room = [&] { return lines.size() == 1 ? first : further; };
  while (!text.empty()) {
    std::string_view word = text.substr(0, text.find(' '));
    text.remove_prefix(std::min(text.size(), word.size() + 1));
    const std::size_t used = code_points(lines.back());
    if (used > 0 && used + 1 + code_points(word) > room())
      lines.emplace_back();
    else if (used > 0)
      lines.back() += ' ';
    while (code_points(lines.back()) + code_points(word) > room()) {
      const std::string_view piece = first_code_points(word, room() - code_points(lines.back()));
      lines.back() += piece;
      word.remove_prefix(piece.size());
      lines.emplace_back();
    }
    lines.back() += word;
  }
  std::transform(lines.begin(), lines.end(), lines.begin(), plain_spaces);
  return lines;
}

std::string joined(const std::vector<std::string>& parts, std::string_view separator) {
  std::string out;
  for (const std::string& part : parts) {
    if (part.empty()) continue;
    if (!out.empty()) out += separator;
    out += part;
  }
  return out;
}

}  // namespace canalrule::report
