// Voids in the fill, on simulated films, truth by construction. Bounds: on films of usual quality a 0.5 mm
// gap across the whole width is always found, and at the shipped criteria none is reported in a flawless fill
// in at least 95 of 100, as the project promises; the others are chosen here and say so.
#include <algorithm>
#include <cmath>
#include <filesystem>

#include <doctest/doctest.h>

#include <canalrule/judge/conformity.hpp>
#include <canalrule/judge/judge.hpp>

#include <film_families.hpp>
#include <measured.hpp>

using namespace canalrule;
using namespace canalrule_test;

namespace {

constexpr int films = 60;  ///< seeds 3001 to 3060 of either kind
constexpr double gap_mm = 0.5;
constexpr double flawless_share = 0.95;
constexpr double across_share = 0.95;        ///< gaps found that are called across; chosen here
constexpr double gap_place_rms_mm = 0.05;    ///< chosen here
constexpr double gap_length_rms_mm = 0.1;    ///< chosen here
constexpr double gap_deficit_bias = 0.1;     ///< chosen here; of films that are not made for display
constexpr double gap_length_covered = 0.85;  ///< within twice the stated standard uncertainty; chosen here

constexpr int sized_films = 20;              ///< of each size, seeds 3101 to 3120
constexpr double sized_length_rms_mm = 0.1;  ///< half of what the project promises of usual films
constexpr double sized_covered = 0.88;       ///< chosen here
constexpr double displayed_deficit_rms = 0.08;  ///< of gaps across on display films; the project's target of usual ones

constexpr double clean_length_rms_mm = 0.08; ///< on clean films, seeds 3201 to 3220; the project's target
constexpr double clean_place_rms_mm = 0.02;  ///< likewise

constexpr double beside_mm = 0.5;  ///< of a complete gap, where no other void is told; chosen here

constexpr double shallow_score = 2.0;  ///< long gaps that take a tenth, clean films, seeds 3301 to 3320; chosen here
constexpr double shallow_place_rms_mm = 0.05, shallow_deficit_bias = 0.02;
constexpr double sharpened_deficit_bias = 0.04;  ///< of gaps of 0.25 mm, seeds 3401 to 3420; chosen here

Criteria shipped() {
  return load_criteria(std::filesystem::path(CANALRULE_SOURCE_DIR) / "docs/criteria/default.json");
}

const Criterion& density(const Criteria& criteria) {
  const auto found = std::find_if(criteria.criteria.begin(), criteria.criteria.end(),
                                  [](const Criterion& c) { return c.id == "density"; });
  REQUIRE(found != criteria.criteria.end());
  return *found;
}

/// The strongest void that overlaps the true one.
const Void* overlapping(const CanalResult& canal, const phantom::TrueVoid& truth) {
  const Void* best = nullptr;
  if (!canal.voids) return nullptr;
  for (const Void& one : *canal.voids)
    if (one.from_mm < truth.to_mm && one.to_mm > truth.from_mm &&
        (best == nullptr || one.score > best->score))
      best = &one;
  return best;
}

}  // namespace

