#include <cairo.h>
#include <doctest/doctest.h>

#include <algorithm>
#include <canalrule/report/report.hpp>
#include <canalrule/report/scene.hpp>
#include <cstring>
#include <memory>
#include <pugixml.hpp>
#include <set>
#include <string>

#include "../../../src/report/draw_png.hpp"
#include "../../../src/report/film_image.hpp"
#include "../../../src/report/look.hpp"
#include "../../../src/report/plain_text.hpp"
#include "sample_result.hpp"

using namespace canalrule;

namespace {

Result three_canals() {
  Result result = sample::result_of(
      {sample::troubled_canal("ML", 240), sample::plain_canal("D", 430), sample::empty_canal("P", 620)});
  sample::judge_by_hand(result);
  return result;
}

pugi::xml_document parsed(const std::string& svg) {
  pugi::xml_document document;
  const pugi::xml_parse_result read = document.load_buffer(svg.data(), svg.size(), pugi::parse_full);
  REQUIRE_MESSAGE(read, read.description());
  return document;
}

/// All words of the picture, a space between one text and the next.
std::string words_of(const pugi::xml_document& document) {
  std::string words;
  for (const pugi::xpath_node& each :
       document.select_nodes("//*[local-name()='text' and not(@aria-hidden)]")) {
    words += std::string(each.node().text().get()) + " ";
  }
  return words;
}

std::uint32_t big_endian(const std::vector<std::uint8_t>& bytes, std::size_t at) {
  return std::uint32_t{bytes[at]} << 24U | std::uint32_t{bytes[at + 1]} << 16U |
         std::uint32_t{bytes[at + 2]} << 8U | bytes[at + 3];
}

struct Reader {
  const std::vector<std::uint8_t>& bytes;
  std::size_t at = 0;
};

cairo_status_t read_some(void* closure, unsigned char* data, unsigned int length) {
  auto& reader = *static_cast<Reader*>(closure);
  if (reader.at + length > reader.bytes.size()) return CAIRO_STATUS_READ_ERROR;
  std::memcpy(data, reader.bytes.data() + reader.at, length);
  reader.at += length;
  return CAIRO_STATUS_SUCCESS;
}

using Surface = std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>;
Surface decoded(const std::vector<std::uint8_t>& png) {
  Reader reader{png};
  return {cairo_image_surface_create_from_png_stream(read_some, &reader), &cairo_surface_destroy};
}

std::vector<report::Text> texts_of(const report::Scene& scene) {
  std::vector<report::Text> texts;
  for (const report::Layer& layer : scene.layers) {
    for (const report::Item& item : layer.items) {
      if (const auto* text = std::get_if<report::Text>(&item)) texts.push_back(*text);
    }
  }
  return texts;
}

}  // namespace

TEST_CASE("the SVG is well formed, says what it is and holds its film") {
  const Result result = three_canals();
  const pugi::xml_document document = parsed(svg_picture(sample::film_of(result, 900, 800), result));
  const pugi::xml_node svg = document.child("svg");
  CHECK(std::string(svg.attribute("width").value()) == "297mm");
  CHECK(std::string(svg.attribute("height").value()) == "210mm");
  CHECK(std::string(svg.child("title").text().get()) == "Root canal filling, tooth 36, film lower-left.png");
  CHECK(std::string(svg.child("desc").text().get()).find("beyond the apex") != std::string::npos);
  CHECK(document.select_nodes("//*[local-name()='image']").size() >= 1);
}

TEST_CASE("the SVG refers to nothing outside itself") {
  const Result result = three_canals();
  const pugi::xml_document document = parsed(svg_picture(sample::film_of(result, 900, 800), result));
  std::set<std::string> ids;
  for (const pugi::xpath_node& each : document.select_nodes("//@id")) {
    CHECK(ids.insert(each.attribute().value()).second);
  }
  std::size_t references = 0;
  for (const pugi::xpath_node& each : document.select_nodes("//@*[contains(name(), 'href')]")) {
    CHECK(std::string(each.attribute().value()).starts_with("data:image/png;base64,iVBORw0KGgo"));
    ++references;
  }
  CHECK(references >= 1);
  for (const pugi::xpath_node& each : document.select_nodes("//@*[contains(., 'url(')]")) {
    const std::string value = each.attribute().value();
    REQUIRE(value.starts_with("url(#"));
    CHECK(ids.contains(value.substr(5, value.size() - 6)));
  }
  for (const char* name : {"script", "style", "foreignObject", "use", "link"}) {
    CHECK(document.select_nodes(("//*[local-name()='" + std::string(name) + "']").c_str()).empty());
  }
}

