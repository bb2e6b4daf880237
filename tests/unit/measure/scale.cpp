// Every kind of scale, alone and together.
#include <canalrule/measure/scale.hpp>

#include <doctest/doctest.h>

#include <algorithm>
#include <canalrule/base/refusal.hpp>
#include <cmath>
#include <numbers>
#include <string>
#include <temporary_folder.hpp>
#include <utility>

using namespace canalrule;

namespace {

Case without_scale() {
  Case opened;
  opened.film.grey = cv::Mat(900, 1200, CV_32FC1, cv::Scalar(0));
  opened.reading_file = "some.reading.json";
  opened.image_file = "some.png";
  return opened;
}

KnownLength upright_length(double mm, double pixels, double u_mm) {
  return {{{100.0, 50.0}, {100.0, 50.0 + pixels}}, mm, u_mm};
}

/// A scale by two landmarks, 500 px apart here and where `there` says on the other film.
Case carrying(const Polyline& there) {
  Case opened = without_scale();
  opened.reading.scale = {CarriedLength{{{200.0, 100.0}, {200.0, 600.0}}, "other.reading.json", there}};
  return opened;
}

bool warned(const ScaleFound& found, const std::string& code) {
  return std::any_of(found.warnings.begin(), found.warnings.end(),
                     [&](const Note& note) { return note.code == code; });
}

Case with_spacing(SpacingKind kind, const std::string& calibration = "") {
  Case opened = without_scale();
  Spacing spacing;
  spacing.row_mm = spacing.column_mm = 0.032;
  spacing.kind = kind;
  spacing.calibration_type = calibration;
  opened.film.spacing = spacing;
  return opened;
}

}  // namespace

TEST_CASE("a known length: millimetres over pixels, both uncertainties combined") {
  Case opened = without_scale();
  opened.reading.scale = {upright_length(21.0, 700.0, 0.07)};
  const ScaleFound found = find_scale(opened);
  CHECK(found.scale.mm_per_pixel == doctest::Approx(0.03));
  CHECK(found.scale.source == "known-length");
  // Marks: half a pixel each, so 0.707 px over 700.
  CHECK(found.scale.standard_uncertainty ==
        doctest::Approx(0.03 * std::hypot(0.07 / 21.0, std::sqrt(0.5) / 700.0)));
  CHECK(found.scale.contributions.size() == 1);
  CHECK_FALSE(found.scale.disagreement.has_value());
  CHECK(found.warnings.empty());
}

TEST_CASE("a curved file is measured along its curve") {
  Case opened = without_scale();
  KnownLength file;
  const double radius = 500.0;
  for (int k = 0; k <= 8; ++k) {
    const double a = std::numbers::pi / 3.0 * k / 8.0;
    file.points.push_back({600.0 - radius * std::cos(a), 100.0 + radius * std::sin(a)});
  }
  file.length_mm = 15.0;
  file.length_uncertainty_mm = 0.01;
  opened.reading.scale = {file};
  CHECK(find_scale(opened).scale.mm_per_pixel ==
        doctest::Approx(15.0 / (radius * std::numbers::pi / 3.0)).epsilon(1e-4));
}

TEST_CASE(
    "a length without its uncertainty gets an instrument's tolerance and its stop's seating, rectangular") {
  Case opened = without_scale();
  KnownLength file = upright_length(21.0, 700.0, 0.0);
  file.length_uncertainty_mm.reset();
  opened.reading.scale = {file};
  CHECK(find_scale(opened).scale.standard_uncertainty / 0.03 ==
        doctest::Approx(std::sqrt((0.25 + 0.0625) / 3.0 / (21.0 * 21.0) + 0.5 / (700.0 * 700.0))));
}

TEST_CASE("several lengths are pooled by their uncertainty") {
  Case opened = without_scale();
  opened.reading.scale = {upright_length(21.0, 700.0, 0.05), upright_length(18.1, 600.0, 0.10)};
  const ScaleFound found = find_scale(opened);
  const double a = 21.0 / 700.0, ua = a * std::hypot(0.05 / 21.0, std::sqrt(0.5) / 700.0);
  const double b = 18.1 / 600.0, ub = b * std::hypot(0.10 / 18.1, std::sqrt(0.5) / 600.0);
  const double wa = 1.0 / (ua * ua), wb = 1.0 / (ub * ub);
  const double mean = (wa * a + wb * b) / (wa + wb);
  CHECK(found.scale.mm_per_pixel == doctest::Approx(mean).epsilon(1e-12));
  // They agree within their uncertainties: nothing is widened, nothing narrowed.
  const double birge = std::sqrt(wa * (a - mean) * (a - mean) + wb * (b - mean) * (b - mean));
  REQUIRE(found.scale.disagreement.has_value());
  CHECK(*found.scale.disagreement == doctest::Approx(birge).epsilon(1e-9));
  CHECK(birge < 1.0);
  CHECK(found.scale.standard_uncertainty == doctest::Approx(1.0 / std::sqrt(wa + wb)).epsilon(1e-12));
  CHECK(found.warnings.empty());
}