TEST_CASE("a 0.5 mm gap across the whole width is always found on usual films") {
  const Criteria criteria = shipped();
  const VoidSelection& selection = density(criteria).voids;
  families::Choice with_gap;
  with_gap.defect = families::WithVoid{phantom::DefectKind::across, gap_mm, 1.0, 1.0, std::nullopt};
  Errors place, length, deficit;
  int found = 0, across = 0, called_outside = 0;
  for (const Measured& film : on_two_workers(films, [&](int i) {
         return measured(families::usual_film(static_cast<std::uint64_t>(3001 + i), with_gap));
       })) {
    REQUIRE(film.truth.canals.front().voids.size() == 1);
    const phantom::TrueVoid& truth = film.truth.canals.front().voids.front();
    const Void* one = overlapping(film.result.canals.front(), truth);
    if (one == nullptr || one->score < selection.least_score) {
      MESSAGE("not found on seed " << family_seed(film.truth) << " (" << film.truth.response << "), from "
                                   << truth.from_mm << " to " << truth.to_mm << " mm, score "
                                   << (one == nullptr ? 0.0 : one->score));
      continue;
    }
    ++found;
    if (one->kind == VoidKind::across) ++across;
    place.add(0.5 * (one->from_mm + one->to_mm - truth.from_mm - truth.to_mm), 0.0);
    length.add(one->length_mm.value - truth.length_mm, one->length_mm.standard_uncertainty);
    // Of a share that hangs on a curve which isn't known it is said that it does.
    CHECK(warned(film.result.canals.front(), "deficit-ordinal") == (film.truth.response == "display"));
    if (film.truth.response != "display")
      deficit.add(one->deficit.value - truth.deficit_section, one->deficit.standard_uncertainty);
    const Judged judged = judge(film.result, criteria);
    for (const Judgement& j : judged.judgements)
      if (j.criterion == "density" && j.verdict == Verdict::outside) ++called_outside;
  }
  MESSAGE("found " << found << ", called across " << across << ", outside " << called_outside
                   << "; place RMS " << place.rms() << " mm, length bias " << length.bias() << " RMS "
                   << length.rms() << " mm, deficit bias " << deficit.bias() << " RMS " << deficit.rms());
  CHECK(found == films);
  CHECK(across >= static_cast<int>(std::ceil(across_share * films)));
  CHECK(called_outside >= static_cast<int>(std::ceil(flawless_share * films)));
  CHECK(place.rms() <= gap_place_rms_mm);
  CHECK(length.rms() <= gap_length_rms_mm);
  CHECK(length.coverage(2.0) >= gap_length_covered);
  CHECK(std::fabs(deficit.bias()) <= gap_deficit_bias);
}

TEST_CASE("of a display's curve is warned where a void's share is worth it, not where a void may be chance") {
  for (const std::uint64_t seed : {5013U, 5026U, 5040U}) {  // flawless, with a void of score 2.2, 1.3 and 1.3
    CAPTURE(seed);
    const CanalResult canal = measured(families::usual_film(seed)).result.canals.front();
    REQUIRE(canal.voids.has_value());
    REQUIRE(canal.voids->size() == 1);
    CHECK(warned(canal, "deficit-ordinal") == (seed == 5013U));
  }
}

TEST_CASE("gaps of other sizes are found on usual films, and lie within what is stated of them") {
  struct Size {
    double length_mm, deficit;
    int least_found;  ///< of sized_films, at a score of 5; chosen here
  };
  const double least_score = density(shipped()).voids.least_score;
  Errors length, deficit, displayed;  // the last on films whose curve is estimated from the fill itself
  for (const Size& size : {Size{0.2, 0.4, 19}, Size{0.2, 1.0, 19}, Size{1.0, 0.4, 19}, Size{2.0, 0.4, 18}}) {
    families::Choice with_gap;
    with_gap.defect = families::WithVoid{phantom::DefectKind::across, size.length_mm, size.deficit, 1.0, std::nullopt};
    int found = 0;
    Errors own;
    for (const Measured& film : on_two_workers(sized_films, [&](int i) {
           return measured(families::usual_film(static_cast<std::uint64_t>(3101 + i), with_gap));
         })) {
      const phantom::TrueVoid& truth = film.truth.canals.front().voids.front();
      const Void* one = overlapping(film.result.canals.front(), truth);
      if (one == nullptr || one->score < least_score) continue;
      ++found;
      length.add(one->length_mm.value - truth.length_mm, one->length_mm.standard_uncertainty);
      own.add(one->length_mm.value - truth.length_mm, one->length_mm.standard_uncertainty);
      if (one->kind != VoidKind::across) continue;
      Errors& of_response = film.truth.response == "display" ? displayed : deficit;
      of_response.add(one->deficit.value - truth.deficit_section, one->deficit.standard_uncertainty);
    }
    MESSAGE(size.length_mm << " mm, deficit " << size.deficit << ": found " << found << ", length RMS " << own.rms()
                           << " mm, " << own.standardised_rms() << " u");
    CHECK(found >= size.least_found);
    CHECK(own.rms() <= sized_length_rms_mm);
  }
  MESSAGE("length: " << length.standardised_rms() << " u, within 2 u " << length.coverage(2.0) << "; deficit: "
                     << deficit.standardised_rms() << " u, " << deficit.coverage(2.0) << " of " << deficit.count()
                     << "; on display films RMS " << displayed.rms() << ", bias " << displayed.bias() << ", "
                     << displayed.standardised_rms() << " u, " << displayed.coverage(2.0) << " of "
                     << displayed.count());
  CHECK(length.coverage(2.0) >= sized_covered);
  CHECK(length.standardised_rms() >= 0.6);
  CHECK(deficit.coverage(2.0) >= sized_covered);
  CHECK(deficit.standardised_rms() >= 0.5);
  CHECK(displayed.coverage(2.0) >= sized_covered);
  CHECK(displayed.rms() <= displayed_deficit_rms);
}

