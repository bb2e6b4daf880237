#pragma once

#include <canalrule/record/result.hpp>
#include <optional>

#include "follow.hpp"

namespace canalrule {

/// Where the root's outline seems to end on the canal's line, from the film alone: dentine, ligament space,
/// lamina dura and bone along it. Offered beside the mark and used for nothing; missing where the film
/// doesn't show it surely enough. `relative_scale`: of lengths along the canal.
std::optional<RootEnd> root_end_of(const FilmOnBench& film, const Followed& followed, const FillFit& fit,
                                   double relative_scale);

}  // namespace canalrule
