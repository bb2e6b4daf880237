// The scale and its uncertainty against the outside:
// - JCGM 100:2008 (GUM), H.1, the end gauge: contributions of 25, 9.7, 2.9 and 16.6 nm combine to 31.7 nm, 32
// nm as
//   published (from memory);
// - a file of 21 mm, tolerance +-0.5 mm rectangular (ISO 3630-1, from memory), over 1050 px with 0.707 px of
//   marking: 0.02000 mm per px, 1.38 % relative (computed from (us/s)^2 = (uL/L)^2 + (uN/N)^2);
// - projection geometry: magnification M = SID / (SID - d): 400/10 mm 1.0256, 400/20 1.0526, 200/10 1.0526,
// 300/30
//   1.1111; tilt L'/L = cos(theta) / cos(phi), theta the tooth's axis, phi the detector, off perpendicular to
//   the beam: theta 20, phi 10 degrees 0.9542, theta = phi 1.
#include <canalrule/measure/scale.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <film_families.hpp>
#include <measured.hpp>
#include <numbers>

using namespace canalrule;
using namespace canalrule_test;

namespace {

KnownLength length_over(double pixels, double mm, std::optional<double> u_mm) {
  return {{{100.0, 20.0}, {100.0, 20.0 + pixels}}, mm, u_mm};
}

Case marked(const std::vector<ScaleMark>& marks) {
  Case opened;
  opened.film.grey = cv::Mat(3000, 400, CV_32FC1, cv::Scalar(0));
  opened.reading.scale = marks;
  return opened;
}

/// One straight filled canal on a film without anything that blurs the truth but the sensor.
phantom::Description plain_film() {
  phantom::Description d;
  d.seed = 5;
  d.jaw.texture = 0.0;
  d.beam.scatter_to_primary = 0.0;
  d.beam.photons_per_pixel = 60000.0;
  d.detector.bits = 16;
  d.detector.window_low = 0.0;  // nothing is clipped
  d.detector.window_high = 4.5;
  phantom::Fill fill;
  fill.terminus_mm = 1.0;
  fill.coronal_mm = 12.0;
  fill.tip_diameter_mm = 0.4;
  fill.taper = 0.04;
  d.canals.front().fill = fill;
  d.canals.front().foramen_mm = 0.0;
  d.canals.front().unfilled_taper = 0.0;
  d.hand.scale_uncertainty_mm = 0.0005;
  return d;
}

/// Relative tolerance of lengths measured on a plain film: twice the 0.004 mm of its ends over 11 mm.
constexpr double length_tolerance_mm = 0.02;

double projected_share(double tooth_deg, double detector_deg) {
  constexpr double degree = std::numbers::pi / 180.0;
  return std::cos(tooth_deg * degree) / std::cos(detector_deg * degree);
}

}  // namespace

TEST_CASE("GUM H.1: four contributions combine to 32") {
  // Scaled to parts in ten thousand, as a carried-over scale has them: the file's length, its marks, the
  // landmarks there and the landmarks here, the marks' 0.707 px over so many pixels.
  const double marks_px = std::sqrt(0.5);
  const double there_px = marks_px / 2.9e-4, here_px = marks_px / 16.6e-4, file_px = marks_px / 9.7e-4;
  Case opened =
      marked({CarriedLength{{{50.0, 0.0}, {50.0, here_px}}, "other", {{50.0, 0.0}, {50.0, there_px}}}});
  CarriedFrom other;
  other.reading.scale = {length_over(file_px, 21.0, 21.0 * 25e-4)};
  opened.carried = {other};
  const ScaleResult scale = find_scale(opened).scale;
  CHECK(std::fabs(1e4 * scale.standard_uncertainty / scale.mm_per_pixel - 31.7) < 0.05);
}

TEST_CASE("a file of 21 mm over 1050 px") {
  const ScaleResult scale = find_scale(marked({length_over(1050.0, 21.0, 0.5 / std::sqrt(3.0))})).scale;
  CHECK(scale.mm_per_pixel == doctest::Approx(0.02));
  CHECK(std::fabs(100.0 * scale.standard_uncertainty / scale.mm_per_pixel - 1.38) < 0.005);
  // Its length known to +-0.05 mm, rectangular: 0.15 %.
  const ScaleResult surer = find_scale(marked({length_over(1050.0, 21.0, 0.05 / std::sqrt(3.0))})).scale;
  CHECK(std::fabs(100.0 * surer.standard_uncertainty / surer.mm_per_pixel - 0.15) < 0.005);
}

