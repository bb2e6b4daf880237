#include <cmath>
#include <cstdint>
#include <numbers>
#include <optional>
#include <string>
#include <variant>

#include <doctest/doctest.h>

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/phantom/simulate.hpp>

#include <film_families.hpp>

using namespace canalrule;
using namespace canalrule::phantom;

namespace {

/// A straight upright canal without anything that hides it: no noise, blur, scatter, texture.
Description bare(double opacity) {
  Description d;
  d.beam.photons_per_pixel = 0.0;
  d.beam.scatter_to_primary = 0.0;
  d.beam.source_to_detector_mm = 1e6;
  d.detector.electronic_noise = 0.0;
  d.detector.blur_mm = 0.0;
  d.detector.bits = 16;
  d.detector.columns = 301;
  d.detector.rows = 900;
  d.detector.window_low = 0.8;
  d.detector.window_high = 2.6;
  d.jaw.texture = 0.0;
  d.tooth.restoration = Restoration::none;
  Fill fill;
  fill.opacity = opacity;
  fill.terminus_mm = 1.0;
  fill.coronal_mm = 11.5;
  fill.tip_diameter_mm = 0.3;
  fill.taper = 0.06;
  d.canals.front().fill = fill;
  d.canals.front().foramen_mm = 0.0;
  return d;
}

/// Attenuation over what the same film shows with the fill as opaque as dentine.
double excess(const Simulated& with, const Simulated& without, int c, int r) {
  const double step = (with.truth.window_high - with.truth.window_low) / 65535.0;
  return step * (with.grey.at<std::uint16_t>(r, c) - without.grey.at<std::uint16_t>(r, c));
}

constexpr double faint = 0.15;         // an excess of a few hundredths: averaging within a pixel is linear

double section(const Simulated& with, const Simulated& without, int row, double mm_per_px) {
  double sum = 0.0;
  for (int c = 60; c < 240; ++c) sum += excess(with, without, c, row) * mm_per_px;
  return sum;
}

/// A film with a defect of its fill, without it, and without the fill.
struct Defective {
  Simulated flawless, with, without;

  Defective(Description d, const Defect& defect) : flawless(simulate(d)) {
    d.canals.front().fill->defects.push_back(defect);
    with = simulate(d);
    d.canals.front().fill.reset();
    d.canals.front().foramen_mm = 0.0;
    without = simulate(d);
  }
  /// Of the fill's section so far from the apex.
  double share_left(double at_mm) const {
    const double s = flawless.truth.mm_per_pixel;
    const int row = static_cast<int>(flawless.truth.canals.front().apex.y - at_mm / s);
    return section(with, without, row, s) / section(flawless, without, row, s);
  }
};

}  // namespace

TEST_CASE("the excess integrated across a fill is its section times its contrast") {
  Description d = bare(0.3);
  const Simulated with = simulate(d);
  d.canals.front().fill.reset();
  d.canals.front().foramen_mm = 0.0;
  // Without a fill the chamber is open, but it lies above what is looked at.
  const Simulated without = simulate(d);
  const TrueCanal& truth = with.truth.canals.front();
  for (const double at : {2.0, 3.5, 5.0, 7.0}) {
    const double s = with.truth.mm_per_pixel;
    const int row = static_cast<int>(truth.apex.y - at / s);
    const double here = (truth.apex.y - (row + 0.5)) * s;
    const double diameter = 0.3 + 0.06 * (here - 1.0);
    CHECK(
        section(with, without, row, s) ==
        doctest::Approx(truth.contrast_per_mm * std::numbers::pi / 4.0 * diameter * diameter).epsilon(0.004));
  }
}

TEST_CASE("a fill that is deeper than wide shows as many times more, the more the nearer to its coronal end") {
  Description d = bare(faint);
  const Simulated round = simulate(d);
  d.canals.front().fill->coronal_depth_ratio = 1.8;
  const Simulated oval = simulate(d);
  d.canals.front().fill.reset();
  d.canals.front().foramen_mm = 0.0;
  const Simulated without = simulate(d);
  const double s = round.truth.mm_per_pixel;
  for (const double at : {2.0, 5.0, 9.0}) {
    const int row = static_cast<int>(round.truth.canals.front().apex.y - at / s);
    const double here = (round.truth.canals.front().apex.y - (row + 0.5)) * s;
    CHECK(section(oval, without, row, s) / section(round, without, row, s) ==
          doctest::Approx(1.0 + 0.8 * (here - 1.0) / 10.5).epsilon(0.004));
  }
}