TEST_CASE("lengths that disagree are told, and widen the uncertainty") {
  Case opened = without_scale();
  opened.reading.scale = {upright_length(21.0, 700.0, 0.02), upright_length(22.0, 700.0, 0.02)};
  const ScaleFound found = find_scale(opened);
  REQUIRE(found.scale.disagreement.has_value());
  CHECK(*found.scale.disagreement > 10.0);
  REQUIRE(found.warnings.size() == 1);
  CHECK(found.warnings.front().code == "scales-disagree");
  // 1 mm over 700 px apart, u 4.165e-5 and 4.271e-5 mm per px by hand: 23.9.
  CHECK(found.warnings.front().text ==
        "The marks of known length disagree by 23.9 times what their uncertainties allow; the scale's uncertainty is "
        "widened by as much.");
  // Two equal weights: the Birge ratio turns the pooled uncertainty into half of the difference.
  CHECK(found.scale.standard_uncertainty == doctest::Approx(0.5 / 700.0).epsilon(0.02));
}

TEST_CASE("a known width beside a known length is the scale across") {
  Case opened = without_scale();
  opened.reading.scale = {upright_length(21.0, 700.0, 0.05),
                          KnownWidth{{{300.0, 200.0}, {340.0, 200.0}}, 1.16, 0.005}};
  const ScaleFound found = find_scale(opened);
  CHECK(found.scale.mm_per_pixel == doctest::Approx(0.03));
  REQUIRE(found.scale.mm_per_pixel_across.has_value());
  CHECK(found.scale.mm_per_pixel_across->value == doctest::Approx(0.029));
  CHECK(found.scale.mm_per_pixel_across->standard_uncertainty ==
        doctest::Approx(0.029 * std::hypot(0.005 / 1.16, std::sqrt(0.5) / 40.0)));
  CHECK(found.scale.contributions.size() == 2);
  CHECK(found.warnings.empty());
}

TEST_CASE("a film shortened along the tooth is told, with by how much") {
  Case opened = without_scale();
  opened.reading.scale = {upright_length(21.0, 700.0, 0.05),
                          KnownWidth{{{300.0, 200.0}, {700.0, 200.0}}, 11.28, 0.01}};
  const ScaleFound found = find_scale(opened);  // 0.0282 across, 0.03 along: cos 20 degrees
  REQUIRE(found.scale.foreshortening.has_value());
  CHECK(found.scale.foreshortening->value == doctest::Approx(0.94));
  const double u = std::sqrt(std::pow(0.05 / 21.0, 2) + std::pow(0.01 / 11.28, 2) + 0.5 / (700.0 * 700.0) +
                             0.5 / (400.0 * 400.0));
  CHECK(found.scale.foreshortening->standard_uncertainty == doctest::Approx(0.94 * u));
  CHECK(warned(found, "foreshortened"));
}

TEST_CASE("what a tooth hardly leans is laid to the known length first, and what it never does is no scale") {
  struct Told {
    double width_mm;
    bool asks, implausible;
  };
  for (const Told& told : {Told{11.28, false, false}, {10.2, true, false}, {8.5, true, true}, {16.0, true, true}}) {
    CAPTURE(told.width_mm);
    Case opened = without_scale();
    opened.reading.scale = {upright_length(21.0, 700.0, 0.05),
                            KnownWidth{{{300.0, 200.0}, {700.0, 200.0}}, told.width_mm, 0.01}};
    const ScaleFound found = find_scale(opened);
    REQUIRE(warned(found, "foreshortened"));
    CHECK((found.warnings.front().text.find("whether the known length") != std::string::npos) == told.asks);
    CHECK(warned(found, "scale-implausible") == told.implausible);
  }
}

TEST_CASE("a spacing that the film's other one contradicts is as uncertain as their difference") {
  Case opened = with_spacing(SpacingKind::calibrated, "FIDUCIAL");
  opened.film.spacing->contradicted_by_mm = 0.004;
  const ScaleFound found = find_scale(opened);
  CHECK(found.scale.mm_per_pixel == doctest::Approx(0.032));
  CHECK(found.scale.standard_uncertainty == doctest::Approx(std::hypot(0.00032, 0.004 / std::sqrt(3.0))));
}