TEST_CASE(
    "the parts of a terminus' uncertainty combine as the GUM says, and the scale's grows with the distance") {
  phantom::Description d = plain_film();
  d.canals.front().fill->terminus_mm = 3.0;
  phantom::Simulated film = phantom::simulate(d);
  std::get<KnownLength>(film.reading.scale.front()).length_uncertainty_mm = 0.15;  // 1 % of 15 mm
  const Result result = measure(case_of(film));
  REQUIRE(result.canals.front().terminus.has_value());
  const Terminus& t = *result.canals.front().terminus;
  double sum = 0.0, scale = 0.0;
  for (const UncertaintyPart& part : t.parts) {
    sum += part.standard_uncertainty_mm * part.standard_uncertainty_mm;
    if (part.source == "scale") scale = part.standard_uncertainty_mm;
  }
  CHECK(t.standard_uncertainty_mm == doctest::Approx(std::sqrt(sum)).epsilon(1e-9));
  CHECK(scale == doctest::Approx(0.03).epsilon(0.05));
}

TEST_CASE("a file at the canal's depth cancels the magnification") {
  struct Set {
    double source_mm, object_mm, magnification;
  };
  for (const Set& set :
       {Set{400, 10, 1.0256}, Set{400, 20, 1.0526}, Set{200, 10, 1.0526}, Set{300, 30, 1.1111}}) {
    CAPTURE(set.source_mm);
    CAPTURE(set.object_mm);
    phantom::Description with_file = plain_film();
    with_file.beam.source_to_detector_mm = set.source_mm;
    with_file.beam.object_to_detector_mm = set.object_mm;
    phantom::Description with_fill = with_file;
    with_file.canals.front().fill.reset();
    with_file.canals.front().file = phantom::File{};
    with_file.hand.scale = phantom::ScaleMarking::file;
    const phantom::Simulated working = phantom::simulate(with_file);
    const phantom::Simulated filled = phantom::simulate(with_fill);

    // The scale from the file is the pixel over the magnification, which it takes out.
    Case opened = case_of(working);
    const ScaleResult scale = find_scale(opened).scale;
    CHECK(std::fabs(with_file.detector.pixel_mm / scale.mm_per_pixel - set.magnification) < 0.001);

    // Carried over by the tooth's cusp and apex, it measures the fill.
    Case after = case_of(filled);
    after.reading.scale = {CarriedLength{
        {filled.truth.cusp, filled.truth.apex}, "working", {working.truth.cusp, working.truth.apex}}};
    CarriedFrom from;
    from.reading = working.reading;
    after.carried = {from};
    const Result result = measure(after);
    CHECK(result.scale.source == "carried-length");
    const CanalResult& canal = result.canals.front();
    REQUIRE(canal.terminus.has_value());
    CHECK(std::fabs(canal.terminus->to_apex_mm - 1.0) < length_tolerance_mm);
    REQUIRE(canal.filled_length_mm.has_value());
    CHECK_MESSAGE(
        std::fabs(canal.filled_length_mm->value - 11.0) < 2.0 * canal.filled_length_mm->standard_uncertainty,
        "filled length " << canal.filled_length_mm->value << " mm, stated "
                         << canal.filled_length_mm->standard_uncertainty);
    const double relative = result.scale.standard_uncertainty / result.scale.mm_per_pixel;
    for (const WidthAt& one : canal.width)
      if (one.at_mm >= 2.0 && one.at_mm <= 10.0) {
        const double truth = 0.4 + 0.04 * (one.at_mm - 1.0);
        CHECK(std::fabs(one.width_mm - truth) < 2.0 * relative * truth + length_tolerance_mm);
      }
  }
}