TEST_CASE("a bubble takes as much of a fill that is deeper than wide as of a round one") {
  Defect bubble;
  bubble.kind = DefectKind::inside;
  bubble.at_mm = 6.0;
  bubble.length_mm = 0.8;
  bubble.width_mm = 0.3;
  const auto left = [&](double depth_ratio) {
    Description d = bare(faint);
    d.canals.front().fill->coronal_depth_ratio = depth_ratio;
    return Defective(d, bubble).share_left(6.0);
  };
  CHECK(left(1.0) < 0.9);
  CHECK(left(1.8) == doctest::Approx(left(1.0)).epsilon(0.002));
}

TEST_CASE("the terminus and the coronal end are where the truth says") {
  Description d = bare(faint);
  d.canals.front().fill->tip = TipShape::cut;
  const Simulated with = simulate(d);
  d.canals.front().fill.reset();
  d.canals.front().foramen_mm = 0.0;
  const Simulated without = simulate(d);
  const TrueCanal& truth = with.truth.canals.front();
  const int column = static_cast<int>(truth.terminus.x);
  const int row = static_cast<int>(truth.terminus.y);
  // The pixel that the end crosses shows it by the share that is filled.
  const double full = excess(with, without, column, row - 2);
  const double end = row + excess(with, without, column, row) / full;
  CHECK(end == doctest::Approx(truth.terminus.y).epsilon(0.02).scale(1.0));
  CHECK(excess(with, without, column, row + 1) < 0.02 * full);
  CHECK(truth.terminus_to_apex_mm == doctest::Approx(1.0).epsilon(1e-6));
  CHECK(truth.coronal_level_mm == doctest::Approx(11.5).epsilon(1e-6));
}

TEST_CASE("a tilted tooth is foreshortened, and so are its distances in pixels but not in millimetres") {
  Description d = bare(1.0);
  d.tooth.tilt_deg = 15.0;
  const Simulated film = simulate(d);
  CHECK(film.truth.mm_per_pixel_across == doctest::Approx(d.detector.pixel_mm).epsilon(1e-4));
  CHECK(film.truth.mm_per_pixel * std::cos(15.0 * std::numbers::pi / 180.0) ==
        doctest::Approx(film.truth.mm_per_pixel_across).epsilon(1e-4));
  CHECK(film.truth.canals.front().terminus_to_apex_mm == doctest::Approx(1.0).epsilon(1e-4));
}

TEST_CASE("a gap across takes its deficit of the section") {
  Defect gap;
  gap.at_mm = 6.0;
  gap.length_mm = 0.6;
  gap.deficit = 0.5;
  const Defective gapped(bare(0.3), gap);
  CHECK(gapped.share_left(6.0) == doctest::Approx(0.5).epsilon(0.01));
  CHECK(gapped.share_left(6.2) == doctest::Approx(0.5).epsilon(0.01));
  CHECK(gapped.share_left(6.4) == doctest::Approx(1.0).epsilon(0.01));
  const TrueVoid& v = gapped.with.truth.canals.front().voids.front();
  CHECK(v.from_mm == doctest::Approx(5.7).epsilon(1e-5));
  CHECK(v.length_mm == doctest::Approx(0.6).epsilon(1e-5));
  CHECK(v.deficit_section == doctest::Approx(0.5));
}

TEST_CASE("a bubble takes its section and no more") {
  Description d = bare(0.3);
  const Simulated flawless = simulate(d);
  Defect bubble;
  bubble.kind = DefectKind::inside;
  bubble.at_mm = 7.0;
  bubble.length_mm = 0.8;
  bubble.width_mm = 0.4;
  bubble.deficit = 1.0;
  d.canals.front().fill->defects.push_back(bubble);
  const Simulated flawed = simulate(d);
  const double s = flawless.truth.mm_per_pixel;
  double gone = 0.0;
  for (int row = 0; row < d.detector.rows; ++row) gone += section(flawless, flawed, row, s) * s;
  CHECK(gone ==
        doctest::Approx(flawless.truth.canals.front().contrast_per_mm * std::numbers::pi / 6.0 * 0.8 * 0.16)
            .epsilon(0.01));
}

TEST_CASE("the same description gives the same bytes, on any machine; another seed others") {
  const auto bytes_of = [](const Description& d) {
    const cv::Mat grey = simulate(d).grey;
    return sha256_hex({grey.ptr<std::uint8_t>(), grey.total() * grey.elemSize()});
  };
  Description d = bare(1.0);
  d.beam = Beam{};
  d.jaw = Jaw{};
  d.detector.columns = 200;
  d.detector.rows = 700;
  d.detector.blur_mm = 0.04;
  d.detector.noise_correlation_px = 0.6;
  d.canals.front().fill->uneven = 0.02;
  d.tooth.roots.front().curve.bend_deg = 20.0;
  // Written down from g++ 12 and clang 14 on x86-64, with and without fused multiply-add in the C library.
  const std::string hash = "78f53e81d70ce52f305ee24011888f573a571c5ee1e2a291f45864c6d5c50b56";
  CHECK(bytes_of(d) == hash);
  d.seed = 2;
  CHECK(bytes_of(d) != hash);
}

