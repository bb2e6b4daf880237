#pragma once

#include <canalrule/measure/scale.hpp>
#include <string>
#include <vector>

#include "follow.hpp"
#include "unassessable.hpp"

namespace canalrule {

/// A followed fill as its neighbours see it: its centre line within its drawn path, and half its width,
/// blur included.
Foreign as_foreign(const FilmOnBench& film, const Followed& followed);

/// The objects of known length that lie beside a canal or over it, not in it. What isn't seen on the film may be no
/// more than two landmarks, and lies over no fill.
std::vector<Foreign> scale_objects(const FilmOnBench& film, const std::vector<KnownObject>& objects,
                                   const CanalPath& path);

/// The instruments that are seen along a canal and end elsewhere than its fill: what was followed may be the one or the
/// other. A mere line may be two landmarks drawn along the fill itself.
std::vector<Foreign> scale_objects_along(const FilmOnBench& film, const std::vector<KnownObject>& objects,
                                         const CanalPath& path, const Followed& followed);

/// Whether any foreign object comes as near to a canal's fill as its flanks reach.
bool near(const FilmOnBench& film, const Followed& followed, const std::vector<Foreign>& foreign);

/// Stretches of a fill on which another fill lies. Where both were fitted together and leave no more over there
/// than noise, only the voids are hidden: in which fill one lies can't be told.
std::vector<Unassessable> overlaps(const FilmOnBench& film, const Followed& followed, const Foreign& other,
                                   const std::string& other_name);

/// Stretches of a fill over which an object of the scale lies.
std::vector<Unassessable> under_scale_object(const FilmOnBench& film, const Followed& followed,
                                             const Foreign& object);

/// Stretches of a fill in which its pixels are clipped or carry no film.
std::vector<Unassessable> unusable_stretches(const FilmOnBench& film, const Followed& followed);

}  // namespace canalrule