TEST_CASE("a calibrated spacing beside a known length is weighed in across, one at the detector isn't") {
  Case opened = with_spacing(SpacingKind::calibrated, "FIDUCIAL");
  opened.reading.scale = {upright_length(21.0, 700.0, 0.05)};
  const ScaleFound found = find_scale(opened);
  CHECK(found.scale.source == "known-length");
  CHECK(found.scale.mm_per_pixel == doctest::Approx(0.03));
  REQUIRE(found.scale.mm_per_pixel_across.has_value());
  CHECK(found.scale.mm_per_pixel_across->value > 0.03);
  CHECK(found.scale.mm_per_pixel_across->value < 0.032);
  CHECK(found.scale.foreshortening->value == doctest::Approx(0.032 / 0.03));
  CHECK(found.scale.contributions.size() == 2);
  opened.film.spacing->kind = SpacingKind::imager;
  CHECK_FALSE(find_scale(opened).scale.mm_per_pixel_across.has_value());
  CHECK_FALSE(find_scale(opened).scale.foreshortening.has_value());
}

TEST_CASE("a known width alone serves both ways, and that is told") {
  Case opened = without_scale();
  opened.reading.scale = {KnownWidth{{{300.0, 200.0}, {340.0, 200.0}}, 1.2, 0.005}};
  const ScaleFound found = find_scale(opened);
  CHECK(found.scale.mm_per_pixel == doctest::Approx(0.03));
  CHECK(warned(found, "scale-from-width-alone"));
}

TEST_CASE("a scale is carried over by two landmarks of the tooth") {
  // There 21 mm over 700 px and the landmarks 600 px apart: 18 mm. Here they are 500 px apart.
  Case opened = carrying({{50.0, 20.0}, {50.0, 620.0}});
  CarriedFrom other;
  other.scale_index = 0;
  other.reading.scale = {upright_length(21.0, 700.0, 0.05)};
  opened.carried = {other};
  const ScaleFound found = find_scale(opened);
  CHECK(found.scale.mm_per_pixel == doctest::Approx(18.0 / 500.0));
  CHECK(found.scale.source == "carried-length");
  const double mark = std::sqrt(0.5);
  CHECK(found.scale.standard_uncertainty / found.scale.mm_per_pixel ==
        doctest::Approx(std::sqrt(std::pow(0.05 / 21.0, 2) + std::pow(mark / 700.0, 2) +
                                  std::pow(mark / 600.0, 2) + std::pow(mark / 500.0, 2))));
  CHECK(found.warnings.empty());
}

TEST_CASE("a scale is carried over from a film with nothing but its own spacing") {
  Case opened = carrying({{50.0, 20.0}, {50.0, 620.0}});
  CarriedFrom other;
  other.film.emplace().spacing = Spacing{0.03, 0.03, SpacingKind::calibrated, "FIDUCIAL", "", std::nullopt};
  opened.carried = {other};
  CHECK(find_scale(opened).scale.mm_per_pixel == doctest::Approx(18.0 / 500.0));
}

TEST_CASE("a scale is carried over in the other film's own pixels, which needn't be square") {
  Case opened = carrying({{50.0, 20.0}, {450.0, 20.0}});
  CarriedFrom other;
  other.scale_index = 0;
  // There 21 mm over 700 rows half as tall again as its columns are wide, and the landmarks 400 columns apart.
  other.reading.scale = {upright_length(21.0, 700.0, 0.05)};
  other.film.emplace().grey = cv::Mat(900, 600, CV_32FC1, cv::Scalar(100.0F));
  other.film->row_to_column_aspect = 1.5;
  opened.carried = {other};
  CHECK(find_scale(opened).scale.mm_per_pixel == doctest::Approx(400.0 * 21.0 / (700.0 * 1.5) / 500.0));
}

TEST_CASE("a scale by which no film is measured is refused") {
  for (const auto& [length_mm, pixels] : {std::pair{1e-9, 700.0}, {1e-4, 700.0}, {60.0, 2.0}}) {
    Case opened = without_scale();
    opened.reading.scale = {upright_length(length_mm, pixels, 1e-3 * length_mm)};
    const Refusal refused = canalrule_test::refusal_of([&] { (void)find_scale(opened); });
    CHECK(refused.field() == "/scale");
    CHECK(refused.kind() == RefusalKind::unusable_input);
  }
}

TEST_CASE("without marks, a spacing of the film that can't be meant is the reason that there is no scale") {
  Case opened = without_scale();
  opened.film.notes = {{"ignored-spacing", "Pixel Spacing 30 mm can't be meant."}};
  CHECK(canalrule_test::refusal_of([&] { (void)find_scale(opened); }).problem().find("30 mm can't be meant") !=
        std::string::npos);
}

