#pragma once

#include <string>

namespace canalrule {

/// What of a fill can't be told in a stretch: all figures, or its voids alone.
enum class Hidden { all, voids };

/// Stretches of a canal's fill, in px of s, that can't serve, and why.
struct Unassessable {
  double from_px = 0.0, to_px = 0.0;
  std::string reason;  ///< "overlap", "scale-object", "clipped", "off-film"
  std::string text;
  Hidden hidden = Hidden::all;
  bool tip_inside = false;  ///< the fill's tip lies within what hides it
};

}  // namespace canalrule
