#pragma once

#include <cstddef>
#include <vector>

#include <canalrule/report/scene.hpp>

namespace canalrule::report {

/// Where something already stands, so that labels keep off it.
class Occupied {
 public:
  bool free(const Box& box) const;
  void take(const Box& box) { boxes_.push_back(box); }

 private:
  std::vector<Box> boxes_;
};

/// A label that wants its middle at a height in a column.
struct Wish {
  double wanted = 0.0;  ///< page y
  double height = 0.0;
  double rank = 0.0;  ///< the least gives way first when there is no room for all
};

/// A wish granted: which, and its middle.
struct Placed {
  std::size_t wish = 0;
  double middle = 0.0;
};

/// Labels in a column from `top` to `bottom`, none over another, each as near to where it wants to be
/// as the others let it, in the order of their wishes.
std::vector<Placed> spread(const std::vector<Wish>& wishes, double top, double bottom);

}  // namespace canalrule::report
