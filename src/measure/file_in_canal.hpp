#pragma once

#include <canalrule/measure/scale.hpp>
#include <canalrule/record/result.hpp>
#include <optional>
#include <vector>

namespace canalrule {

/// Told where an instrument that gives the scale lies along what was measured as this canal's fill and ends
/// with it: then the film was taken before the canal was filled.
std::optional<Note> file_in_canal(const CanalResult& canal, const std::vector<KnownObject>& objects,
                                  const ScaleResult& scale);

}  // namespace canalrule
