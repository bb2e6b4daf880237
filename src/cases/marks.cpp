#include "marks.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <variant>

#include <canalrule/base/plain.hpp>
#include <canalrule/base/refusal.hpp>

namespace canalrule {

namespace {

/// Share of the film's larger side (chosen here; tests/unit/cases holds it).
constexpr double share_outside = 0.05;
/// Lengths of the film's diagonal, more than any canal's path, however the hand trembles. The same.
constexpr double most_diagonals = 5.0;

std::string coordinate(double value) {
  std::array<char, 32> text{};
  const auto written =
      std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::general, 7);
  return std::string(text.data(), written.ptr);
}

void check_point(const Point& point, cv::Size film, const std::string& field,
                 const std::string& reading_file) {
  const double margin = share_outside * std::max(film.width, film.height);
  const bool across = point.x >= -margin && point.x <= film.width + margin;
  const bool down = point.y >= -margin && point.y <= film.height + margin;
  if (across && down) return;
  throw Refusal(RefusalKind::unusable_input, reading_file, field,
                "[" + coordinate(point.x) + ", " + coordinate(point.y) + "] lies outside the film of " +
                    std::to_string(film.width) + " x " + std::to_string(film.height) + " pixels",
                "mark it on the film; the marks may belong to another one");
}

void check_length(const Polyline& path, cv::Size film, const std::string& field, const std::string& reading_file) {
  double length = 0.0;
  for (std::size_t i = 1; i < path.size(); ++i)
    length += std::hypot(path[i].x - path[i - 1].x, path[i].y - path[i - 1].y);
  const double diagonals = length / std::hypot(film.width, film.height);
  if (diagonals <= most_diagonals) return;
  throw Refusal(RefusalKind::unusable_input, reading_file, field,
                "it is " + plain(diagonals, 0) + " times as long as the film's diagonal",
                "draw it once along the canal, from the orifice towards the apex");
}

}  // namespace

void check_points(const Polyline& points, cv::Size film, const std::string& field,
                  const std::string& reading_file) {
  for (std::size_t i = 0; i < points.size(); ++i)
    check_point(points[i], film, field + "/" + std::to_string(i), reading_file);
}

void check_marks(const Reading& reading, cv::Size film, const std::string& reading_file) {
  for (std::size_t i = 0; i < reading.scale.size(); ++i) {
    const std::string field = "/scale/" + std::to_string(i) + "/points";
    std::visit([&](const auto& mark) { check_points(mark.points, film, field, reading_file); },
               reading.scale[i]);
  }
  for (std::size_t i = 0; i < reading.canals.size(); ++i) {
    const CanalMarks& canal = reading.canals[i];
    const std::string field = "/canals/" + std::to_string(i);
    check_points(canal.path, film, field + "/path", reading_file);
    check_length(canal.path, film, field + "/path", reading_file);
    check_point(canal.apex, film, field + "/apex", reading_file);
    check_points(canal.apex_marks, film, field + "/apex_marks", reading_file);
    if (canal.coronal_reference)
      check_point(*canal.coronal_reference, film, field + "/coronal_reference", reading_file);
  }
}

}  // namespace canalrule
