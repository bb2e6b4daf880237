#pragma once

#include <array>
#include <cstddef>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <nlohmann/json.hpp>

#include <canalrule/base/point.hpp>

namespace canalrule {

/// What numbers a field takes.
struct Range {
  double least;
  double most;
  enum class Edge { closed, open } lower_edge = Edge::closed;
};

inline constexpr Range any_number{-1e9, 1e9};
inline constexpr Range not_negative{0.0, 1e9};
inline constexpr Range positive{0.0, 1e9, Range::Edge::open};

/// The words a field takes, each with what it means.
template <class Meaning, std::size_t count>
using Words = std::array<std::pair<Meaning, std::string_view>, count>;

template <class Meaning, std::size_t count>
std::string_view word_of(const Words<Meaning, count>& words, Meaning meaning) {
  for (const auto& [known, word] : words)
    if (known == meaning) return word;
  return {};
}

/// One value of a document that is being read: knows its file and its JSON pointer (RFC 6901), and
/// refuses by them what the record can't take. Keys are those of the contract, so none needs escaping in a
/// pointer. The document and the file's name outlive it.
class Field {
 public:
  Field(const nlohmann::json& document, const std::string& file) : Field(document, file, "") {}

  /// Refuses all but a document of this schema, e.g. "canalrule.reading/1".
  void expect_schema(std::string_view schema) const;

  /// Refuses an object with any other key, for records in which a misspelt key would change the meaning.
  void only(std::initializer_list<std::string_view> keys) const;

  /// A key that an object holds in place of one of these, which it looks like and which is missing.
  struct Misspelt {
    std::string pointer;   ///< of the key found
    std::string expected;  ///< the key that it looks like
  };
  void find_misspelt(std::initializer_list<std::string_view> keys, std::vector<Misspelt>& found) const;

  Field operator[](std::string_view key) const;               ///< refuses where it is missing
  std::optional<Field> find(std::string_view key) const;      ///< of an object, else refuses
  std::vector<Field> items(std::size_t fewest = 0) const;     ///< of an array, at most 100000
  double number(const Range& range) const;
  int integer(int least, int most) const;
  bool is_null() const { return value_->is_null(); }
  bool truth() const;
  /// One line of text; at most 4096 bytes.
  std::string text() const;
  std::string text_not_empty() const;
  Point point() const;
  /// Refuses one shorter than a pixel in all: its points mark nothing.
  Polyline polyline(std::size_t fewest) const;
  Polyline polyline_of(std::size_t exactly) const;

  template <class Meaning, std::size_t count>
  Meaning word(const Words<Meaning, count>& words) const {
    const std::string found = text();
    std::string expected;
    for (const auto& [meaning, word] : words) {
      if (found == word) return meaning;
      expected += (expected.empty() ? "'" : ", '") + std::string(word) + "'";
    }
    refuse("one of " + expected);
  }

  /// Says what was found here and what was expected.
  [[noreturn]] void refuse(const std::string& expected) const;
  [[noreturn]] void refuse(const std::string& problem, const std::string& remedy) const;

 private:
  Field(const nlohmann::json& value, const std::string& file, std::string pointer)
      : value_(&value), file_(&file), pointer_(std::move(pointer)) {}

  const nlohmann::json* value_;
  const std::string* file_;
  std::string pointer_;
};

}  // namespace canalrule
