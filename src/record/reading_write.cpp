#include <canalrule/record/reading.hpp>

#include <algorithm>
#include <initializer_list>
#include <utility>

#include "json_text.hpp"
#include "words.hpp"

namespace canalrule {

namespace {

using nlohmann::json;
using nlohmann::ordered_json;
using Keys = std::initializer_list<std::string_view>;

const json* member(const json* object, const char* key) {
  if (object == nullptr || !object->is_object()) return nullptr;
  const auto found = object->find(key);
  return found == object->end() ? nullptr : &*found;
}

/// Behind the known fields come those of the document that this version doesn't know.
ordered_json with_unknown(ordered_json fields, const json* original, Keys known) {
  if (original == nullptr || !original->is_object()) return fields;
  for (const auto& [key, value] : original->items())
    if (std::find(known.begin(), known.end(), key) == known.end()) fields[key] = ordered_json(value);
  return fields;
}

ordered_json point_json(const Point& point) { return ordered_json::array({point.x, point.y}); }

ordered_json polyline_json(const Polyline& line) {
  ordered_json points = ordered_json::array();
  for (const Point& point : line) points.push_back(point_json(point));
  return points;
}

template <class Value>
void put(ordered_json& object, const char* key, const std::optional<Value>& value) {
  if (value) object[key] = *value;
}

/// For each new item the one of the document that it comes from: the item that is `same`, else the one in
/// the same place if no other item claims it and it is `alike`.
template <class Item, class Same, class Alike>
std::vector<const json*> origins(const std::vector<Item>& items, const json* list, Same same, Alike alike) {
  std::vector<const json*> found(items.size(), nullptr);
  if (list == nullptr || !list->is_array()) return found;
  std::vector<bool> claimed(list->size(), false);
  for (std::size_t i = 0; i < items.size(); ++i)
    for (std::size_t k = 0; k < list->size() && found[i] == nullptr; ++k)
      if (!claimed[k] && same(items[i], (*list)[k])) {
        found[i] = &(*list)[k];
        claimed[k] = true;
      }
  for (std::size_t i = 0; i < std::min(items.size(), list->size()); ++i)
    if (found[i] == nullptr && !claimed[i] && alike(items[i], (*list)[i])) found[i] = &(*list)[i];
  return found;
}

ordered_json image_json(const ImageReference& image, const json* original) {
  ordered_json out;
  out["file"] = image.file;
  put(out, "sha256", image.sha256);
  put(out, "columns", image.columns);
  put(out, "rows", image.rows);
  return with_unknown(std::move(out), original, {"file", "sha256", "columns", "rows"});
}

struct ScaleJson {
  const json* original;

