// Where the film ends, or carries no grey, nothing is told of what would lie there; simulated films, cut or padded.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <string>

#include <opencv2/core.hpp>

#include <film_families.hpp>
#include <measured.hpp>

using namespace canalrule;
using namespace canalrule_test;

namespace {

enum class Lost { crown, apex };

/// Where the canal's path crosses the row half way along it, and which rows are lost from there.
struct Cut {
  double row = 0.0;
  bool loses_below = false;
};

Cut cut_at(const Polyline& path, double share, Lost lost) {
  const Point crown = path.front(), apex = path.back();
  const bool apex_below = apex.y > crown.y;
  return {std::floor(crown.y + share * (apex.y - crown.y)), apex_below == (lost == Lost::apex)};
}

/// The path as far as it lies `margin_px` within what is left; its points in order.
Polyline kept(const Polyline& path, const Cut& cut, double margin_px) {
  const double edge = cut.loses_below ? cut.row - margin_px : cut.row + margin_px;
  const auto inside = [&](const Point& p) { return cut.loses_below ? p.y < edge : p.y > edge; };
  Polyline points;
  for (std::size_t i = 0; i < path.size(); ++i) {
    if (i > 0 && inside(path[i]) != inside(path[i - 1])) {
      const double share = (edge - path[i - 1].y) / (path[i].y - path[i - 1].y);
      points.push_back({path[i - 1].x + share * (path[i].x - path[i - 1].x), edge});
    }
    if (inside(path[i])) points.push_back(path[i]);
  }
  return points;
}

/// The rows taken away, and all marks moved with the film.
void crop(Case& opened, const Cut& cut) {
  const int row = static_cast<int>(cut.row);
  Film& film = opened.film;
  film.grey = (cut.loses_below ? film.grey.rowRange(0, row) : film.grey.rowRange(row, film.grey.rows)).clone();
  if (cut.loses_below) return;
  for (CanalMarks& canal : opened.reading.canals) {
    for (Point& p : canal.path) p.y -= row;
    canal.apex.y -= row;
  }
}

/// The rows kept, but as Pixel Padding.
void pad(Case& opened, const Cut& cut) {
  const int row = static_cast<int>(cut.row);
  Film& film = opened.film;
  film.unusable = cv::Mat::zeros(film.grey.size(), CV_8UC1);
  (cut.loses_below ? film.unusable.rowRange(row, film.grey.rows) : film.unusable.rowRange(0, row)) = 255;
}

Case usual(std::uint64_t seed) {
  Case opened = case_of(phantom::simulate(families::usual_film(seed)));
  // A scale that no cut touches.
  opened.reading.scale.clear();
  Spacing& spacing = opened.film.spacing.emplace();
  spacing.row_mm = spacing.column_mm = 0.03;
  return opened;
}

bool told(const CanalResult& canal, const std::string& figure, const std::string& reason) {
  return std::any_of(canal.not_assessable.begin(), canal.not_assessable.end(), [&](const NotAssessable& n) {
    return n.figure == figure && n.reason == reason;
  });
}

}  // namespace

TEST_CASE("a fill that runs off the film at its crown has no coronal level, however near to the edge it is drawn") {
  for (std::uint64_t seed = 4301; seed <= 4304; ++seed)
    for (const double margin_px : {0.5, 5.0, 15.0, 60.0})
      for (const bool padded : {false, true}) {
        CAPTURE(seed);
        CAPTURE(margin_px);
        CAPTURE(padded);
        Case opened = usual(seed);
        Polyline& path = opened.reading.canals.front().path;
        const Cut cut = cut_at(path, 0.4, Lost::crown);
        path = kept(path, cut, margin_px);
        padded ? pad(opened, cut) : crop(opened, cut);
        const Result result = measure(opened);
        const CanalResult& canal = result.canals.front();
        CHECK(canal.terminus.has_value());
        CHECK(!canal.coronal_level_mm);
        CHECK(!canal.filled_length_mm);
        CHECK(told(canal, "coronal_level_mm", "goes-on-coronally"));
      }
}

TEST_CASE("a path drawn on into padding tells nothing of what would lie there") {
  for (std::uint64_t seed = 4301; seed <= 4304; ++seed) {
    CAPTURE(seed);
    Case opened = usual(seed);
    const Cut cut = cut_at(opened.reading.canals.front().path, 0.3, Lost::crown);
    pad(opened, cut);
    const CanalResult canal = measure(opened).canals.front();
    CHECK(!canal.coronal_level_mm);
    CHECK(told(canal, "coronal_level_mm", "goes-on-coronally"));
    const double edge_mm = std::fabs(canal.drawn_path.back().y - cut.row) * 0.03 * 1.1;
    for (const WidthAt& width : canal.width) CHECK(width.at_mm < edge_mm);
  }
}

TEST_CASE("a fill that runs off the film at its apex has no end") {
  for (std::uint64_t seed = 4301; seed <= 4304; ++seed)
    for (const bool padded : {false, true}) {
      CAPTURE(seed);
      CAPTURE(padded);
      Case opened = usual(seed);
      const Cut cut = cut_at(opened.reading.canals.front().path, 0.8, Lost::apex);
      padded ? pad(opened, cut) : crop(opened, cut);
      const CanalResult canal = measure(opened).canals.front();
      CHECK(!canal.terminus);
      CHECK(!canal.taper.apical);
      CHECK(told(canal, "terminus", "off-film"));
    }
}
