#pragma once

#include <canalrule/film/film.hpp>
#include <canalrule/record/result.hpp>

/// A result written by hand and a film drawn to go with it. Nothing here was measured: the figures are
/// invented, so that a test can look for each of them.
namespace sample {

constexpr double mm_per_pixel = 0.03;

/// One fill, curved, that ends 1.23 mm short; no void, no break.
canalrule::CanalResult plain_canal(const std::string& name, double x);

/// With voids of each kind, breaks, material beyond the apex, a plan, a stretch that overlaps.
canalrule::CanalResult troubled_canal(const std::string& name, double x);

/// Nothing found: every figure missing.
canalrule::CanalResult empty_canal(const std::string& name, double x);

canalrule::Result result_of(std::vector<canalrule::CanalResult> canals);

/// Verdicts of each kind for every canal.
void judge_by_hand(canalrule::Result& result);

/// A film of that size with the canals of the result on it, 12 bit, radiopaque bright.
canalrule::Film film_of(const canalrule::Result& result, int columns, int rows);

}  // namespace sample
