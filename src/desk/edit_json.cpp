#include "edit_json.hpp"

#include <array>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <variant>

namespace canalrule::desk {

namespace {

using nlohmann::json;

template <class Meaning, std::size_t count>
using Words = std::array<std::pair<Meaning, std::string_view>, count>;

constexpr Words<PointPlace::Of, 5> place_words{{{PointPlace::Of::scale, "scale"},
                                                {PointPlace::Of::scale_from, "scale-from"},
                                                {PointPlace::Of::canal, "canal"},
                                                {PointPlace::Of::apex, "apex"},
                                                {PointPlace::Of::coronal_reference, "coronal-reference"}}};
constexpr Words<ScaleDrawn::Kind, 3> scale_words{{{ScaleDrawn::Kind::known_length, "known-length"},
                                                  {ScaleDrawn::Kind::known_width, "known-width"},
                                                  {ScaleDrawn::Kind::carried, "carried-length"}}};
constexpr Words<LineSource, 2> line_words{{{LineSource::drawn, "drawn"}, {LineSource::proposed, "proposed"}}};
constexpr Words<Radiopaque, 2> radiopaque_words{{{Radiopaque::bright, "bright"}, {Radiopaque::dark, "dark"}}};
constexpr Words<Response, 3> response_words{
    {{Response::log, "log"}, {Response::linear, "linear"}, {Response::display, "display"}}};

template <class Meaning, std::size_t count>
std::string word_of(const Words<Meaning, count>& words, Meaning meaning) {
  for (const auto& [known, word] : words)
    if (known == meaning) return std::string(word);
  return {};
}

template <class Meaning, std::size_t count>
Meaning meaning_of(const Words<Meaning, count>& words, const json& value) {
  const auto word = value.get<std::string>();
  for (const auto& [meaning, known] : words)
    if (known == word) return meaning;
  throw std::invalid_argument("the word '" + word + "' is not known here");
}

json of_point(Point point) { return json::array({point.x, point.y}); }

Point to_point(const json& value) {
  if (!value.is_array() || value.size() != 2) throw std::invalid_argument("a point has two coordinates");
  return {value[0].get<double>(), value[1].get<double>()};
}

json of_line(const Polyline& line) {
  json points = json::array();
  for (const Point& point : line) points.push_back(of_point(point));
  return points;
}

Polyline to_line(const json& value) {
  Polyline line;
  for (const json& point : value.get_ref<const json::array_t&>()) line.push_back(to_point(point));
  return line;
}

template <class Value>
void put(json& object, const char* key, const std::optional<Value>& value) {
  if (value) object[key] = *value;
}
void put(json& object, const char* key, const std::optional<Point>& value) {
  if (value) object[key] = of_point(*value);
}

template <class Read>
auto optional(const json& object, const char* key, Read read)
    -> std::optional<decltype(read(std::declval<const json&>()))> {
  const auto found = object.find(key);
  if (found == object.end()) return std::nullopt;
  return read(*found);
}

double to_number(const json& value) { return value.get<double>(); }
std::string to_text(const json& value) { return value.get<std::string>(); }

json of_scale(const std::vector<ScaleDrawn>& scale) {
  json out = json::array();
  for (const ScaleDrawn& mark : scale) {
    json item{{"kind", word_of(scale_words, mark.kind)}, {"points", of_line(mark.points)}};
    put(item, "size_mm", mark.size_mm);
    put(item, "uncertainty_mm", mark.uncertainty_mm);
    if (!mark.from_reading.empty()) item["from_reading"] = mark.from_reading;
    if (!mark.from_points.empty()) item["from_points"] = of_line(mark.from_points);
    out.push_back(std::move(item));
  }
  return out;
}

std::vector<ScaleDrawn> to_scale(const json& value) {
  std::vector<ScaleDrawn> scale;
  for (const json& item : value.get_ref<const json::array_t&>())
    scale.push_back({meaning_of(scale_words, item.at("kind")), to_line(item.at("points")),
                     optional(item, "size_mm", to_number), optional(item, "uncertainty_mm", to_number),
                     optional(item, "from_reading", to_text).value_or(""),
                     optional(item, "from_points", to_line).value_or(Polyline{})});
  return scale;
}

json of_planned(const Planned& planned) {
  json out = json::object();
  put(out, "tip_diameter_mm", planned.tip_diameter_mm);
  put(out, "taper", planned.taper);
  put(out, "working_length_mm", planned.working_length_mm);
  put(out, "backfill_from_mm", planned.backfill_from_mm);
  return out;
}

Planned to_planned(const json& value) {
  return {optional(value, "tip_diameter_mm", to_number), optional(value, "taper", to_number),
          optional(value, "working_length_mm", to_number), optional(value, "backfill_from_mm", to_number)};
}

json of_canal(const CanalDrawn& canal) {
  json out{{"name", canal.name}, {"path", of_line(canal.path)}, {"line", word_of(line_words, canal.line)}};
  put(out, "apex", canal.apex);
  put(out, "apex_uncertainty_mm", canal.apex_uncertainty_mm);
  if (canal.planned) out["planned"] = of_planned(*canal.planned);
  put(out, "coronal_reference", canal.coronal_reference);
  if (!canal.apex_marks.empty()) out["apex_marks"] = of_line(canal.apex_marks);
  return out;
}

CanalDrawn to_canal(const json& value) {
  return {to_text(value.at("name")),
          to_line(value.at("path")),
          optional(value, "apex", to_point),
          meaning_of(line_words, value.at("line")),
          optional(value, "apex_uncertainty_mm", to_number),
          optional(value, "planned", to_planned),
          optional(value, "coronal_reference", to_point),
          optional(value, "apex_marks", to_line).value_or(Polyline{})};
}

json of_grey(const std::optional<Radiopaque>& radiopaque, const std::optional<Response>& response) {
  json out = json::object();
  if (radiopaque) out["radiopaque"] = word_of(radiopaque_words, *radiopaque);
  if (response) out["response"] = word_of(response_words, *response);
  return out;
}

SetGrey to_grey(const json& value) {
  return {optional(value, "radiopaque", [](const json& v) { return meaning_of(radiopaque_words, v); }),
          optional(value, "response", [](const json& v) { return meaning_of(response_words, v); })};
}

json of_place(const PointPlace& place) {
  return {{"of", word_of(place_words, place.of)}, {"item", place.item}, {"index", place.index}};
}

/// A number that says which one is meant; json would turn a negative one into a huge one.
std::size_t to_index(const json& value) {
  if (!value.is_number_unsigned()) throw std::invalid_argument("an index is a whole number from 0");
  return value.get<std::size_t>();
}

PointPlace to_place(const json& value) {
  return {meaning_of(place_words, value.at("of")), to_index(value.at("item")), to_index(value.at("index"))};
}

json place_and_point(const char* edit, const PointPlace& place, Point at) {
  json out = of_place(place);
  out["edit"] = edit;
  out["at"] = of_point(at);
  return out;
}

struct Writer {
  json operator()(const MovePoint& e) const { return place_and_point("move-point", e.place, e.to); }
  json operator()(const InsertPoint& e) const { return place_and_point("insert-point", e.place, e.at); }
  json operator()(const RemovePoint& e) const {
    json out = of_place(e.place);
    out["edit"] = "remove-point";
    return out;
  }
  json operator()(const InsertCanal& e) const {
    return {{"edit", "insert-canal"}, {"index", e.index}, {"canal", of_canal(e.canal)}};
  }
  json operator()(const RemoveCanal& e) const { return {{"edit", "remove-canal"}, {"index", e.index}}; }
  json operator()(const ReplaceCanal& e) const {
    return {{"edit", "replace-canal"}, {"index", e.index}, {"canal", of_canal(e.canal)}};
  }
  json operator()(const SetScale& e) const { return {{"edit", "set-scale"}, {"scale", of_scale(e.scale)}}; }
  json operator()(const SetTooth& e) const { return {{"edit", "set-tooth"}, {"tooth", e.tooth}}; }
  json operator()(const SetGrey& e) const {
    json out = of_grey(e.radiopaque, e.response);
    out["edit"] = "set-grey";
    return out;
  }
  json operator()(const SetNote& e) const { return {{"edit", "set-note"}, {"note", e.note}}; }
  json operator()(const SetNotAssessable& e) const {
    json out{{"edit", "set-not-assessable"}};
    put(out, "reason", e.reason);
    return out;
  }
  json operator()(const SetDrawing& e) const {
    return {{"edit", "set-drawing"}, {"drawing", json_of(e.drawing)}};
  }
};

}  // namespace

json json_of(const Drawing& drawing) {
  json out = of_grey(drawing.radiopaque, drawing.response);
  out["tooth"] = drawing.tooth;
  out["scale"] = of_scale(drawing.scale);
  out["canals"] = json::array();
  for (const CanalDrawn& canal : drawing.canals) out["canals"].push_back(of_canal(canal));
  out["note"] = drawing.note;
  put(out, "not_assessable", drawing.not_assessable);
  return out;
}

Drawing drawing_from(const json& value) {
  Drawing drawing;
  const SetGrey grey = to_grey(value);
  drawing.radiopaque = grey.radiopaque;
  drawing.response = grey.response;
  drawing.tooth = to_text(value.at("tooth"));
  drawing.scale = to_scale(value.at("scale"));
  for (const json& canal : value.at("canals").get_ref<const json::array_t&>())
    drawing.canals.push_back(to_canal(canal));
  drawing.note = to_text(value.at("note"));
  drawing.not_assessable = optional(value, "not_assessable", to_text);
  return drawing;
}

json json_of(const Edit& edit) { return std::visit(Writer{}, edit); }

Edit edit_from(const json& value) {
  const auto kind = value.at("edit").get<std::string>();
  if (kind == "move-point") return MovePoint{to_place(value), to_point(value.at("at"))};
  if (kind == "insert-point") return InsertPoint{to_place(value), to_point(value.at("at"))};
  if (kind == "remove-point") return RemovePoint{to_place(value)};
  if (kind == "insert-canal") return InsertCanal{to_index(value.at("index")), to_canal(value.at("canal"))};
  if (kind == "remove-canal") return RemoveCanal{to_index(value.at("index"))};
  if (kind == "replace-canal") return ReplaceCanal{to_index(value.at("index")), to_canal(value.at("canal"))};
  if (kind == "set-scale") return SetScale{to_scale(value.at("scale"))};
  if (kind == "set-tooth") return SetTooth{to_text(value.at("tooth"))};
  if (kind == "set-grey") return to_grey(value);
  if (kind == "set-note") return SetNote{to_text(value.at("note"))};
  if (kind == "set-not-assessable") return SetNotAssessable{optional(value, "reason", to_text)};
  if (kind == "set-drawing") return SetDrawing{drawing_from(value.at("drawing"))};
  throw std::invalid_argument("the edit '" + kind + "' is not known");
}

}  // namespace canalrule::desk