TEST_CASE("carried and known lengths are pooled and called so") {
  Case opened = without_scale();
  opened.reading.scale = {
      upright_length(21.0, 700.0, 0.05),
      CarriedLength{{{200.0, 100.0}, {200.0, 700.0}}, "other.reading.json", {{50.0, 20.0}, {50.0, 620.0}}}};
  CarriedFrom other;
  other.scale_index = 1;
  other.reading.scale = {upright_length(21.0, 700.0, 0.05)};
  opened.carried = {other};
  const ScaleFound found = find_scale(opened);
  CHECK(found.scale.source == "pooled");
  CHECK(found.scale.contributions.size() == 2);
  CHECK(found.scale.mm_per_pixel == doctest::Approx(0.03));
}

TEST_CASE("the film's own spacing serves by its kind, the surer the smaller its uncertainty") {
  const auto relative = [](const Case& opened) {
    const ScaleFound found = find_scale(opened);
    CHECK(found.scale.source == "dicom");
    CHECK(found.scale.mm_per_pixel == doctest::Approx(0.032));
    return found.scale.standard_uncertainty / found.scale.mm_per_pixel;
  };
  const double fiducial = relative(with_spacing(SpacingKind::calibrated, "FIDUCIAL"));
  const double geometry = relative(with_spacing(SpacingKind::calibrated, "GEOMETRY"));
  const double imager = relative(with_spacing(SpacingKind::imager));
  CHECK(fiducial < geometry);
  CHECK(geometry < imager);
  CHECK(relative(with_spacing(SpacingKind::patient)) == doctest::Approx(imager));
  CHECK(relative(with_spacing(SpacingKind::nominal_scanned)) == doctest::Approx(imager));
}

TEST_CASE("a spacing of unknown magnification is told, a calibrated one not") {
  CHECK(find_scale(with_spacing(SpacingKind::calibrated, "FIDUCIAL")).warnings.empty());
  for (const SpacingKind kind : {SpacingKind::patient, SpacingKind::imager, SpacingKind::nominal_scanned})
    CHECK(warned(find_scale(with_spacing(kind)), "scale-from-film-alone"));
}

TEST_CASE("the scale's words name the spacing that a magnification divided") {
  Case opened = with_spacing(SpacingKind::nominal_scanned);
  opened.film.spacing->magnification = 1.25;
  const std::string words = find_scale(opened).scale.contributions.front().text;
  CHECK(words == "DICOM Nominal Scanned Pixel Spacing over the estimated radiographic magnification");
}

TEST_CASE("an estimated magnification divides the detector's spacing") {
  Case opened = with_spacing(SpacingKind::imager);
  opened.film.spacing->magnification = 1.25;
  CHECK(find_scale(opened).scale.mm_per_pixel == doctest::Approx(0.032 / 1.25));
}

TEST_CASE("marks go before the film's own spacing") {
  Case opened = with_spacing(SpacingKind::calibrated, "FIDUCIAL");
  opened.reading.scale = {upright_length(21.0, 700.0, 0.05)};
  const ScaleFound found = find_scale(opened);
  CHECK(found.scale.mm_per_pixel == doctest::Approx(0.03));
  CHECK(found.scale.source == "known-length");
}

TEST_CASE("unequal pixels: the scale is a column's, a length counts its rows by their height") {
  Case opened = without_scale();
  opened.film.row_to_column_aspect = 1.5;
  opened.reading.scale = {upright_length(21.0, 700.0, 0.05)};  // 700 rows are 1050 columns high
  const ScaleFound found = find_scale(opened);
  CHECK(found.scale.row_to_column_aspect == doctest::Approx(1.5));
  CHECK(found.scale.mm_per_pixel == doctest::Approx(0.02));

  Case spaced = with_spacing(SpacingKind::calibrated);
  spaced.film.spacing->row_mm = 0.048;
  CHECK(find_scale(spaced).scale.row_to_column_aspect == doctest::Approx(1.5));
  CHECK(find_scale(spaced).scale.mm_per_pixel == doctest::Approx(0.032));
}

TEST_CASE("without any scale the case is refused, naming the reading and the field") {
  const Refusal refusal = canalrule_test::refusal_of([] { find_scale(without_scale()); });
  CHECK(refusal.kind() == RefusalKind::unusable_input);
  CHECK(refusal.where() == "some.reading.json");
  CHECK(refusal.field() == "/scale");
  CHECK(refusal.problem().find("some.png") != std::string::npos);
  CHECK_FALSE(refusal.remedy().empty());
}
