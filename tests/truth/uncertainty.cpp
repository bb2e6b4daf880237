// The stated uncertainties, first order by JCGM 100:2008, against Monte Carlo by JCGM 101:2008: films, marks,
// lengths and apices are drawn from what the reading states of them, and the spread of each figure is held
// against its statement. Bounds: n draws know a standard deviation to 1 / sqrt(2 n).
#include <doctest/doctest.h>

#include <canalrule/judge/judge.hpp>
#include <cmath>
#include <film_families.hpp>
#include <measured.hpp>
#include <random>
#include <string>

using namespace canalrule;
using namespace canalrule_test;

namespace {

constexpr int films = 24;           ///< usual films, seeds 4001 to 4024
constexpr int draws = 20;           ///< of the marks on one clean film
constexpr double apex_mm = 0.10;    ///< of an apex mark
constexpr double length_mm = 0.15;  ///< of the known length, 1 % of it
constexpr double mark_px = 0.5;     ///< of a scale's mark, as scale.cpp takes it
constexpr double tip_mm = 0.4;      ///< of the fill, whose rounding is no part of its width
constexpr double least_standardised = 0.65, largest_standardised = 1.4;
constexpr double covered_share = 0.85;

/// A clinic's films are drawn by nature, the marks by a hand: this is the hand.
class Hand {
 public:
  explicit Hand(std::uint64_t seed) : engine_(seed) {}
  double normal() {
    const double u = uniform(), v = uniform();
    return std::sqrt(-2.0 * std::log(u)) * std::cos(6.283185307179586 * v);
  }

 private:
  double uniform() { return (static_cast<double>(engine_() >> 11) + 0.5) * 0x1.0p-53; }
  std::mt19937_64 engine_;
};

/// The same film marked again: apex, scale and path as far off as the reading says they may be.
Case marked_again(const phantom::Simulated& film, std::uint64_t seed) {
  Hand hand(seed);
  Case opened = case_of(film);
  auto& known = std::get<KnownLength>(opened.reading.scale.front());
  for (Point& p : known.points) p = {p.x + mark_px * hand.normal(), p.y + mark_px * hand.normal()};
  known.length_mm += length_mm * hand.normal();
  known.length_uncertainty_mm = length_mm;
  CanalMarks& canal = opened.reading.canals.front();
  for (Point& p : canal.path) p = {p.x + 2.0 * hand.normal(), p.y + 2.0 * hand.normal()};
  const phantom::TrueCanal& truth = film.truth.canals.front();
  // Slips along the canal, to either side of the true apex.
  const double slip_mm = apex_mm * hand.normal();
  for (std::size_t k = 1; k < truth.centre_line.size(); ++k) {
    const phantom::TrueCentre &a = truth.centre_line[k - 1], &b = truth.centre_line[k];
    if (a.at_mm > slip_mm || b.at_mm < slip_mm) continue;
    const double f = (slip_mm - a.at_mm) / (b.at_mm - a.at_mm);
    canal.apex = {a.position.x + f * (b.position.x - a.position.x),
                  a.position.y + f * (b.position.y - a.position.y)};
  }
  canal.apex_uncertainty_mm = apex_mm;
  return opened;
}

struct Figures {
  Errors terminus, filled, width, overall, apical;
};

Measured again(const phantom::Simulated& film, std::uint64_t seed) {
  return {film.truth, measure(marked_again(film, seed))};
}

void check(const std::string& name, const Errors& errors) {
  MESSAGE(name << ": " << errors.count() << " errors, RMS " << errors.rms() << ", over statement "
               << errors.standardised_rms() << ", within two " << errors.coverage(2.0));
  CHECK(errors.standardised_rms() <= largest_standardised);
  CHECK(errors.standardised_rms() >= least_standardised);
  CHECK(errors.coverage(2.0) >= covered_share);
}

Verdict verdict_at(const Measured& film, double limit_mm) {
  Criteria criteria;
  criteria.name = criteria.version = criteria.source = "test";
  Criterion one;
  one.id = "length";
  one.figure = CriterionFigure::terminus_to_apex_mm;
  one.upper = Limit{limit_mm, true};
  criteria.criteria = {one};
  return judge(film.result, criteria).judgements.front().verdict;
}

}  // namespace

