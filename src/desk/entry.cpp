#include <canalrule/desk/entry.hpp>

#include <algorithm>
#include <array>
#include <charconv>
#include <cstddef>
#include <utility>
#include <vector>

namespace canalrule::desk {

namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

/// Without the unit behind it, where it is there.
std::string_view without(std::string_view text, std::string_view unit) {
  text = trimmed(text);
  if (text.ends_with(unit)) text.remove_suffix(unit.size());
  return trimmed(text);
}

/// Digits with at most one separator, at most 12 in all; no sign: lengths and shares have none.
std::optional<double> number(std::string_view text) {
  std::string digits;
  int separators = 0, figures = 0;
  for (const char c : text) {
    if (is_digit(c)) {
      ++figures;
      digits += c;
    } else if (c == '.' || c == ',') {
      ++separators;
      digits += '.';
    } else {
      return std::nullopt;
    }
  }
  if (figures == 0 || figures > 12 || separators > 1) return std::nullopt;
  if (digits.front() == '.') digits.insert(digits.begin(), '0');
  double value = 0.0;
  const auto read = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (read.ec != std::errc{}) return std::nullopt;
  return value;
}

std::optional<int> whole(std::string_view digits, std::size_t fewest, std::size_t most) {
  if (digits.size() < fewest || digits.size() > most || !std::all_of(digits.begin(), digits.end(), is_digit))
    return std::nullopt;
  int value = 0;
  std::from_chars(digits.data(), digits.data() + digits.size(), value);
  return value;
}

std::string padded(int value, std::size_t digits) {
  std::string text = std::to_string(value);
  return std::string(digits - std::min(digits, text.size()), '0') + text;
}

std::vector<std::string_view> parts_of(std::string_view text, char separator) {
  std::vector<std::string_view> parts;
  while (true) {
    const std::size_t end = text.find(separator);
    parts.push_back(text.substr(0, end));
    if (end == std::string_view::npos) return parts;
    text.remove_prefix(end + 1);
  }
}

/// Days of a month of the Gregorian calendar.
int days_in(int year, int month) {
  constexpr std::array days{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
  return month == 2 && leap ? 29 : days[static_cast<std::size_t>(month - 1)];
}

std::optional<std::string> date(int year, int month, int day) {
  if (month < 1 || month > 12 || day < 1 || day > days_in(year, month)) return std::nullopt;
  return padded(year, 4) + "-" + padded(month, 2) + "-" + padded(day, 2);
}

}  // namespace

std::optional<double> entered_mm(std::string_view text) { return number(without(text, "mm")); }

std::optional<double> entered_taper(std::string_view text) {
  const std::string_view share = trimmed(text);
  std::optional<double> value = number(without(share, "%"));
  if (value && share.ends_with('%')) value = *value / 100.0;
  constexpr double steepest = 0.5;  // mm per mm, as a reading takes it (record/reading.hpp)
  return value && *value <= steepest ? value : std::nullopt;
}

std::optional<std::string> entered_time(std::string_view text) {
  text = trimmed(text);
  enum class Half { none, am, pm } half = Half::none;
  for (const auto& [word, which] : {std::pair{"am", Half::am}, std::pair{"pm", Half::pm},
                                    std::pair{"AM", Half::am}, std::pair{"PM", Half::pm}})
    if (text.ends_with(word)) {
      half = which;
      text = without(text, word);
      break;
    }
  std::string_view hours = text, minutes;
  const std::size_t separator = text.find_first_of(":.h");
  if (separator != std::string_view::npos) {
    hours = text.substr(0, separator);
    minutes = text.substr(separator + 1);
  } else if (text.size() == 4) {
    hours = text.substr(0, 2);
    minutes = text.substr(2);
  } else if (half != Half::none) {
    minutes = "00";
  }
  const std::optional<int> hour = whole(hours, 1, 2), minute = whole(minutes, 2, 2);
  if (!hour || !minute || *minute > 59) return std::nullopt;
  if (half == Half::none) {
    if (*hour > 23) return std::nullopt;
    return padded(*hour, 2) + ":" + padded(*minute, 2);
  }
  if (*hour < 1 || *hour > 12) return std::nullopt;
  return padded(*hour % 12 + (half == Half::pm ? 12 : 0), 2) + ":" + padded(*minute, 2);
}

std::optional<std::string> entered_date(std::string_view text) {
  text = trimmed(text);
  const std::size_t separator = text.find_first_of("-./");
  if (separator == std::string_view::npos) return std::nullopt;
  const std::vector<std::string_view> parts = parts_of(text, text[separator]);
  if (parts.size() != 3) return std::nullopt;
  if (text[separator] == '-') {
    const auto year = whole(parts[0], 4, 4), month = whole(parts[1], 1, 2), day = whole(parts[2], 1, 2);
    if (!year || !month || !day) return std::nullopt;
    return date(*year, *month, *day);
  }
  const auto first = whole(parts[0], 1, 2), second = whole(parts[1], 1, 2), year = whole(parts[2], 4, 4);
  if (!first || !second || !year) return std::nullopt;
  if (text[separator] == '.') return date(*year, *second, *first);
  const std::optional<std::string> day_first = date(*year, *second, *first);
  const std::optional<std::string> month_first = date(*year, *first, *second);
  if (day_first && month_first && day_first != month_first) return std::nullopt;
  return day_first ? day_first : month_first;
}

std::string shown_number(double value, int most_decimals) {
  std::array<char, 64> text{};
  const auto written =
      std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed, most_decimals);
  std::string shown(text.data(), written.ptr);
  if (shown.find('.') != std::string::npos) {
    shown.erase(shown.find_last_not_of('0') + 1);
    if (shown.back() == '.') shown.pop_back();
  }
  return shown == "-0" ? "0" : shown;
}

}  // namespace canalrule::desk
