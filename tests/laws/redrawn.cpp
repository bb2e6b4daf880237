// The same film drawn by several hands gives the same terminus: a path drawn with 3 px of jitter, through
// another number of points, moves it by less than 0.05 mm. Simulated films of usual quality.
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <random>

#include <doctest/doctest.h>

#include <film_families.hpp>
#include <measured.hpp>

using namespace canalrule;
using namespace canalrule_test;

namespace {

constexpr double jitter_px = 3.0;  ///< standard deviation of a drawn point, each way
constexpr double terminus_moves_mm = 0.05;
constexpr int films = 5, hands = 7;  ///< seeds 61 to 65
constexpr std::array<int, hands> points_of_hand{4, 5, 6, 8, 11, 20, 60};

/// The canal's true centre line from above the fill to the apex, through `count` points, each off by chance.
Polyline drawn(const phantom::TrueCanal& canal, int count, double jitter, std::mt19937_64& engine) {
  const auto even = [&] { return (static_cast<double>(engine() >> 11) + 0.5) * 0x1.0p-53; };
  Polyline path;
  for (int k = 0; k < count; ++k) {
    const double at_mm = (canal.coronal_level_mm + 0.4) * (1.0 - static_cast<double>(k) / (count - 1));
    const auto nearest = std::min_element(canal.centre_line.begin(), canal.centre_line.end(),
                                          [&](const auto& a, const auto& b) {
                                            return std::fabs(a.at_mm - at_mm) < std::fabs(b.at_mm - at_mm);
                                          });
    const double length = jitter * std::sqrt(-2.0 * std::log(even()));
    const double angle = 2.0 * std::numbers::pi * even();
    path.push_back(
        {nearest->position.x + length * std::cos(angle), nearest->position.y + length * std::sin(angle)});
  }
  return path;
}

struct Drawings {
  CanalResult careful;  ///< the true centre line, without jitter
  std::vector<CanalResult> hands;
};

Drawings drawings_of(std::uint64_t seed) {
  const phantom::Simulated simulated = phantom::simulate(families::usual_film(seed));
  const phantom::TrueCanal& truth = simulated.truth.canals.front();
  std::mt19937_64 engine(seed);
  Case opened = case_of(simulated);
  const auto measured_with = [&](const Polyline& path) {
    opened.reading.canals.front().path = path;
    return measure(opened).canals.front();
  };
  Drawings all;
  all.careful = measured_with(drawn(truth, 12, 0.0, engine));
  for (const int count : points_of_hand)
    all.hands.push_back(measured_with(drawn(truth, count, jitter_px, engine)));
  return all;
}

}  // namespace

TEST_CASE("seven hands on five films, some with many points") {
  double squares = 0.0, widest = 0.0, stated_squares = 0.0;
  int count = 0;
  for (const Drawings& film :
       on_two_workers(films, [](int i) { return drawings_of(static_cast<std::uint64_t>(61 + i)); })) {
    REQUIRE(film.careful.terminus.has_value());
    for (const CanalResult& hand : film.hands) {
      REQUIRE(hand.terminus.has_value());
      const double moved = hand.terminus->to_apex_mm - film.careful.terminus->to_apex_mm;
      CHECK(std::fabs(moved) < terminus_moves_mm);
      squares += moved * moved;
      widest = std::fmax(widest, std::fabs(moved));
      for (const UncertaintyPart& part : hand.terminus->parts)
        if (part.source == "path") stated_squares += part.standard_uncertainty_mm * part.standard_uncertainty_mm;
      // The figures beside it stay as well, within what is stated of them, but at least 0.01 mm and 0.001.
      CHECK(std::fabs(hand.taper.overall->value - film.careful.taper.overall->value) <=
            std::fmax(0.001, std::hypot(hand.taper.overall->standard_uncertainty,
                                        film.careful.taper.overall->standard_uncertainty)));
      double worst = 0.0, worst_at = 0.0, worst_change = 0.0;
      for (const WidthAt& one : hand.width)
        for (const WidthAt& other : film.careful.width) {
          if (std::fabs(one.at_mm - other.at_mm) > 1e-6) continue;
          const double change = one.width_mm - other.width_mm;
          const double share = std::fabs(change) / std::fmax(0.01, std::hypot(one.standard_uncertainty_mm,
                                                                              other.standard_uncertainty_mm));
          if (share > worst) {
            worst = share;
            worst_at = one.at_mm;
            worst_change = change;
          }
        }
      CHECK_MESSAGE(worst <= 1.0, "width at " << worst_at << " of " << hand.terminus->to_apex_mm << " to "
                                              << hand.coronal_level_mm->value << " mm changed by "
                                              << worst_change << " mm, " << worst << " times what it may; voids "
                                              << hand.voids->size() << " and " << film.careful.voids->size()
                                              << ", the surest "
                                              << (hand.voids->empty() ? 0.0 : hand.voids->front().score) << " and "
                                              << (film.careful.voids->empty() ? 0.0
                                                                              : film.careful.voids->front().score));
      ++count;
    }
  }
  // What the result states for the path is what redrawing does: a root mean square of 35 drawings is known
  // to about an eighth, so 1.4 times is three of its own standard deviations.
  const double scatter = std::sqrt(squares / count), stated = std::sqrt(stated_squares / count);
  CHECK_MESSAGE(scatter <= 1.4 * stated,
                "scatter " << scatter << " mm, stated " << stated << " mm, largest " << widest << " mm");
}
