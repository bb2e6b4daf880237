#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <canalrule/film/film.hpp>
#include <canalrule/film/quality.hpp>
#include <canalrule/record/reading.hpp>

namespace canalrule {

/// The film that a carried-over scale comes from, with its own reading.
struct CarriedFrom {
  std::size_t scale_index = 0;  ///< which entry of Reading::scale it serves
  Reading reading;
  std::optional<Film> film;  ///< may be missing where the reading marks a known length: then its marks stand alone
};

/// A reading with everything it refers to, opened and checked to belong together.
struct Case {
  Film film;
  /// Of the film, where it has been looked at before; measure does so otherwise.
  std::optional<WholeFilm> whole;
  Reading reading;
  std::vector<CarriedFrom> carried;
  std::string reading_file;    ///< as given
  std::string reading_sha256;
  std::string image_file;      ///< as given in the reading, or the override's file name
};

/// Opens a reading, its film (or `film_override` in its place) and the readings that its scale is
/// carried over from. Refuses (unusable_input) what open_film and load_reading refuse, and a film whose
/// sha256, columns or rows differ from the reading's: the marks belong to another film; so with the films that
/// the scale is carried over from. Marks outside
/// the film are refused too, by their JSON pointer, and a reading whose reader found the film not assessable.
/// `threads` as open_film.
Case open_case(const std::filesystem::path& reading_file,
               const std::optional<std::filesystem::path>& film_override = std::nullopt, std::size_t threads = 1);

/// The same with what is at hand already, so that no file is opened and no pixel copied: the reading's text,
/// as it stands or will stand in `reading_file`, its film, and what open_carried gives for it. Refuses what
/// the other refuses.
Case open_case(const std::filesystem::path& reading_file, std::string_view text, const Film& film,
               std::vector<CarriedFrom> carried);

/// The readings that a reading's scale is carried over from, opened and checked as open_case does.
std::vector<CarriedFrom> open_carried(const Reading& reading, const std::filesystem::path& reading_file);

}  // namespace canalrule
