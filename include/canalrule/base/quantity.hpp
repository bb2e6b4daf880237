#pragma once

namespace canalrule {

/// A measured value and its standard uncertainty (k = 1, JCGM 100:2008, 2.3.1), both in the unit
/// that the name of the field holding it says.
struct Quantity {
  double value = 0.0;
  double standard_uncertainty = 0.0;
  friend bool operator==(const Quantity&, const Quantity&) = default;
};

}  // namespace canalrule
