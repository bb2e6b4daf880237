#include <canalrule/desk/sentence.hpp>

#include <cstddef>

namespace canalrule::desk {

std::string plain(const Sentence& sentence) {
  std::string out;
  for (std::size_t i = 0; i < sentence.text.size(); ++i) {
    const char next = i + 1 < sentence.text.size() ? sentence.text[i + 1] : '\0';
    const auto argument = static_cast<std::size_t>(next - '1');
    if (sentence.text[i] == '%' && next >= '1' && next <= '9' && argument < sentence.arguments.size()) {
      out += sentence.arguments[argument];
      ++i;
    } else {
      out += sentence.text[i];
    }
  }
  return out;
}

}  // namespace canalrule::desk
