#pragma once

#include <cstddef>
#include <vector>

#include "ridge.hpp"
#include "trace.hpp"

namespace canalrule {

/// What a block shows: within the middle half of a fill's width, and on the flanks; not a number where nothing is
/// usable.
struct Level {
  double inside, beside;
};
/// Of a fill at column `place`; its radius and flanks in columns.
Level level_at(const Blocks& blocks, std::size_t block, int place, double radius, double flank);

/// Blocks of fill beside the most coronal gap in it.
struct LastGap {
  std::size_t before, after;
};

/// Whether what a fill's last gap parts from it is so much more radiopaque, over what lies beside that gap, that it is
/// a restoration's foot and none of the fill. `levels` and `under_another`: of each of the trace's blocks; `apical` and
/// `coronal`: the fill's end blocks.
bool is_restoration(const Trace& trace, const std::vector<Level>& levels, const std::vector<bool>& under_another,
                    const LastGap& gap, std::size_t apical, std::size_t coronal, double mm_per_px);

}  // namespace canalrule
