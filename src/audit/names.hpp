#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <unordered_map>
#include <vector>

namespace canalrule::audit {

/// Texts by small numbers, in the order in which they were first met.
class Names {
 public:
  Names() = default;
  Names(const Names&) = delete;  // the list points into the table
  Names& operator=(const Names&) = delete;
  Names(Names&&) = default;
  Names& operator=(Names&&) = default;

  std::uint32_t number_of(const std::string& name) {
    const auto [place, fresh] = numbers_.try_emplace(name, static_cast<std::uint32_t>(names_.size()));
    if (fresh) names_.push_back(&place->first);
    return place->second;
  }
  bool knows(const std::string& name) const { return numbers_.contains(name); }
  const std::string& operator[](std::uint32_t number) const { return *names_.at(number); }
  std::size_t size() const { return names_.size(); }

 private:
  std::unordered_map<std::string, std::uint32_t> numbers_;
  std::vector<const std::string*> names_;
};

}  // namespace canalrule::audit