TEST_CASE("bone in patches is as uneven as asked for, and only the bone is") {
  Description d = bare(1.0);
  d.tooth.apex_x = 0.5;
  d.detector.columns = 900;
  d.detector.rows = 900;
  d.detector.window_low = 0.0;
  d.detector.window_high = 4.0;
  const cv::Mat even = simulate(d).grey;
  d.jaw.patches = 0.2;
  d.jaw.patch_mm = 1.5;
  const cv::Mat patchy = simulate(d).grey;
  cv::Mat change;
  cv::subtract(patchy, even, change, {}, CV_64F);
  // Below the root there is bone alone: its spongy part's attenuation varies by the share asked for.
  const cv::Rect bone(0, 780, 900, 120), crown(430, 0, 40, 120);
  cv::Scalar mean, deviation;
  cv::meanStdDev(change(bone) * (4.0 / 65535.0), mean, deviation);
  const double spongy =
      linear_attenuation(Material::trabecular_bone, 40.0) * (d.jaw.bone_mm - d.jaw.cortical_mm);
  CHECK(deviation[0] == doctest::Approx(0.2 * spongy).epsilon(0.25));  // some 50 patches
  CHECK(cv::norm(change(crown), cv::NORM_INF) == 0.0);
}

TEST_CASE("films drawn at random show their fill, and what was asked for in it") {
  for (std::uint64_t seed = 0; seed < 6; ++seed) {
    const families::WithVoid gap{.kind = DefectKind::across, .length_mm = 0.5};
    const families::Choice choice{.defect = seed % 2 == 0 ? std::optional(gap) : std::nullopt,
                                  .with_break = seed % 3 == 0};
    for (const Description& d : {families::clean_film(seed, choice), families::usual_film(seed, choice),
                                 families::hard_film(seed, choice)}) {
      CAPTURE(d.seed);
      const Simulated film = simulate(d);
      const TrueCanal& canal = film.truth.canals.front();
      CHECK(canal.voids.size() == (choice.defect ? 1 : 0));
      CHECK(canal.breaks.size() == (choice.with_break ? 1 : 0));
      CHECK(canal.filled_length_mm > 5.0);
      for (const TrueCentre& c : canal.centre_line) {
        if (c.at_mm < canal.terminus_to_apex_mm || c.at_mm > canal.coronal_level_mm) continue;
        CHECK(c.position.x > 30.0);
        CHECK(c.position.x < film.grey.cols - 30.0);
        CHECK(c.position.y > 30.0);
        CHECK(c.position.y < film.grey.rows - 30.0);
      }
    }
  }
}

TEST_CASE("a file lies in the canal with its length, and the reading follows it") {
  Description d = bare(1.0);
  Canal& canal = d.canals.front();
  canal.fill.reset();
  canal.file = File{};
  d.detector.rows = 1000;
  d.tooth.apex_y = 0.9;
  d.hand.scale = ScaleMarking::file;
  const Simulated film = simulate(d);
  REQUIRE(film.truth.canals.front().file);
  const TrueFile& file = *film.truth.canals.front().file;
  CHECK(file.film_px * film.truth.mm_per_pixel == doctest::Approx(21.0).epsilon(1e-5));
  const auto& mark = std::get<KnownLength>(film.reading.scale.front());
  CHECK(mark.length_mm == 21.0);
  CHECK(mark.points.front() == file.stop);
  CHECK(mark.points.back() == file.tip);
  // ISO 3630-1: size 25 is 0.25 + 0.02 x mm thick, 0.35 mm at 5 mm from the tip.
  const double s = film.truth.mm_per_pixel;
  const int row = static_cast<int>(file.tip.y - 5.0 / s);
  const double here = (file.tip.y - (row + 0.5)) * s;
  const auto dark = film.grey.at<std::uint16_t>(row, 120);
  int wide = 0;
  for (int c = 120; c < 181; ++c)
    if (film.grey.at<std::uint16_t>(row, c) > dark + 3000) ++wide;
  CHECK(std::abs(wide * s - (0.25 + 0.02 * here)) < 2.0 * s);
}

