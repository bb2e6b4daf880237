#pragma once

#include <cstdint>
#include <random>
#include <string>

#include <canalrule/desk/drawing.hpp>
#include <canalrule/desk/edit.hpp>

/// Drawings and edits at random, such that places near the ends of every list are common.
namespace desk_test {

using namespace canalrule;
using namespace canalrule::desk;

class Random {
 public:
  explicit Random(std::uint64_t seed) : engine_(seed) {}

  std::size_t below(std::size_t count) { return static_cast<std::size_t>(engine_() % count); }
  bool one_in(std::size_t count) { return below(count) == 0; }
  /// With all its digits, so that a text must keep them.
  double number(double from, double to) {
    return from + (to - from) * (static_cast<double>(engine_() >> 11U) * 0x1.0p-53);
  }
  Point point() { return {number(-3.0, 700.0), number(-3.0, 900.0)}; }
  Polyline line(std::size_t most) {
    Polyline points;
    for (std::size_t i = below(most + 1); i > 0; --i) points.push_back(point());
    return points;
  }
  std::string text() {
    const std::string words[] = {"", "MB", "a \"quoted\" note", "naïve, with ü", "back\\slash", "1"};
    return words[below(6)];
  }

  CanalDrawn canal() {
    CanalDrawn canal;
    canal.name = text();
    canal.path = line(6);
    if (one_in(2)) canal.apex = point();
    if (one_in(3)) canal.line = LineSource::proposed;
    if (one_in(4)) canal.apex_uncertainty_mm = number(0.01, 1.0);
    if (one_in(3)) canal.planned = Planned{number(0.1, 1.0), {}, number(10.0, 25.0), {}};
    if (one_in(4)) canal.coronal_reference = point();
    return canal;
  }

  ScaleDrawn scale_mark() {
    ScaleDrawn mark;
    mark.kind = static_cast<ScaleDrawn::Kind>(below(3));
    mark.points = line(5);
    if (one_in(2)) mark.size_mm = number(0.1, 31.0);
    if (one_in(3)) mark.uncertainty_mm = number(0.01, 0.5);
    if (mark.kind == ScaleDrawn::Kind::carried) {
      mark.from_reading = one_in(2) ? "other.reading.json" : "";
      mark.from_points = line(2);
    }
    return mark;
  }

  Drawing drawing() {
    Drawing drawing;
    drawing.tooth = one_in(2) ? "36" : "";
    if (one_in(3)) drawing.radiopaque = Radiopaque::dark;
    if (one_in(3)) drawing.response = Response::linear;
    for (std::size_t i = below(3); i > 0; --i) drawing.scale.push_back(scale_mark());
    for (std::size_t i = below(4); i > 0; --i) drawing.canals.push_back(canal());
    drawing.note = text();
    if (one_in(8)) drawing.not_assessable = "too much overlap";
    return drawing;
  }

  PointPlace place() { return {static_cast<PointPlace::Of>(below(5)), below(4), below(7)}; }

  /// One that may not apply.
  Edit any_edit() {
    switch (below(14)) {
      case 0:
      case 1: return MovePoint{place(), point()};
      case 2:
      case 3: return InsertPoint{place(), point()};
      case 4: return RemovePoint{place()};
      case 5: return InsertCanal{below(4), canal()};
      case 6: return RemoveCanal{below(4)};
      case 7: return ReplaceCanal{below(4), canal()};
      case 8: return SetScale{drawing().scale};
      case 9: return SetTooth{one_in(2) ? "11" : ""};
      case 10:
        return SetGrey{one_in(2) ? std::optional(Radiopaque::bright) : std::nullopt,
                       one_in(2) ? std::optional(Response::log) : std::nullopt};
      case 11: return SetNote{text()};
      case 12: return SetNotAssessable{one_in(2) ? std::optional<std::string>("blurred") : std::nullopt};
      default: return SetDrawing{drawing()};
    }
  }

  /// One that applies; whole drawings rarely, so that sequences grow.
  Edit edit(const Drawing& drawing) {
    while (true) {
      Edit edit = any_edit();
      if (std::holds_alternative<SetDrawing>(edit) && !one_in(8)) continue;
      if (applies(drawing, edit)) return edit;
    }
  }

 private:
  std::mt19937_64 engine_;
};

}  // namespace desk_test
