#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

namespace canalrule::window {

/// What the window is opened with.
struct Opening {
  std::optional<std::filesystem::path> what;      ///< a film, a reading, a folder or a case list
  std::filesystem::path criteria;                 ///< the criteria file that results are judged by
  std::string reader;                             ///< who marks; empty: asked for in the window
  std::optional<std::filesystem::path> readings;  ///< where readings are kept; else beside the film
  std::optional<std::uint64_t> blind_seed;        ///< blind mode, shuffled by this seed
};

/// How it came to an end.
enum class Ending { closed, no_display };

/// The one function of the module that `canalrule draw` loads, exported under the name below. Opens the
/// window and returns once it is closed. Refuses criteria that can't be used (unusable_input);
/// a film that can't be opened is told in the window.
using Start = Ending(const Opening& opening);
inline constexpr const char* start_symbol = "canalrule_window_start";

}  // namespace canalrule::window
