#pragma once

#include <string>
#include <vector>

namespace canalrule::desk {

/// A sentence for a person, in English, with places %1, %2 for its arguments, so that a window can translate
/// the text and then fill it in. Empty where there is nothing to say.
struct Sentence {
  std::string text;
  std::vector<std::string> arguments;
  friend bool operator==(const Sentence&, const Sentence&) = default;
};

/// The English sentence, filled in.
std::string plain(const Sentence& sentence);

}  // namespace canalrule::desk
