#include <canalrule/base/plain.hpp>
#include <canalrule/measure/cautions.hpp>

#include "apex_mark.hpp"

namespace canalrule {

std::vector<std::string> cautions() {
  return {
      "A film is a projection, not a volume: a void, or a fill that leaves the root, can hide along the ray.",
      "The radiographic apex is not the foramen, which lies about 0.5 mm short of it, at times much more.",
      "Technical figures: no diagnosis and no prognosis. Local codes and a licensed clinician decide.",
      "No exposure is ever justified by a measurement."};
}

std::string apex_mark_assumption() {
  return "The apex is where a person marked it; where a reading doesn't say how sure that is, ± " +
         plain(2.0 * assumed_apex_mark_mm, 2) +
         " mm (k = 2) is an assumption, and verdicts near a limit of length are no surer than it.";
}

}  // namespace canalrule