  ordered_json operator()(const KnownLength& mark) const {
    ordered_json out{
        {"kind", "known-length"}, {"points", polyline_json(mark.points)}, {"length_mm", mark.length_mm}};
    put(out, "length_uncertainty_mm", mark.length_uncertainty_mm);
    return with_unknown(std::move(out), original, {"kind", "points", "length_mm", "length_uncertainty_mm"});
  }
  ordered_json operator()(const KnownWidth& mark) const {
    ordered_json out{
        {"kind", "known-width"}, {"points", polyline_json(mark.points)}, {"width_mm", mark.width_mm}};
    put(out, "width_uncertainty_mm", mark.width_uncertainty_mm);
    return with_unknown(std::move(out), original, {"kind", "points", "width_mm", "width_uncertainty_mm"});
  }
  ordered_json operator()(const CarriedLength& mark) const {
    ordered_json from{{"reading", mark.from_reading}, {"points", polyline_json(mark.from_points)}};
    ordered_json out{{"kind", "carried-length"}, {"points", polyline_json(mark.points)}};
    out["from"] = with_unknown(std::move(from), member(original, "from"), {"reading", "points"});
    return with_unknown(std::move(out), original, {"kind", "points", "from"});
  }
};

ordered_json scale_json(const std::vector<ScaleMark>& scale, const json* original) {
  const auto known = [](const ScaleMark& mark) { return std::visit(ScaleJson{nullptr}, mark); };
  const auto equal = [](const ordered_json& fields, const json& entry, const char* key) {
    const json* value = member(&entry, key);
    return value != nullptr && *value == json(fields[key]);
  };
  const std::vector<const json*> from = origins(
      scale, original,
      [&](const ScaleMark& mark, const json& entry) {
        const ordered_json fields = known(mark);
        return equal(fields, entry, "kind") && equal(fields, entry, "points");
      },
      [&](const ScaleMark& mark, const json& entry) { return equal(known(mark), entry, "kind"); });
  ordered_json out = ordered_json::array();
  for (std::size_t i = 0; i < scale.size(); ++i) out.push_back(std::visit(ScaleJson{from[i]}, scale[i]));
  return out;
}

ordered_json planned_json(const Planned& plan, const json* original) {
  ordered_json out = ordered_json::object();
  put(out, "tip_diameter_mm", plan.tip_diameter_mm);
  put(out, "taper", plan.taper);
  put(out, "working_length_mm", plan.working_length_mm);
  put(out, "backfill_from_mm", plan.backfill_from_mm);
  return with_unknown(std::move(out), original,
                      {"tip_diameter_mm", "taper", "working_length_mm", "backfill_from_mm"});
}

ordered_json canal_json(const CanalMarks& canal, const json* original) {
  ordered_json out{
      {"name", canal.name}, {"path", polyline_json(canal.path)}, {"apex", point_json(canal.apex)}};
  put(out, "apex_uncertainty_mm", canal.apex_uncertainty_mm);
  if (!canal.apex_marks.empty()) out["apex_marks"] = polyline_json(canal.apex_marks);
  if (canal.planned) out["planned"] = planned_json(*canal.planned, member(original, "planned"));
  if (canal.coronal_reference) out["coronal_reference"] = point_json(*canal.coronal_reference);
  if (canal.line != LineSource::drawn || member(original, "line") != nullptr)
    out["line"] = word_of(line_words, canal.line);
  return with_unknown(std::move(out), original,
                      {"name", "path", "apex", "apex_uncertainty_mm", "apex_marks", "planned",
                       "coronal_reference", "line"});
}

ordered_json canals_json(const std::vector<CanalMarks>& canals, const json* original) {
  const auto same_name = [](const CanalMarks& canal, const json& entry) {
    const json* name = member(&entry, "name");
    return name != nullptr && *name == canal.name;
  };
  const auto renamed = [](const CanalMarks& canal, const json& entry) {
    const json* path = member(&entry, "path");
    return path != nullptr && *path == json(polyline_json(canal.path));
  };
  const std::vector<const json*> from = origins(canals, original, same_name, renamed);
  ordered_json out = ordered_json::array();
  for (std::size_t i = 0; i < canals.size(); ++i) out.push_back(canal_json(canals[i], from[i]));
  return out;
}

}  // namespace

std::string write_reading(const Reading& reading) {
  const json* original = reading.document.get();
  ordered_json out;
  out["schema"] = "canalrule.reading/1";
  out["image"] = image_json(reading.image, member(original, "image"));
  for (const auto& [key, text] : {std::pair("reader", &reading.reader), std::pair("tooth", &reading.tooth),
                                  std::pair("note", &reading.note)})
    if (!text->empty() || member(original, key) != nullptr) out[key] = *text;
  put(out, "not_assessable", reading.not_assessable);
  if (reading.radiopaque) out["radiopaque"] = word_of(radiopaque_words, *reading.radiopaque);
  if (reading.response) out["response"] = word_of(response_words, *reading.response);
  if (!reading.scale.empty()) out["scale"] = scale_json(reading.scale, member(original, "scale"));
  out["canals"] = canals_json(reading.canals, member(original, "canals"));
  return write_json(
      with_unknown(std::move(out), original,
                   {"schema", "image", "reader", "tooth", "note", "not_assessable", "radiopaque", "response",
                    "scale", "canals"}));
}

}  // namespace canalrule
