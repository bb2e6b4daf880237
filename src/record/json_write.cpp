#include "json_text.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstddef>
#include <limits>
#include <vector>

#include <canalrule/base/fault.hpp>

namespace canalrule {

namespace {

using nlohmann::ordered_json;

constexpr std::size_t widest = 110;  // columns

std::string number_text(double value) {
  ensure(std::isfinite(value), "a number that is written down is finite");
  if (value == 0.0) return "0";
  const double size = std::abs(value);
  const auto format = size >= 1e-6 && size < 1e15 ? std::chars_format::fixed : std::chars_format::scientific;
  std::array<char, 64> digits{};
  const auto [end, error] = std::to_chars(digits.data(), digits.data() + digits.size(), value, format);
  ensure(error == std::errc(), "64 characters hold any shortest number");
  return std::string(digits.data(), end);
}

std::string scalar_text(const ordered_json& value) {
  if (value.is_number_float()) return number_text(value.get<double>());
  return value.dump(-1, ' ', false, ordered_json::error_handler_t::replace);
}

std::string key_text(const std::string& key) { return scalar_text(ordered_json(key)) + ": "; }

/// Appends what fits `room` columns; false where it doesn't, and then what was appended has no meaning.
bool append_on_one_line(std::string& out, const ordered_json& value, std::size_t room) {
  if (!value.is_structured()) {
    out += scalar_text(value);
    return out.size() <= room;
  }
  if (value.empty()) {
    out += value.is_array() ? "[]" : "{}";
    return out.size() <= room;
  }
  out += value.is_array() ? "[" : "{ ";
  bool first = true;
  for (const auto& [key, item] : value.items()) {
    if (!first) out += ", ";
    first = false;
    if (value.is_object()) out += key_text(key);
    if (!append_on_one_line(out, item, room)) return false;
  }
  out += value.is_array() ? "]" : " }";
  return out.size() <= room;
}

std::string on_one_line(const ordered_json& value) {
  std::string text;
  append_on_one_line(text, value, std::numeric_limits<std::size_t>::max());
  return text;
}

bool only_points(const ordered_json& value) {
  return value.is_array() &&
         std::all_of(value.begin(), value.end(), [](const auto& item) { return item.is_array(); });
}

void write_value(std::string& out, const ordered_json& value, std::size_t indent, std::size_t column);

/// Items side by side, as many as a line holds.
void write_filled(std::string& out, const ordered_json& items, std::size_t indent) {
  const std::string margin(indent, ' ');
  std::string line = margin;
  for (std::size_t i = 0; i < items.size(); ++i) {
    std::string item = on_one_line(items[i]);
    if (i + 1 < items.size()) item += ',';
    if (line.size() > margin.size() && line.size() + 1 + item.size() > widest) {
      out += line + "\n";
      line = margin;
    }
    if (line.size() > margin.size()) line += ' ';
    line += item;
  }
  out += line + "\n";
}

void write_one_per_line(std::string& out, const ordered_json& value, std::size_t indent) {
  std::size_t left = value.size();
  for (const auto& [key, item] : value.items()) {
    const std::string start = std::string(indent, ' ') + (value.is_object() ? key_text(key) : "");
    out += start;
    write_value(out, item, indent, start.size());
    out += --left > 0 ? ",\n" : "\n";
  }
}

/// `column` is where the value starts on its line.
void write_value(std::string& out, const ordered_json& value, std::size_t indent, std::size_t column) {
  if (!value.is_structured() || value.empty()) {
    out += on_one_line(value);
    return;
  }
  const bool whole_document = column == 0;
  std::string line;
  if (!whole_document && column + 1 < widest && append_on_one_line(line, value, widest - column - 1)) {
    out += line;
    return;
  }
  out += value.is_object() ? "{\n" : "[\n";
  if (only_points(value)) write_filled(out, value, indent + 2);
  else write_one_per_line(out, value, indent + 2);
  out += std::string(indent, ' ') + (value.is_object() ? "}" : "]");
}

}  // namespace

std::string write_json(const ordered_json& document) {
  std::string out;
  write_value(out, document, 0, 0);
  out += '\n';
  return out;
}

}  // namespace canalrule
