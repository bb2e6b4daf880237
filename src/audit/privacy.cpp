#include "privacy.hpp"

#include <algorithm>
#include <array>
#include <canalrule/base/utf8.hpp>
#include <canalrule/record/reading.hpp>
#include <iterator>
#include <utility>
#include <variant>
#include <vector>

namespace canalrule::audit {

namespace {

/// Of a column's name in lower case, without what stands between its words.
constexpr std::array identifying_parts{"patient", "birth",   "surname", "forename", "family", "given",  "insur",
                                       "address", "phone",   "mail",    "passport", "path",   "folder", "file"};
constexpr std::array identifying_names{
    "name",  "fullname", "firstname", "lastname", "middlename",  "maidenname", "first",    "last",         "initials",
    "film",  "image",    "picture",
    "dob",   "mrn",      "ssn",       "street",   "city",        "zip",        "postcode", "id",           "idno",
    "patid", "patno",    "patname",   "idnumber", "chart",       "chartno",    "chartid",  "chartnumber",  "recordno",
    "recordid",          "recordnumber",          "nationalid",                "personalid", "personalnumber"};

bool is_letter_or_digit(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
         static_cast<unsigned char>(c) >= 0x80U;
}

std::string letters_and_digits(std::string_view text) {
  std::string out;
  std::copy_if(text.begin(), text.end(), std::back_inserter(out), is_letter_or_digit);
  return out;
}

/// A quote that opens has no letter before it, one that closes has none behind it: those of "can't" are
/// neither.
bool opens(std::string_view text, std::size_t at) {
  return (text[at] == '\'' || text[at] == '"') && (at == 0 || !is_letter_or_digit(text[at - 1]));
}
bool closes(std::string_view text, std::size_t at) {
  return (text[at] == '\'' || text[at] == '"') &&
         (at + 1 == text.size() || !is_letter_or_digit(text[at + 1]));
}

/// From the first quote that opens to the last that closes, all is left out.
std::string without_quoted(const std::string& text) {
  std::size_t first = 0;
  while (first < text.size() && !opens(text, first)) ++first;
  if (first == text.size()) return text;
  std::size_t last = text.size() - 1;
  while (last > first && !closes(text, last)) --last;
  return text.substr(0, first) + "…" + (last > first ? text.substr(last + 1) : "");
}

/// The files that a reading refers to, as it names them; none where it can't be read.
std::vector<std::string> files_named_in(const std::filesystem::path& reading_file) {
  std::vector<std::string> names;
  try {
    const Reading reading = load_reading(reading_file);
    names.push_back(reading.image.file);
    for (const ScaleMark& mark : reading.scale)
      if (const auto* carried = std::get_if<CarriedLength>(&mark)) names.push_back(carried->from_reading);
  } catch (const Refusal&) {
    // Then what it names stands in no refusal either.
  }
  return names;
}

/// Each name where it stands by itself, not as a part of a word.
std::string without(std::string text, const std::vector<std::string>& names) {
  constexpr std::string_view in_its_place = "…";
  for (const std::string& name : names)
    for (std::size_t at = name.empty() ? std::string::npos : text.find(name); at != std::string::npos;
         at = text.find(name, at)) {
      const std::size_t end = at + name.size();
      const bool part = (at > 0 && is_letter_or_digit(text[at - 1]) && is_letter_or_digit(name.front())) ||
                        (end < text.size() && is_letter_or_digit(text[end]) && is_letter_or_digit(name.back()));
      if (!part) text.replace(at, name.size(), in_its_place);
      at += part ? 1 : in_its_place.size();
    }
  return text;
}

}  // namespace

ColumnRole role_of(std::string_view column) {
  const std::string name = lower_case(column);
  if (name == "case") return ColumnRole::case_name;
  if (name == "reading") return ColumnRole::reading;
  if (name == "operator") return ColumnRole::operated_by;
  if (name == "reader") return ColumnRole::read_by;
  if (name == "patient") return ColumnRole::patient;
  if (name == "tooth") return ColumnRole::tooth;
  const std::string joined = letters_and_digits(name);
  const auto within = [&](const char* part) { return joined.find(part) != std::string::npos; };
  const auto equal = [&](const char* whole) { return joined == whole; };
  if (std::any_of(identifying_parts.begin(), identifying_parts.end(), within) ||
      std::any_of(identifying_names.begin(), identifying_names.end(), equal))
    return ColumnRole::identifying;
  return ColumnRole::further;
}

std::string reason_without_names(const Refusal& refusal, const std::filesystem::path& reading_file) {
  constexpr std::string_view reading_ending = ".reading.json";
  const std::string& where = refusal.where();
  std::string reason = where == reading_file.string()    ? "reading"
                       : where.ends_with(reading_ending) ? "reading that the scale is carried over from"
                                                         : "film";
  const std::vector<std::string> names = files_named_in(reading_file);
  if (!refusal.field().empty()) reason += ": " + refusal.field();
  reason += ": " + without(without_quoted(refusal.problem()), names);
  if (!refusal.remedy().empty()) reason += "; " + without(without_quoted(refusal.remedy()), names);
  return printable_line(std::move(reason));  // what was found may hold anything
}

}  // namespace canalrule::audit
