#include <canalrule/measure/cautions.hpp>

namespace canalrule {

std::vector<std::string> cautions() {
  return {
      "A film is a projection, not a volume: a void, or a fill that leaves the root, can hide along the ray.",
      "The radiographic apex is not the foramen, which lies about 0.5 mm short of it, at times much more.",
      "Technical figures: no diagnosis and no prognosis. Local codes and a licensed clinician decide.",
      "No exposure is ever justified by a measurement."};
}

}  // namespace canalrule