TEST_CASE("a complete gap of 3 or 3.5 mm is one void, and not a fill that narrows: usual films, seeds 3601 to 3612") {
  constexpr int long_films = 12;
  for (const double gap : {3.0, 3.5}) {
    families::Choice with_gap;
    with_gap.defect = families::WithVoid{phantom::DefectKind::across, gap, 1.0, 1.0, std::nullopt};
    int told = 0, narrow = 0, fills = 0;
    Errors length;
    for (const Measured& film : on_two_workers(long_films, [&](int i) {
           return measured(families::usual_film(static_cast<std::uint64_t>(3601 + i), with_gap));
         })) {
      const CanalResult& canal = film.result.canals.front();
      const phantom::TrueVoid& truth = film.truth.canals.front().voids.front();
      if (!canal.terminus || canal.terminus->to_apex_mm > truth.from_mm) continue;  // the piece beyond is refused or told
      ++fills;
      narrow += warned(canal, "outline-pinched") || warned(canal, "taper-reversed") ? 1 : 0;
      const Void* one = overlapping(canal, truth);
      if (one == nullptr || one->score < 5.0) continue;
      ++told;
      length.add(one->length_mm.value - truth.length_mm, one->length_mm.standard_uncertainty);
    }
    MESSAGE(gap << " mm: of " << fills << " told " << told << ", length RMS " << length.rms() << " mm, "
                << length.standardised_rms() << " u; as narrow " << narrow);
    CHECK(fills >= 8);
    CHECK(told >= 6);  // of 8; chosen here, as the others
    CHECK(narrow == 0);
    CHECK(length.rms() <= 0.3);
  }
}

TEST_CASE("a long bubble in the middle of a fill on a clean film is told as one, with its own length") {
  Errors place, length;
  int inside = 0;
  for (const Measured& film : on_two_workers(sized_films, [&](int i) {
         const auto seed = static_cast<std::uint64_t>(3201 + i);
         const phantom::Fill whole = *families::clean_film(seed).canals.front().fill;
         families::Choice with_bubble;
         with_bubble.defect = families::WithVoid{phantom::DefectKind::inside, 1.2, 0.5, 0.6,
                                                 0.5 * (whole.coronal_mm - whole.terminus_mm)};
         return measured(families::clean_film(seed, with_bubble));
       })) {
    const phantom::TrueVoid& truth = film.truth.canals.front().voids.front();
    const Void* one = overlapping(film.result.canals.front(), truth);
    REQUIRE(one != nullptr);
    inside += one->kind == VoidKind::inside ? 1 : 0;
    place.add(0.5 * (one->from_mm + one->to_mm - truth.from_mm - truth.to_mm), 0.0);
    length.add(one->length_mm.value - truth.length_mm, one->length_mm.standard_uncertainty);
  }
  MESSAGE("called inside " << inside << ", place RMS " << place.rms() << " mm, length RMS " << length.rms() << " mm, "
                           << length.standardised_rms() << " u");
  CHECK(inside >= sized_films - 1);
  CHECK(place.rms() <= clean_place_rms_mm);
  CHECK(length.coverage(2.0) >= sized_covered);
}

