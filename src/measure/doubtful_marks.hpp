#pragma once

#include <canalrule/geometry/path.hpp>
#include <canalrule/record/reading.hpp>
#include <canalrule/record/result.hpp>
#include <vector>

#include "follow.hpp"

namespace canalrule {

/// What speaks against a canal's marks themselves, as warnings: a line that only the program has proposed
/// (`line-proposed`), an apex beside the path (`apex-aside`), a path drawn from the apex to the crown
/// (`path-reversed`) or one that doubles back (`path-turns-back`), a fill that grows narrower towards the crown all
/// along (`taper-reversed`), one that ends far beyond the apex (`far-beyond-apex`), marks of one apex far from each
/// other (`apex-marks-apart`), an apex off the film (`apex-off-film`), where nobody sees it, one that is plainly not
/// where the film shows the root's end (`apex-off-root-end`), and an outline that is pinched, as where the path leaves
/// the canal (`outline-pinched`). `path`: as drawn. No figure changes.
std::vector<Note> doubtful_marks(const CanalResult& canal, const CanalMarks& marks, const CanalPath& path,
                                 const FilmOnBench& film);

}  // namespace canalrule
