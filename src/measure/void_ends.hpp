#pragma once

#include <functional>

#include "void_match.hpp"

namespace canalrule {

/// A void's ends along the canal, px.
struct Ends {
  double from = 0.0, to = 0.0;
};

/// How a void of given ends matches what is missing.
using Matched = std::function<Match(double from_px, double to_px)>;

/// Shortest and longest void that is told, mm. Chosen here; tests/truth/voids.cpp.
inline constexpr double least_void_mm = 0.04;
inline constexpr double longest_void_mm = 5.0;

/// What a void explains when no more than all of the fill can be missing: its score squared, less what the amplitude
/// beyond 1 would have added.
double explained(const Match& match);

/// Ends moved by steepest improvement of what the void explains, in steps down to a two hundredth of a mm.
Ends settle_ends(const Matched& matched, Ends ends, double mm_per_px);

/// Standard uncertainties of a void's length and deficit.
struct Spread {
  double length_px = 0.0;
  double deficit = 0.0;
};

/// Over all ends near those found, each weighted by its likelihood: a short void may as well be shallower and longer,
/// and a shallow one may end at one edge in the texture or the next. Tails that make false voids move no true one's
/// ends.
Spread spread_about(const Matched& matched, Ends ends, double mm_per_px);

}  // namespace canalrule