TEST_CASE("a long gap that takes a tenth of a clean film's fill is found whole, whether it begins at once or gradually") {
  Errors place, length, deficit;
  int found = 0;
  for (const Measured& film : on_two_workers(sized_films, [&](int i) {
         families::Choice with_gap;
         with_gap.defect = families::WithVoid{phantom::DefectKind::across, 1.6, 0.1, 1.0, std::nullopt};
         return measured(families::clean_film(static_cast<std::uint64_t>(3301 + i), with_gap));
       })) {
    const phantom::TrueVoid& truth = film.truth.canals.front().voids.front();
    const Void* one = overlapping(film.result.canals.front(), truth);
    if (one == nullptr || one->score < shallow_score) continue;
    ++found;
    place.add(0.5 * (one->from_mm + one->to_mm - truth.from_mm - truth.to_mm), 0.0);
    length.add(one->length_mm.value - truth.length_mm, one->length_mm.standard_uncertainty);
    deficit.add(one->deficit.value - truth.deficit_section, one->deficit.standard_uncertainty);
  }
  MESSAGE("found " << found << ", place RMS " << place.rms() << " mm, length RMS " << length.rms() << " mm, "
                   << length.standardised_rms() << " u; deficit bias " << deficit.bias() << " RMS " << deficit.rms());
  CHECK(found >= sized_films - 1);
  CHECK(place.rms() <= shallow_place_rms_mm);
  CHECK(length.coverage(2.0) >= sized_covered);
  CHECK(std::fabs(deficit.bias()) <= shallow_deficit_bias);
}

TEST_CASE("a gap on a sharpened film is as deep as it is") {
  for (const auto& [amount, radius_mm] : {std::pair{0.8, 0.10}, {1.2, 0.15}}) {
    Errors deficit;
    for (const Measured& film : on_two_workers(sized_films, [amount = amount, radius_mm = radius_mm](int i) {
           families::Choice with_gap;
           with_gap.defect = families::WithVoid{phantom::DefectKind::across, 0.25, 0.5, 1.0, std::nullopt};
           phantom::Description d = families::clean_film(static_cast<std::uint64_t>(3401 + i), with_gap);
           d.detector.sharpen_amount = amount;
           d.detector.sharpen_radius_mm = radius_mm;
           return measured(d);
         })) {
      const phantom::TrueVoid& truth = film.truth.canals.front().voids.front();
      const CanalResult& canal = film.result.canals.front();
      const bool clipped = std::any_of(canal.not_assessable.begin(), canal.not_assessable.end(), [&](const auto& why) {
        return why.reason == "clipped" && why.from_mm < truth.to_mm + 0.2 && why.to_mm > truth.from_mm - 0.2;
      });
      if (clipped) continue;  // sharpening drives the grey beside it past the window
      const Void* one = overlapping(canal, truth);
      REQUIRE(one != nullptr);
      deficit.add(one->deficit.value - truth.deficit_section, one->deficit.standard_uncertainty);
    }
    MESSAGE("sharpened by " << amount << ": " << deficit.count() << " films, deficit bias " << deficit.bias() << " RMS "
                            << deficit.rms() << ", " << deficit.standardised_rms() << " u");
    CHECK(deficit.count() >= sized_films / 2);
    CHECK(std::fabs(deficit.bias()) <= sharpened_deficit_bias);
    CHECK(deficit.coverage(2.0) >= sized_covered);
  }
}

