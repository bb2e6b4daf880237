#include "fields.hpp"

#include <array>
#include <charconv>
#include <cmath>

#include <canalrule/base/refusal.hpp>

namespace canalrule::phantom {

namespace {

std::string shortest(double v) {
  std::array<char, 32> out{};
  const auto end = std::to_chars(out.data(), out.data() + out.size(), v);
  return {out.data(), end.ptr};
}

std::string shown(const nlohmann::json& value) {
  constexpr std::size_t longest = 40;
  std::string text = value.dump(-1, ' ', true, nlohmann::json::error_handler_t::replace);
  if (text.size() > longest) text = text.substr(0, longest) + "...";
  return text;
}

}  // namespace

Fields::Fields(const nlohmann::json& object, std::string file, std::string pointer)
    : object_(&object), file_(std::move(file)), pointer_(std::move(pointer)) {
  if (!object.is_object())
    throw Refusal(RefusalKind::unusable_input, file_, pointer_.empty() ? "/" : pointer_,
                  "found " + shown(object), "expected an object");
}

const nlohmann::json* Fields::find(const char* name) {
  known_.insert(name);
  const auto found = object_->find(name);
  return found == object_->end() ? nullptr : &*found;
}

void Fields::refuse(const std::string& name, const nlohmann::json& value, const std::string& expected) const {
  throw Refusal(RefusalKind::unusable_input, file_, pointer_ + "/" + name, "found " + shown(value), expected);
}

void Fields::number(const char* name, double& value, Range range) {
  const nlohmann::json* found = find(name);
  if (!found) return;
  const bool fits =
      found->is_number() && found->get<double>() >= range.low && found->get<double>() <= range.high;
  if (!fits)
    refuse(name, *found, "expected a number from " + shortest(range.low) + " to " + shortest(range.high));
  value = found->get<double>();
}

void Fields::number(const char* name, std::optional<double>& value, Range range) {
  if (!find(name)) return;
  double read = 0.0;
  number(name, read, range);
  value = read;
}

void Fields::whole(const char* name, int& value, Range range) {
  const nlohmann::json* found = find(name);
  if (!found) return;
  const bool fits =
      found->is_number_integer() && found->get<double>() >= range.low && found->get<double>() <= range.high;
  if (!fits)
    refuse(name, *found,
           "expected a whole number from " + shortest(range.low) + " to " + shortest(range.high));
  value = found->get<int>();
}

void Fields::text(const char* name, std::string& value) {
  const nlohmann::json* found = find(name);
  if (!found) return;
  if (!found->is_string()) refuse(name, *found, "expected text");
  value = found->get<std::string>();
}

void Fields::yes_or_no(const char* name, bool& value) {
  const nlohmann::json* found = find(name);
  if (!found) return;
  if (!found->is_boolean()) refuse(name, *found, "expected true or false");
  value = found->get<bool>();
}

void Fields::seed(const char* name, std::uint64_t& value) {
  const nlohmann::json* found = find(name);
  if (!found) return;
  if (!found->is_number_unsigned()) refuse(name, *found, "expected a whole number of 0 or more");
  value = found->get<std::uint64_t>();
}

void Fields::points(const char* name, std::size_t count, Polyline& value) {
  const nlohmann::json* found = find(name);
  if (!found) return;
  bool fits = found->is_array() && found->size() == count;
  for (std::size_t i = 0; fits && i < count; ++i) {
    const nlohmann::json& p = (*found)[i];
    fits = p.is_array() && p.size() == 2 && p[0].is_number() && p[1].is_number();
    if (fits) value.push_back({p[0].get<double>(), p[1].get<double>()});
  }
  if (!fits) refuse(name, *found, "expected " + std::to_string(count) + " points [x, y] in pixels");
}

void Fields::refuse_unknown() const {
  for (const auto& [name, value] : object_->items())
    if (!known_.contains(name)) refuse(name, value, "no such field here; remove it or mend its spelling");
}

}  // namespace canalrule::phantom
