#include <canalrule/cases/open_case.hpp>

#include <algorithm>
#include <span>
#include <utility>
#include <variant>

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/intake/open_film.hpp>

#include "marks.hpp"

namespace canalrule {

namespace {

namespace fs = std::filesystem;

constexpr const char* other_film =
    "the marks belong to another film; give the film that the reading was made on";

[[noreturn]] void refuse(const std::string& reading_file, const std::string& field, const std::string& what,
                         const std::string& remedy) {
  throw Refusal(RefusalKind::unusable_input, reading_file, field, what, remedy);
}

fs::path beside(const fs::path& reading_file, const std::string& name) {
  return reading_file.parent_path() / name;
}

void check_size(const std::string& reading_file, const char* field, const std::optional<int>& expected,
                int found) {
  if (expected && *expected != found)
    refuse(reading_file, field,
           "the reading says " + std::to_string(*expected) + ", the film has " + std::to_string(found),
           other_film);
}

void check_belongs(const Reading& reading, const Film& film, const std::string& reading_file) {
  check_size(reading_file, "/image/columns", reading.image.columns, film.grey.cols);
  check_size(reading_file, "/image/rows", reading.image.rows, film.grey.rows);
  if (reading.image.sha256 && *reading.image.sha256 != film.sha256)
    refuse(reading_file, "/image/sha256",
           "the reading says " + *reading.image.sha256 + ", the film has " + film.sha256, other_film);
}

/// The film that a reading names, refused by the reading's own field where there is no such file.
Film film_of(const Reading& reading, const fs::path& reading_file, std::size_t threads) {
  const fs::path film_file = beside(reading_file, reading.image.file);
  std::error_code ignored;
  if (!fs::exists(film_file, ignored))
    refuse(reading_file.string(), "/image/file", "there is no film \"" + reading.image.file + "\"",
           "it is looked for from the reading's own folder");
  return open_film(film_file, threads);
}

bool marks_known_length(const Reading& reading) {
  return std::any_of(reading.scale.begin(), reading.scale.end(),
                     [](const ScaleMark& mark) { return std::holds_alternative<KnownLength>(mark); });
}

/// The reading that a scale is carried over from, with its film.
CarriedFrom open_one_carried(std::size_t scale_index, const CarriedLength& mark,
                             const fs::path& reading_file) {
  const std::string field = "/scale/" + std::to_string(scale_index) + "/from/reading";
  const fs::path from_file = beside(reading_file, mark.from_reading);
  std::error_code ignored;
  if (!fs::exists(from_file, ignored))
    refuse(reading_file.string(), field, "there is no reading \"" + mark.from_reading + "\"",
           "it is looked for from this reading's own folder");
  if (fs::equivalent(from_file, reading_file, ignored))
    refuse(reading_file.string(), field, "\"" + mark.from_reading + "\" is this reading itself",
           "name the reading of the film that shows the object of known length");

  CarriedFrom carried;
  carried.scale_index = scale_index;
  carried.reading = load_reading(from_file);
  const bool measures = marks_known_length(carried.reading);
  if (measures && !fs::exists(beside(from_file, carried.reading.image.file), ignored)) return carried;
  carried.film = film_of(carried.reading, from_file, 1);
  check_belongs(carried.reading, *carried.film, from_file.string());
  if (!measures && !carried.film->spacing)
    refuse(reading_file.string(), field,
           "\"" + mark.from_reading + "\" marks no known length, and its film says nothing of its scale",
           "a scale is carried over from a reading with a \"known-length\" or a DICOM film with a spacing, "
           "not from "
           "one that carries its own over");
  return carried;
}

/// The reading's side of a case.
Case case_of(const fs::path& reading_file, std::string_view text) {
  Case opened;
  opened.reading_file = reading_file.string();
  opened.reading_sha256 =
      sha256_hex(std::span(reinterpret_cast<const std::uint8_t*>(text.data()), text.size()));
  opened.reading = parse_reading(text, opened.reading_file);
  if (opened.reading.not_assessable)
    refuse(opened.reading_file, "/not_assessable",
           "the reader found the film not assessable: '" + *opened.reading.not_assessable + "'",
           "it is left unmeasured; remove the field where this no longer holds");
  return opened;
}

void check_film(const Case& opened) {
  check_belongs(opened.reading, opened.film, opened.reading_file);
  check_marks(opened.reading, opened.film.grey.size(), opened.reading_file);
}

/// The marks on the other films lie on these, where their size is known.
void check_carried(const Case& opened) {
  for (const CarriedFrom& carried : opened.carried) {
    const ImageReference& image = carried.reading.image;
    const cv::Size size =
        carried.film ? carried.film->grey.size() : cv::Size(image.columns.value_or(0), image.rows.value_or(0));
    if (size.empty()) continue;
    const auto& mark = std::get<CarriedLength>(opened.reading.scale[carried.scale_index]);
    check_points(mark.from_points, size, "/scale/" + std::to_string(carried.scale_index) + "/from/points",
                 opened.reading_file);
  }
}

}  // namespace

std::vector<CarriedFrom> open_carried(const Reading& reading, const fs::path& reading_file) {
  std::vector<CarriedFrom> all;
  for (std::size_t i = 0; i < reading.scale.size(); ++i)
    if (const auto* mark = std::get_if<CarriedLength>(&reading.scale[i]))
      all.push_back(open_one_carried(i, *mark, reading_file));
  return all;
}

Case open_case(const fs::path& reading_file, const std::optional<fs::path>& film_override, std::size_t threads) {
  if (is_film(reading_file))
    refuse(reading_file.string(), "", "this is a film, not a reading, which names a film and holds its marks",
           "mark it in the window of canalrule draw, which writes a reading, and name that");
  const std::vector<std::uint8_t> text = read_whole(reading_file, largest_reading_bytes);
  Case opened = case_of(reading_file, {reinterpret_cast<const char*>(text.data()), text.size()});
  opened.film =
      film_override ? open_film(*film_override, threads) : film_of(opened.reading, reading_file, threads);
  opened.image_file = film_override ? film_override->filename().string() : opened.reading.image.file;
  check_film(opened);
  opened.carried = open_carried(opened.reading, reading_file);
  check_carried(opened);
  return opened;
}

Case open_case(const fs::path& reading_file, std::string_view text, const Film& film,
               std::vector<CarriedFrom> carried) {
  Case opened = case_of(reading_file, text);
  opened.film = film;
  opened.image_file = opened.reading.image.file;
  check_film(opened);
  opened.carried = std::move(carried);
  check_carried(opened);
  return opened;
}

}  // namespace canalrule