TEST_CASE("the picture says the figures, verdicts, cautions and what judged") {
  const Result result = three_canals();
  const std::string words = words_of(parsed(svg_picture(sample::film_of(result, 900, 800), result)));
  for (const std::string expected : {"Root canal filling, tooth 36",
                                     "film lower-left.png · read by A1",
                                     "0.03000 ± 0.00017 mm per pixel",
                                     "Canal ML",
                                     "Canal D",
                                     "Canal P",
                                     "0.42 ± 0.13 mm beyond",
                                     "1.23 ± 0.12 mm short",
                                     "11.62 ± 0.24 mm",
                                     "3, the longest 1.11 ± 0.14 mm",
                                     "0.061 ± 0.003 mm per mm",
                                     "12.83 mm",
                                     "1.11 mm",
                                     "0.51 mm",
                                     "0.56 mm",
                                     "kink +0.031",
                                     "step −0.08 mm",
                                     "overlap",
                                     "apical",
                                     "middle",
                                     "coronal",
                                     "outside",
                                     "within",
                                     "too close to call",
                                     "not assessable",
                                     "The radiographic apex is not the foramen.",
                                     "canalrule 0.1.0",
                                     "invented for tests, version 3 (no published source)",
                                     "k = 2 (about 95 %)",
                                     "path as drawn",
                                     "void along a wall",
                                     "planned cone",
                                     "mm from apex"}) {
    CAPTURE(expected);
    CHECK(words.find(expected) != std::string::npos);
  }
}

TEST_CASE("a canal without a fill shows no figure") {
  const Result result = sample::result_of({sample::empty_canal("P", 300)});
  const report::Scene scene = report::page_scene(sample::film_of(result, 900, 800), result);
  const auto summary = std::find_if(scene.layers.begin(), scene.layers.end(),
                                    [](const report::Layer& layer) { return layer.name == "summary-1"; });
  REQUIRE(summary != scene.layers.end());
  std::string words;
  for (const report::Item& item : summary->items) words += std::get<report::Text>(item).text + " ";
  CHECK(words.find_first_of("0123456789") == std::string::npos);
  CHECK(words.find("No fill was found along the path.") != std::string::npos);
}

TEST_CASE("names with markup and control characters are safe") {
  Result result = sample::result_of({sample::plain_canal("<M&\"'>\x01\x1b", 300)});
  result.provenance.image_file = "]]><script>&amp;\u202E\xFF.png";
  result.provenance.reader = "<b>";
  const pugi::xml_document document = parsed(svg_picture(sample::film_of(result, 900, 800), result));
  CHECK(document.select_nodes("//*[local-name()='script' or local-name()='b']").empty());
  const std::string words = words_of(document);
  CHECK(words.find("<M&\"'>\uFFFD\uFFFD") != std::string::npos);
  CHECK(words.find("]]><script>&amp;\uFFFD\uFFFD.png") != std::string::npos);
}

TEST_CASE("the PNG has its signature and the size of the page, and the same result gives the same bytes") {
  const Result result = three_canals();
  const Film film = sample::film_of(result, 900, 800);
  const std::vector<std::uint8_t> png = png_picture(film, result);
  REQUIRE(png.size() > 24);
  const std::vector<std::uint8_t> signature{0x89, 'P', 'N', 'G', '\r', '\n', 0x1A, '\n'};
  CHECK(std::equal(signature.begin(), signature.end(), png.begin()));
  CHECK(big_endian(png, 16) == 2339);  // A4 at 200 dots per inch
  CHECK(big_endian(png, 20) == 1654);
  CHECK(png == png_picture(film, result));
  CHECK(svg_picture(film, result) == svg_picture(film, result));
}

TEST_CASE("both back ends draw the same scene") {
  const Result result = three_canals();
  const Film film = sample::film_of(result, 900, 800);
  const report::Scene scene = report::page_scene(film, result);
  const pugi::xml_document document = parsed(svg_picture(film, result));
  std::string expected;
  for (const report::Text& text : texts_of(scene)) expected += report::clean(text.text) + " ";
  CHECK(report::clean(words_of(document)) == report::clean(expected));
  CHECK(draw_png(scene) == png_picture(film, result));
}

