#pragma once

#include <canalrule/record/result.hpp>
#include <optional>
#include <vector>

#include "follow.hpp"

namespace canalrule {

/// Material beyond the apex: the fill's own body where it ends beyond it, and what lies apart from it. `u_end_mm`: the
/// terminus's standard uncertainty.
std::vector<MaterialBeyond> material_beyond_apex(const FilmOnBench& film, const ScaleResult& scale,
                                                 const Followed& followed, const FillFit& fit, double u_end_mm);

/// Length of canal between the fill's end and the apex, mm, where something more radiopaque than dentine is seen in it:
/// the fill may go on there, thinner or of another material, and what ends may be a post. 0 where it isn't.
double goes_on_apically_mm(const Followed& followed, const FillFit& fit, double mm_per_px);

/// Empty canal between the fill's end and the apex, told by its being darker than the dentine beside it;
/// nothing where the fill reaches the apex or what lies there can't be judged.
std::optional<EmptyCanal> empty_canal_of(const FilmOnBench& film, const FillFit& fit);

/// How far the film goes on beyond the apex along the path, mm.
double film_beyond_apex_mm(const FilmOnBench& film, const Followed& followed);

}  // namespace canalrule
