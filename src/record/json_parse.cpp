#include "json_text.hpp"

#include <cstddef>
#include <utility>
#include <vector>

#include <canalrule/base/refusal.hpp>

#include "shorten.hpp"

namespace canalrule {

namespace {

using nlohmann::json;

/// Far more than the records have (6), far less than recursion over a document can bear. Chosen here.
constexpr std::size_t deepest = 64;

/// The parser stops in the middle of a character that isn't UTF-8, and a message must be text.
std::string readable(std::string token) {
  for (char& c : token)
    if (static_cast<unsigned char>(c) >= 0x80U) c = '?';
  return token;
}

/// Builds the document from the parser's events, because only these say where an error stands and show
/// a key that is given twice.
class DocumentBuilder final : public nlohmann::json_sax<json> {
 public:
  DocumentBuilder(std::string_view text, const std::string& file) : text_(text), file_(file) {}

  json take() { return std::move(document_); }

  bool null() override { return put(json(nullptr)); }
  bool boolean(bool value) override { return put(json(value)); }
  bool number_integer(number_integer_t value) override { return put(json(value)); }
  bool number_unsigned(number_unsigned_t value) override { return put(json(value)); }
  bool number_float(number_float_t value, const string_t&) override { return put(json(value)); }
  bool string(string_t& value) override { return put(json(std::move(value))); }
  bool binary(binary_t&) override { return false; }  // JSON text has none
  bool start_object(std::size_t) override { return open(json::object()); }
  bool start_array(std::size_t) override { return open(json::array()); }
  bool end_object() override { return close(); }
  bool end_array() override { return close(); }

  bool key(string_t& name) override {
    if (open_.back()->contains(name))
      refuse("the key '" + shorten(name) + "' stands twice in one object", "keep one of the two");
    key_ = std::move(name);
    return true;
  }

  bool parse_error(std::size_t position, const std::string& last_token,
                   const json::exception& error) override {
    if (position > text_.size())
      refuse("not JSON: the text ends too early", "copy the file again from its source");
    const std::string place = "line " + std::to_string(line_at(position)) + ", column " +
                              std::to_string(column_at(position));
    if (dynamic_cast<const json::out_of_range*>(&error) != nullptr)
      refuse("the number " + shorten(last_token) + " at " + place + " is too large",
             "write a number below 1e308");
    refuse("not JSON at " + place + ", near '" + shorten(readable(last_token)) + "'",
           "correct the text there");
  }

 private:
  [[noreturn]] void refuse(const std::string& what, const std::string& remedy) const {
    throw Refusal(RefusalKind::unusable_input, file_, "", what, remedy);
  }

  json* put(json&& value, std::nullptr_t) {
    if (open_.empty()) return &(document_ = std::move(value));
    json& parent = *open_.back();
    if (parent.is_object()) return &(parent[key_] = std::move(value));
    parent.push_back(std::move(value));
    return &parent.back();
  }
  bool put(json&& value) { return put(std::move(value), nullptr) != nullptr; }

  bool open(json&& container) {
    if (open_.size() == deepest)
      refuse("objects and arrays are nested more than " + std::to_string(deepest) + " deep",
             "no record of this program is");
    open_.push_back(put(std::move(container), nullptr));
    return true;
  }
  bool close() {
    open_.pop_back();
    return true;
  }

  /// `position` counts the characters read, so the last of them is the one that was wrong.
  std::size_t line_at(std::size_t position) const {
    std::size_t line = 1;
    for (std::size_t i = 0; i + 1 < position; ++i) line += text_[i] == '\n' ? 1 : 0;
    return line;
  }
  std::size_t column_at(std::size_t position) const {
    std::size_t column = 1;
    for (std::size_t i = 0; i + 1 < position; ++i) {
      if (text_[i] == '\n') column = 1;
      else if ((static_cast<unsigned char>(text_[i]) & 0xC0U) != 0x80U) ++column;
    }
    return column;
  }

  std::string_view text_;
  const std::string& file_;
  json document_;
  std::vector<json*> open_;
  std::string key_;
};

}  // namespace

json parse_json(std::string_view text, const std::string& file) {
  DocumentBuilder builder(text, file);
  json::sax_parse(text, &builder);
  return builder.take();
}

}  // namespace canalrule