TEST_CASE("a gap with less than a millimetre of fill coronal of it ends where that begins") {
  constexpr double length_mm = 1.1, coronal_piece_mm = 0.9;
  for (const double deficit : {0.4, 0.95}) {
    Errors place, length;
    int missed = 0;
    for (const Measured& film : on_two_workers(sized_films, [&](int i) {
           const auto seed = static_cast<std::uint64_t>(3201 + i);
           const phantom::Fill whole = *families::clean_film(seed).canals.front().fill;
           families::Choice with_gap;
           with_gap.defect =
               families::WithVoid{phantom::DefectKind::across, length_mm, deficit, 1.0,
                                  whole.coronal_mm - coronal_piece_mm - 0.5 * length_mm - whole.terminus_mm};
           return measured(families::clean_film(seed, with_gap));
         })) {
      const phantom::TrueVoid& truth = film.truth.canals.front().voids.front();
      const CanalResult& canal = film.result.canals.front();
      if (std::any_of(canal.not_assessable.begin(), canal.not_assessable.end(),
                      [](const NotAssessable& why) { return why.reason == "clipped"; }))
        continue;  // the grey is clipped at the coronal end
      const Void* one = overlapping(canal, truth);
      if (one == nullptr) {
        ++missed;
        continue;
      }
      place.add(0.5 * (one->from_mm + one->to_mm - truth.from_mm - truth.to_mm), 0.0);
      length.add(one->length_mm.value - truth.length_mm, one->length_mm.standard_uncertainty);
    }
    MESSAGE("deficit " << deficit << ": found " << length.count() << ", place RMS " << place.rms() << " mm, length RMS "
                       << length.rms() << " mm, " << length.standardised_rms() << " u");
    CHECK(missed <= 1);
    CHECK(length.count() >= sized_films / 2);
    CHECK(place.rms() <= clean_place_rms_mm);
    CHECK(length.rms() <= clean_length_rms_mm);
    CHECK(length.coverage(2.0) >= sized_covered);
  }
}

TEST_CASE("a gap that goes on where the fill can't be judged says that its length isn't known") {
  // Voids aren't told from 0.28 mm beyond the apex to 0.2 mm short of it where a fill leaves the root.
  constexpr double length_mm = 0.8, middle_mm = 0.15;
  Errors length;
  for (std::uint64_t seed = 3301; length.count() < 8; ++seed) {
    const phantom::Fill whole = *families::clean_film(seed).canals.front().fill;
    if (whole.terminus_mm > -0.8) continue;
    families::Choice with_gap;
    with_gap.defect =
        families::WithVoid{phantom::DefectKind::across, length_mm, 0.5, 1.0, middle_mm - whole.terminus_mm};
    const Measured film = measured(families::clean_film(seed, with_gap));
    const phantom::TrueVoid& truth = film.truth.canals.front().voids.front();
    const Void* one = overlapping(film.result.canals.front(), truth);
    REQUIRE(one != nullptr);
    length.add(one->length_mm.value - truth.length_mm, one->length_mm.standard_uncertainty);
  }
  MESSAGE("length RMS " << length.rms() << " mm, " << length.standardised_rms() << " u");
  CHECK(length.coverage(2.0) == 1.0);
}

TEST_CASE("a complete gap is one void: what its taking out leaves beside it is none") {
  // Of these films four told another beside it, of scores up to 13, before that was weighed.
  int alone = 0;
  for (const Measured& film : on_two_workers(films, [](int i) {
         families::Choice with_gap;
         with_gap.defect = families::WithVoid{};
         return measured(families::clean_film(static_cast<std::uint64_t>(1 + i), with_gap));
       })) {
    const CanalResult& canal = film.result.canals.front();
    const phantom::TrueVoid& truth = film.truth.canals.front().voids.front();
    REQUIRE(canal.voids.has_value());
    const auto beside = std::count_if(canal.voids->begin(), canal.voids->end(), [&](const Void& one) {
      return one.from_mm < truth.to_mm + beside_mm && one.to_mm > truth.from_mm - beside_mm;
    });
    alone += beside == 1 ? 1 : 0;
  }
  CHECK(alone == films);
}

