#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <utility>

#include <nlohmann/json.hpp>

#include <canalrule/base/point.hpp>

namespace canalrule::phantom {

/// One object of a description being read: takes its fields by name, each with its range, and refuses
/// what is wrong by its JSON pointer.
class Fields {
 public:
  Fields(const nlohmann::json& object, std::string file, std::string pointer);

  struct Range {
    double low = 0.0, high = 0.0;
  };
  void number(const char* name, double& value, Range range);
  void number(const char* name, std::optional<double>& value, Range range);
  void whole(const char* name, int& value, Range range);
  void text(const char* name, std::string& value);
  void yes_or_no(const char* name, bool& value);
  /// Exactly `count` points, each [x, y] in pixels.
  void points(const char* name, std::size_t count, Polyline& value);
  void seed(const char* name, std::uint64_t& value);

  template <typename Choice>
  void choice(const char* name, Choice& value, std::span<const std::pair<std::string_view, Choice>> names) {
    const nlohmann::json* found = find(name);
    if (!found) return;
    std::string expected;
    for (const auto& [word, meaning] : names) {
      if (found->is_string() && found->get_ref<const std::string&>() == word) {
        value = meaning;
        return;
      }
      expected += (expected.empty() ? "expected one of " : ", ") + std::string(word);
    }
    refuse(name, *found, expected);
  }

  /// An object in this one; nothing where it is missing.
  template <typename Read>
  void object(const char* name, Read read) {
    if (const nlohmann::json* found = find(name)) {
      Fields inner(*found, file_, pointer_ + "/" + name);
      read(inner);
      inner.refuse_unknown();
    }
  }

  /// A list of objects; `read` is called for each.
  template <typename Read>
  void list(const char* name, std::size_t least, std::size_t most, Read read) {
    const nlohmann::json* found = find(name);
    if (!found) return;
    if (!found->is_array() || found->size() < least || found->size() > most)
      refuse(name, *found,
             "expected a list of " + std::to_string(least) + " to " + std::to_string(most) + " objects");
    for (std::size_t i = 0; i < found->size(); ++i) {
      Fields inner((*found)[i], file_, pointer_ + "/" + name + "/" + std::to_string(i));
      read(inner);
      inner.refuse_unknown();
    }
  }

  bool has(const char* name) { return find(name) != nullptr; }
  void refuse_unknown() const;
  [[noreturn]] void refuse(const std::string& name, const nlohmann::json& value,
                           const std::string& expected) const;

 private:
  const nlohmann::json* find(const char* name);

  const nlohmann::json* object_;
  std::string file_, pointer_;
  std::set<std::string> known_;
};

}  // namespace canalrule::phantom