TEST_CASE("the PNG shows ink on white where the page has it") {
  const Result result = sample::result_of({sample::plain_canal("D", 300)});
  const std::vector<std::uint8_t> png = png_picture(sample::film_of(result, 900, 800), result);
  const Surface surface = decoded(png);
  REQUIRE(cairo_surface_status(surface.get()) == CAIRO_STATUS_SUCCESS);
  const unsigned char* data = cairo_image_surface_get_data(surface.get());
  const int stride = cairo_image_surface_get_stride(surface.get());
  const auto darkest = [&](int left, int top, int right, int bottom) {
    int dark = 255;
    for (int y = top; y < bottom; ++y) {
      for (int x = left; x < right; ++x)
        dark = std::min<int>(dark, data[std::ptrdiff_t{y} * stride + std::ptrdiff_t{x} * 4]);
    }
    return dark;
  };
  CHECK(darkest(0, 0, 2339, 70) == 255);   // margin
  CHECK(darkest(78, 78, 600, 120) < 80);   // title
  CHECK(darkest(80, 200, 600, 800) < 60);  // film
}

TEST_CASE("no text of the page runs over its edge") {
  for (const std::size_t canals : {1U, 2U, 3U, 4U, 6U}) {
    std::vector<CanalResult> all;
    for (std::size_t i = 0; i < canals; ++i) {
      all.push_back(sample::troubled_canal("canal with quite a long name " + std::to_string(i),
                                           120.0 + 110.0 * static_cast<double>(i)));
    }
    Result result = sample::result_of(all);
    sample::judge_by_hand(result);
    result.provenance.image_file = std::string(200, 'W') + ".png";
    const report::Scene scene = report::page_scene(sample::film_of(result, 900, 800), result);
    for (const report::Text& text : texts_of(scene)) {
      CAPTURE(text.text);
      const double wide = report::text_width(text.text, text.size, text.weight);
      const double left = text.at.x - (text.anchor == report::Anchor::start    ? 0.0
                                       : text.anchor == report::Anchor::middle ? wide / 2
                                                                               : wide);
      if (text.turned_deg == 0.0) {
        CHECK(left >= 20.0);
        CHECK(left + wide <= scene.width - 20.0);
      }
      CHECK(text.at.y <= scene.height - 20.0);
    }
  }
}

TEST_CASE("films of any size, and results with nothing in them, are drawn") {
  for (const auto& [columns, rows] : {std::pair{1, 1}, {3, 700}, {2400, 90}, {2400, 12}}) {
    const Result nothing = sample::result_of({});
    CHECK(png_picture(sample::film_of(nothing, columns, rows), nothing).size() > 1000);
    CanalResult bare;
    bare.name = "Q";
    const Result one = sample::result_of({bare, sample::plain_canal("D", 300)});
    parsed(svg_picture(sample::film_of(nothing, columns, rows), one));
  }
}

TEST_CASE("radiopaque is bright whatever the film stores, and the film is left as it is") {
  Film film;
  film.grey = (cv::Mat_<float>(1, 4) << 0.0F, 100.0F, 200.0F, 400.0F);
  const cv::Mat before = film.grey.clone();
  Result result;
  result.film.radiopaque = "bright";
  const report::Crop all = report::whole_film(film);
  const report::GreyImage bright = report::look_at(film, result, all, 100, 100);
  result.film.radiopaque = "dark";
  const report::GreyImage dark = report::look_at(film, result, all, 100, 100);
  REQUIRE(bright.grey.size() == 4);
  CHECK(bright.grey.front() == 0);
  CHECK(bright.grey.back() == 255);
  CHECK(dark.grey.front() == 255);
  CHECK(dark.grey.back() == 0);
  CHECK(cv::countNonZero(film.grey != before) == 0);
}

TEST_CASE("a large film is shrunk for the picture") {
  const Result result = sample::result_of({});
  const Film film = sample::film_of(result, 500, 1000);
  const report::GreyImage image = report::look_at(film, result, report::whole_film(film), 100, 100);
  CHECK(image.columns == 50);
  CHECK(image.rows == 100);
}

TEST_CASE("the crop holds every mark and widens to its frame") {
  const Result result = sample::result_of({sample::plain_canal("D", 1350)});
  const Film film = sample::film_of(result, 4000, 5000);
  const report::Crop crop = report::crop_to_canals(film, result, {0, 0, 300, 400});
  CHECK(crop.columns < 1500);
  CHECK(crop.columns == doctest::Approx(0.75 * crop.rows).epsilon(0.01));
  for (const CentreAt& each : result.canals[0].centre_line) {
    CHECK(each.position.x > crop.left);
    CHECK(each.position.x < crop.left + crop.columns);
    CHECK(each.position.y > crop.top);
    CHECK(each.position.y < crop.top + crop.rows);
  }
}