TEST_CASE("what draws on past a fill's coronal end when it is left out is no void, nor widens the fill there") {
  const Measured film = measured(families::usual_film(66));
  const CanalResult& canal = film.result.canals.front();
  REQUIRE(film.truth.canals.front().voids.empty());
  REQUIRE(canal.voids.has_value());
  CHECK(canal.voids->empty());
  CHECK(canal.taper.coronal.has_value());
}

TEST_CASE("what is missing past a fill's own tip is no void of it") {
  // Of a display's steepest curves, which show the tip fainter than the fill: without that two of them have one.
  for (const Measured& film : on_two_workers(20, [](int i) {
         phantom::Description d = families::usual_film(static_cast<std::uint64_t>(2001 + i));
         d.detector.response = Response::display;
         d.detector.display_curve = phantom::DisplayCurve::sigmoid;
         d.detector.display_strength = 7.0;
         return measured(d);
       })) {
    const CanalResult& canal = film.result.canals.front();
    CAPTURE(family_seed(film.truth));
    REQUIRE(canal.terminus.has_value());
    REQUIRE(canal.voids.has_value());
    for (const Void& one : *canal.voids) CHECK(one.from_mm >= canal.terminus->to_apex_mm);
  }
}

TEST_CASE("what reaches a fill's coronal end is no void of it") {
  // Flawless fills, in each of which the search takes the fading end for a gap of score 3 or more.
  for (const std::uint64_t seed : {2268, 2296, 2062, 2006, 2390}) {
    CAPTURE(seed);
    const CanalResult canal = measured(families::usual_film(seed)).result.canals.front();
    REQUIRE(canal.voids.has_value());
    CHECK(canal.voids->empty());
  }
}

TEST_CASE("what a film by itself hardly shows is told as a void only where it is sure") {
  // Flawless fills on hard films, with voids of scores 3.6 and 2.4 by the texture's covariance alone.
  for (const std::uint64_t seed : {2283, 2150}) {
    CAPTURE(seed);
    const CanalResult canal = measured(families::hard_film(seed)).result.canals.front();
    REQUIRE(canal.voids.has_value());
    CHECK(canal.voids->empty());
  }
  families::Choice with_gap;
  with_gap.defect = families::WithVoid{phantom::DefectKind::across, 0.2236, 0.0943, 0.6, std::nullopt};
  const Measured film = measured(families::hard_film(46, with_gap));
  CHECK(overlapping(film.result.canals.front(), film.truth.canals.front().voids.front()) != nullptr);
}

TEST_CASE("no gap is reported in a flawless fill on usual films at the shipped criteria") {
  const Criteria criteria = shipped();
  const VoidSelection& selection = density(criteria).voids;
  int flawless = 0, outside = 0;
  for (const Measured& film : on_two_workers(films, [](int i) {
         return measured(families::usual_film(static_cast<std::uint64_t>(3001 + i)));
       })) {
    const CanalResult& canal = film.result.canals.front();
    REQUIRE(film.truth.canals.front().voids.empty());
    if (!canal.voids) continue;
    const auto reported = std::find_if(canal.voids->begin(), canal.voids->end(),
                                       [&](const Void& one) { return counts(one, selection); });
    if (reported == canal.voids->end()) {
      ++flawless;
    } else {
      MESSAGE("reported on seed " << family_seed(film.truth) << " (" << film.truth.response << "): from "
                                  << reported->from_mm << " to " << reported->to_mm << " mm, deficit "
                                  << reported->deficit.value << ", score " << reported->score << ", kind "
                                  << static_cast<int>(reported->kind) << "; fill from "
                                  << canal.terminus->to_apex_mm << " to " << canal.coronal_level_mm->value);
    }
    for (const Judgement& j : judge(film.result, criteria).judgements)
      if (j.criterion == "density" && j.verdict == Verdict::outside) ++outside;
  }
  // A film on which voids could not be judged counts as a miss.
  CHECK(flawless >= static_cast<int>(std::ceil(flawless_share * films)));
  CHECK(outside <= films - static_cast<int>(std::ceil(flawless_share * films)));
}