TEST_CASE("films and marks drawn together: every figure's spread is what is stated, verdicts with it") {
  Figures figures;
  int wrong = 0, decided = 0, right_afar = 0, count = 0;
  for (const Measured& film : on_two_workers(films, [](int i) {
         const auto seed = static_cast<std::uint64_t>(4001 + i);
         return again(phantom::simulate(families::usual_film(seed)), seed);
       })) {
    const CanalResult& canal = film.result.canals.front();
    const phantom::TrueCanal& truth = film.truth.canals.front();
    if (!canal.terminus) continue;
    ++count;
    const double u = canal.terminus->standard_uncertainty_mm;
    figures.terminus.add(canal.terminus->to_apex_mm - truth.terminus_to_apex_mm, u);
    if (canal.filled_length_mm)
      figures.filled.add(canal.filled_length_mm->value - truth.filled_length_mm,
                         canal.filled_length_mm->standard_uncertainty);
    for (std::size_t k = 0; k < canal.width.size(); k += 4) {
      // By the distance from the fill's own end: where the apex was marked is no part of a width.
      const WidthAt& one = canal.width[k];
      const double above_mm = one.at_mm - canal.terminus->to_apex_mm;
      const double expected = true_width(truth, truth.terminus_to_apex_mm + above_mm);
      if (above_mm > tip_mm && !std::isnan(expected))
        figures.width.add(one.width_mm - expected, one.standard_uncertainty_mm);
    }
    if (canal.taper.overall)
      figures.overall.add(canal.taper.overall->value - truth.taper_overall,
                          canal.taper.overall->standard_uncertainty);
    // On the limit itself nobody can tell: at most a tenth is decided, half of it wrongly. Four standard
    // uncertainties from it everybody can.
    if (verdict_at(film, truth.terminus_to_apex_mm) != Verdict::too_close_to_call) ++decided;
    const Verdict inside = verdict_at(film, truth.terminus_to_apex_mm + 4.0 * u);
    const Verdict outside = verdict_at(film, truth.terminus_to_apex_mm - 4.0 * u);
    if (inside == Verdict::within && outside == Verdict::outside) ++right_afar;
    if (inside == Verdict::outside || outside == Verdict::within) ++wrong;
  }
  check("terminus", figures.terminus);
  check("filled length", figures.filled);
  check("width", figures.width);
  check("overall taper", figures.overall);
  MESSAGE(decided << " of " << count << " decided on the limit; " << right_afar << " right and " << wrong
                  << " wrong at four standard uncertainties from it");
  CHECK(decided <= count / 4);
  CHECK(right_afar >= (9 * count) / 10);
  CHECK(wrong == 0);
}

TEST_CASE("marks drawn again on one film: what they move is what their parts state") {
  phantom::Description d = families::clean_film(4);
  d.canals.front().fill->terminus_mm = 3.5;  // far enough from the apex for the scale to tell
  const phantom::Simulated film = phantom::simulate(d);
  Errors terminus, width, taper;
  const auto all =
      on_two_workers(draws, [&](int i) { return again(film, static_cast<std::uint64_t>(100 + i)); });
  double mean = 0.0, mean_width = 0.0, mean_taper = 0.0;
  const auto width_of = [](const Measured& one) { return one.result.canals.front().width.at(12).width_mm; };
  for (const Measured& one : all) {
    const CanalResult& canal = one.result.canals.front();
    REQUIRE(canal.terminus.has_value());
    REQUIRE(canal.taper.overall.has_value());
    mean += canal.terminus->to_apex_mm / draws;
    mean_width += width_of(one) / draws;
    mean_taper += canal.taper.overall->value / draws;
  }
  double scale_part = 0.0;
  for (const Measured& one : all) {
    const CanalResult& canal = one.result.canals.front();
    double variance = 0.0;
    for (const UncertaintyPart& part : canal.terminus->parts) {
      if (part.source != "outline") variance += part.standard_uncertainty_mm * part.standard_uncertainty_mm;
      if (part.source == "scale") scale_part = part.standard_uncertainty_mm;
    }
    terminus.add(canal.terminus->to_apex_mm - mean, std::sqrt(variance));
    const double relative = one.result.scale.standard_uncertainty / one.result.scale.mm_per_pixel;
    width.add(width_of(one) - mean_width, relative * mean_width);
    taper.add(canal.taper.overall->value - mean_taper, 0.0);
  }
  MESSAGE("terminus scatters by " << terminus.rms() << " mm, over statement " << terminus.standardised_rms()
                                  << " (scale's part " << scale_part << "); width "
                                  << width.standardised_rms() << "; taper by " << taper.rms());
  CHECK(scale_part > 0.03);
  for (const Errors* one : {&terminus, &width}) {
    CHECK(one->standardised_rms() <= largest_standardised);
    CHECK(one->standardised_rms() >= least_standardised);
  }
  // One scale serves both directions: a taper doesn't know it.
  CHECK(taper.rms() < 0.001);
}