TEST_CASE("a carried scale names the other film and its marks") {
  Description d = bare(1.0);
  d.hand.scale = ScaleMarking::carried;
  d.hand.carried_from = "working-length.reading.json";
  d.hand.carried_points = {{100.0, 50.0}, {120.0, 700.0}};
  const Simulated film = simulate(d);
  const auto& mark = std::get<CarriedLength>(film.reading.scale.front());
  CHECK(mark.from_reading == d.hand.carried_from);
  CHECK(mark.from_points == d.hand.carried_points);
  CHECK(mark.points.front() == film.truth.cusp);
  CHECK(mark.points.back() == film.truth.apex);
}

TEST_CASE("the reading is drawn in order, off the centre line by the hand's jitter") {
  Description d = families::usual_film(5);
  d.hand.jitter_px = 3.0;
  d.hand.points = 9;
  const Simulated film = simulate(d);
  REQUIRE(film.reading.canals.size() == 1);
  REQUIRE(film.reading.canals.front().path.size() == 9);
  CHECK(film.reading.canals.front().apex == film.truth.canals.front().apex);
  const auto& path = film.reading.canals.front().path;
  const Point apex = film.reading.canals.front().apex;
  CHECK(std::hypot(path.front().x - apex.x, path.front().y - apex.y) >
        std::hypot(path.back().x - apex.x, path.back().y - apex.y));
  const auto& mark = std::get<KnownLength>(film.reading.scale.front());
  const double px = std::hypot(mark.points[0].x - mark.points[1].x, mark.points[0].y - mark.points[1].y);
  CHECK(mark.length_mm / px == doctest::Approx(film.truth.mm_per_pixel).epsilon(1e-9));
}

TEST_CASE("a description is refused by the pointer to what is wrong in it") {
  const auto refused_at = [](const std::string& json) -> std::string {
    try {
      parse_description(json, "film.phantom.json");
    } catch (const Refusal& refusal) {
      CHECK(refusal.where() == "film.phantom.json");
      CHECK(refusal.kind() == RefusalKind::unusable_input);
      return refusal.field();
    }
    return "accepted";
  };
  const std::string head = R"({"schema": "canalrule.phantom/1")";
  CHECK(refused_at(head + "}") == "accepted");
  CHECK(refused_at("{}") == "/schema");
  CHECK(refused_at(head + R"(, "sead": 4})") == "/sead");
  CHECK(refused_at(head + R"(, "beam": {"photons_per_pixel": -1}})") == "/beam/photons_per_pixel");
  CHECK(refused_at(head + R"(, "detector": {"bits": 12.5}})") == "/detector/bits");
  CHECK(refused_at(head + R"(, "tooth": {"roots": [{"curve": {"bend_deg": "much"}}]}})") ==
        "/tooth/roots/0/curve/bend_deg");
  CHECK(refused_at(head + R"(, "canals": []})") == "/canals");
  CHECK(refused_at(head + R"(, "canals": [{"fill": {"tip": "sharp"}}]})") == "/canals/0/fill/tip");
  CHECK(refused_at(head + R"(, "canals": [{"fill": {"coronal_mm": 1.2}}]})") == "/canals/0/fill/coronal_mm");
  CHECK(refused_at(head + R"(, "canals": [{"fill": {"defects": [{"at_mm": 11.9}]}}]})") ==
        "/canals/0/fill/defects/0/at_mm");
  CHECK(refused_at(head + R"(, "reading": {"scale": "carried"}})") == "/reading/scale");
  CHECK(refused_at(head + R"(, "reading": {"carried_points": [[1, 2]]}})") == "/reading/carried_points");
  CHECK(refused_at("[1]") == "/");
  CHECK(refused_at("{").empty());
}

TEST_CASE("fields of a description are taken where they are") {
  const Description d = parse_description(
      R"({"schema": "canalrule.phantom/1", "seed": 9, "tooth": {"upper": true, "restoration": "metal-crown"},
          "canals": [{"name": "B", "fill": {"terminus_mm": -0.5, "breaks": [{"at_mm": 5, "step_mm": -0.1}]},
                      "planned": {"taper": 0.06}}], "reading": {"scale": "spacing"}})",
      "x");
  CHECK(d.seed == 9);
  CHECK(d.tooth.upper);
  CHECK(d.tooth.restoration == Restoration::metal_crown);
  REQUIRE(d.canals.size() == 1);
  CHECK(d.canals[0].name == "B");
  CHECK(d.canals[0].fill->terminus_mm == -0.5);
  CHECK(d.canals[0].fill->breaks[0].step_mm == -0.1);
  CHECK(d.canals[0].planned_taper == 0.06);
  CHECK(d.hand.scale == ScaleMarking::spacing);
}
