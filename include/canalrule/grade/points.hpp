#pragma once

#include <canalrule/record/marks.hpp>
#include <canalrule/record/rubric.hpp>
#include <cstddef>
#include <vector>

/// The arithmetic of points, free of any film.
namespace canalrule {

/// What a figure earns.
struct Earned {
  double points = 0.0;
  double least = 0.0;  ///< the most points L with P(points >= L) >= confidence: sure to be reached
  /// The most points L with P(points >= L) > 1 - confidence, at least the own band's: can't be ruled out.
  double most = 0.0;
  Sureness sureness = Sureness::sure;  ///< sure where least = most
};

/// `chance` of each band, summing to 1; `own` is the band that the figure lies in. The rubric's rule decides
/// between `least` and `most`: benefit of the doubt gives `most`, no benefit `least`, nearest band the own
/// band's points, expected points the mean by chance; the last two kept within least and most.
///
/// Where bands fall away from the best (as parse_rubric demands), a figure that is better with the same
/// uncertainty never earns less: by all four rules where the best lies at one end, by the first two also
/// where it lies between. There, the other two can give less to a better figure whose uncertainty reaches
/// past the far side of the best.
Earned earned(const std::vector<Band>& bands, const std::vector<double>& chance, std::size_t own,
              CloseCall rule, double confidence);

/// Whether a deduction or automatic fail is applied where it holds with this probability.
struct Applied {
  double share = 0.0;              ///< 0 to 1: of the points taken away; an automatic fail applies from 0.5
  double least = 0.0, most = 0.0;  ///< what the uncertainty leaves open
  Sureness sureness = Sureness::sure;
};

/// Benefit of the doubt applies it only from `confidence` on, no benefit from above 1 - confidence, nearest
/// band where the figure itself meets the condition, expected points in part.
enum class FigureMeets { yes, no };
Applied applied(double chance, FigureMeets figure, CloseCall rule, double confidence);

/// Whether a value lies in a band, or meets a condition's limits.
bool lies_between(double value, const std::optional<Limit>& lower, const std::optional<Limit>& upper);

}  // namespace canalrule
