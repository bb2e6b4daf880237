#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <canalrule/film/film.hpp>
#include <canalrule/record/reading.hpp>

namespace canalrule {

/// The film that a carried-over scale comes from, with its own reading.
struct CarriedFrom {
  std::size_t scale_index = 0;  ///< which entry of Reading::scale it serves
  Reading reading;
  /// What that film says of its own scale; present where its reading marks no known length.
  std::optional<Spacing> spacing;
  double row_to_column_aspect = 1.0;
};

/// A reading with everything it refers to, opened and checked to belong together.
struct Case {
  Film film;
  Reading reading;
  std::vector<CarriedFrom> carried;
  std::string reading_file;    ///< as given
  std::string reading_sha256;
  std::string image_file;      ///< as given in the reading, or the override's file name
};

/// Opens a reading, its film (or `film_override` in its place) and the readings that its scale is
/// carried over from. Refuses (unusable_input) what open_film and load_reading refuse, and a film whose
/// sha256, columns or rows differ from the reading's: the marks belong to another film. Marks outside
/// the film are refused too, by their JSON pointer.
Case open_case(const std::filesystem::path& reading_file,
               const std::optional<std::filesystem::path>& film_override = std::nullopt);

}  // namespace canalrule
