#pragma once

#include <optional>
#include <string>
#include <string_view>

/// What a person types. Both the decimal point and the decimal comma are taken, whatever the machine's own
/// habits; files always have the point.
namespace canalrule::desk {

/// A number in mm: "21", "21.5", "21,5", "21,5 mm", " .3 ". Nothing for anything else, more than one
/// separator (is "1.234,5" a thousand?) included.
std::optional<double> entered_mm(std::string_view text);

/// A taper in mm per mm: "0.06", "0,06", or "6 %" for 0.06. A bare number above 0.5 isn't one: nothing.
std::optional<double> entered_taper(std::string_view text);

/// With up to so many decimals and the decimal point, without trailing zeros, for an entry's first content.
std::string shown_number(double value, int most_decimals);

}  // namespace canalrule::desk