TEST_CASE(
    "a file in another canal, 5 mm deeper: its scale is off by dM / M = delta / (SID - d), which is allowed "
    "for") {
  phantom::Description d = plain_film();
  d.beam.source_to_detector_mm = 300.0;
  d.canals.push_back(d.canals.front());
  phantom::Canal& filed = d.canals[1];
  filed.name = "2";
  filed.fill.reset();
  filed.file = phantom::File{};
  filed.curve = phantom::Curve{};
  filed.curve->across_mm = 3.0;
  filed.curve->depth_mm = 5.0;
  d.hand.scale = phantom::ScaleMarking::file;
  const phantom::Simulated film = phantom::simulate(d);
  const Result result = measure(case_of(film));
  const double off = film.truth.mm_per_pixel / result.scale.mm_per_pixel - 1.0;
  CHECK(off == doctest::Approx(5.0 / (300.0 - d.beam.object_to_detector_mm)).epsilon(0.15));
  const CanalResult& canal = result.canals.front();
  REQUIRE(canal.terminus.has_value());
  REQUIRE(canal.terminus->parts.size() == 5);
  CHECK(canal.terminus->parts.back().source == "view");
  const double allowed = canal.terminus->parts.back().standard_uncertainty_mm / canal.terminus->to_apex_mm;
  CHECK(2.0 * allowed > off);
  CHECK(allowed < off);
  // The file's own canal needs no allowance.
  REQUIRE(result.canals[1].terminus.has_value());
  CHECK(result.canals[1].terminus->parts.size() == 4);
}

TEST_CASE("the film's own spacing does not: lengths come out too long by the magnification") {
  phantom::Description d = plain_film();
  d.beam.source_to_detector_mm = 300.0;
  d.beam.object_to_detector_mm = 30.0;
  Case opened = case_of(phantom::simulate(d));
  opened.reading.scale.clear();
  opened.film.spacing =
      Spacing{d.detector.pixel_mm, d.detector.pixel_mm, SpacingKind::imager, "", "", std::nullopt};
  const Result result = measure(opened);
  REQUIRE(result.canals.front().terminus.has_value());
  CHECK(std::fabs(result.canals.front().terminus->to_apex_mm - 1.1111) < length_tolerance_mm);
  // What is stated covers it at twice the standard uncertainty over 11 mm.
  CHECK(2.0 * result.scale.standard_uncertainty / result.scale.mm_per_pixel >= 0.09);
}

TEST_CASE(
    "a tilted tooth or detector: a known length along takes it out, a known width across keeps the widths") {
  struct Set {
    double tooth_deg, detector_deg, share;
  };
  for (const Set& set : {Set{10, 0, 0.9848}, Set{20, 0, 0.9397}, Set{20, 10, 0.9542}, Set{15, 15, 1.0}}) {
    CAPTURE(set.tooth_deg);
    CAPTURE(set.detector_deg);
    CHECK(std::fabs(projected_share(set.tooth_deg, set.detector_deg) - set.share) < 0.00005);
    phantom::Description d = plain_film();
    d.beam.source_to_detector_mm = 20000.0;  // nearly parallel
    d.beam.detector_tilt_deg = set.detector_deg;
    d.tooth.tilt_deg = set.tooth_deg;
    const phantom::Simulated film = phantom::simulate(d);
    Case opened = case_of(film);
    // A pixel along shows more of the tooth than one across, by what it is foreshortened.
    const double across = film.truth.mm_per_pixel_across;
    CHECK(std::fabs(across / find_scale(opened).scale.mm_per_pixel - set.share) < 0.002);
    opened.reading.scale.push_back(KnownWidth{{{300.0, 500.0}, {360.0, 500.0}}, 60.0 * across, 0.0005});
    const Result result = measure(opened);
    const CanalResult& canal = result.canals.front();
    REQUIRE(canal.terminus.has_value());
    CHECK(std::fabs(canal.terminus->to_apex_mm - film.truth.canals.front().terminus_to_apex_mm) <
          length_tolerance_mm);
    for (const WidthAt& one : canal.width)
      if (one.at_mm >= 2.0 && one.at_mm <= 10.0)
        CHECK(std::fabs(one.width_mm - true_width(film.truth.canals.front(), one.at_mm)) < 0.02);
    REQUIRE(canal.taper.overall.has_value());
    CHECK(std::fabs(canal.taper.overall->value - 0.04) < 0.002);
  }
}
