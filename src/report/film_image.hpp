#pragma once

#include <canalrule/film/film.hpp>
#include <canalrule/record/result.hpp>

#include <canalrule/report/scene.hpp>

namespace canalrule::report {

/// A rectangle of whole pixels of the film.
struct Crop {
  int left = 0, top = 0, columns = 0, rows = 0;
};

/// The region of the canals with a margin, widened to the proportions of `frame` where the film allows
/// it; the whole film where that is little more, or where no canal was marked.
Crop crop_to_canals(const Film& film, const Result& result, const Box& frame);

Crop whole_film(const Film& film);

/// The film as 8 bits for looking at: radiopaque bright, the grey scale stretched over what the pixels
/// of `crop` hold (0.5 to 99.8 percent of them, chosen here by eye), at most `most_columns` x `most_rows`.
/// The film itself stays as it is.
GreyImage look_at(const Film& film, const Result& result, const Crop& crop, int most_columns, int most_rows);

}  // namespace canalrule::report
