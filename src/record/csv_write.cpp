#include <algorithm>
#include <canalrule/record/csv.hpp>

namespace canalrule {

namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// "-0.5", "+12": a sign, digits, perhaps a point and digits.
bool is_plain_decimal(std::string_view text) {
  if (!text.empty() && (text[0] == '+' || text[0] == '-')) text.remove_prefix(1);
  std::size_t whole = 0;
  while (whole < text.size() && is_digit(text[whole])) ++whole;
  if (whole == 0) return false;
  if (whole == text.size()) return true;
  if (text[whole] != '.') return false;
  text.remove_prefix(whole + 1);
  return !text.empty() && text.find_first_not_of("0123456789") == std::string_view::npos;
}

}  // namespace

std::string csv_row(const std::vector<std::string>& fields) {
  std::string row;
  for (std::size_t i = 0; i < fields.size(); ++i) {
    const std::string& field = fields[i];
    if (i > 0) row += ',';
    if (field.find_first_of(",;\"\r\n\t ") == std::string::npos) {
      row += field;
      continue;
    }
    row += '"';
    for (const char c : field) {
      if (c == '"') row += '"';
      row += c;
    }
    row += '"';
  }
  return row + "\r\n";
}

std::string csv_text(std::string_view text) {
  // Apostrophes that stand there already are passed over, so that text_of_csv can tell which was put there.
  const std::string_view bare = text.substr(std::min(text.find_first_not_of('\''), text.size()));
  const bool begins_a_formula =
      !bare.empty() && std::string_view("=+-@\t\r\n").find(bare[0]) != std::string_view::npos;
  if (!begins_a_formula || is_plain_decimal(bare)) return std::string(text);
  return "'" + std::string(text);
}

std::string text_of_csv(std::string_view field) {
  if (field.starts_with('\'') && csv_text(field.substr(1)) == field) field.remove_prefix(1);
  return std::string(field);
}

}  // namespace canalrule
