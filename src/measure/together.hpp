#pragma once

#include <vector>

#include "follow.hpp"
#include "overlap.hpp"

namespace canalrule {

/// Follows every canal of a reading: by itself, then again without the others' fills where those come near,
/// and where fills lie over each other all of them together, each with the others' thickness added to its own.
/// One answer a canal. `paths`: as drawn. `objects`: of each canal, what of the scale lies beside or over it. As many
/// canals side by side as `threads` at most.
std::vector<FollowedOrNot> follow_all(const FilmOnBench& film, const Reading& reading,
                                      const std::vector<CanalPath>& paths,
                                      const std::vector<std::vector<Foreign>>& objects, std::size_t threads);

/// Whether two drawn paths run so near to each other that one canal's fill may lie over the other's.
bool drawn_close(const FilmOnBench& film, const CanalPath& own, const CanalPath& other);

}  // namespace canalrule
