#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include <QByteArray>

#include <canalrule/film/film.hpp>
#include <canalrule/record/result.hpp>
#include <canalrule/report/scene.hpp>

namespace canalrule::window {

/// What a page shows of who and what it is about.
enum class Identity {
  hidden,  ///< no file names, no reader
  shown
};

/// The result without file names, hashes of files and reader.
Result without_identity(Result result);

/// A film with what was measured on it.
struct MeasuredFilm {
  Film film;
  Result result;
};

/// A PDF of one A4 page in landscape per film, lines and letters as such, the pages of the room `report`.
/// `next` gives one page after the other, nothing at the end.
QByteArray pdf_of(const std::function<std::optional<MeasuredFilm>()>& next, Identity identity);

}  // namespace canalrule::window
