#pragma once

#include <canalrule/phantom/simulate.hpp>
#include <cstdint>
#include <string>
#include <vector>

/// What the document on accuracy is made of: kinds of simulated films, each film by its seed alone.
namespace canalrule_benchmark {

/// What is reckoned beside the measuring itself.
enum class Limits { none, bounds, gap };

struct Part {
  std::string name;       ///< of its file of rows
  std::string family;     ///< clean, usual or hard
  Limits limits = Limits::none;
  int films = 0;          ///< films at most, before `share`
  /// Description of one film; films of a group are alike but for what is redrawn or set.
  canalrule::phantom::Description (*draw)(const Part&, std::uint64_t seed, int member) = nullptr;
  std::string varied;               ///< what is set, for a person; empty: nothing
  std::vector<double> settings;     ///< its values, one film of each for every seed
  std::vector<std::string> labels;  ///< and their names where numbers say nothing
  std::size_t members() const { return settings.empty() ? 1 : settings.size(); }
};

/// All parts, for so many films of each family.
std::vector<Part> all_parts(int films);

}  // namespace canalrule_benchmark
