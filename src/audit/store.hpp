#pragma once

#include <cstdint>
#include <filesystem>
#include <fstream>
#include <mutex>
#include <optional>
#include <string>
#include <unordered_map>

#include "store_line.hpp"

namespace canalrule::audit {

/// Names within an output folder.
inline constexpr const char* rows_name = "audit.rows";          ///< the finished rows
inline constexpr const char* journal_name = "unfinished.rows";  ///< what a run has found so far
inline constexpr const char* pictures_name = "pictures";

enum class FoundKind : std::uint8_t { measured, failed };

/// Where in a store something found lies.
struct Place {
  enum class File : std::uint8_t { rows, journal };
  std::uint64_t offset = 0;
  File file = File::journal;
  FoundKind kind = FoundKind::failed;
};

/// What has been found in an output folder, by its key: by a finished run, by one that was cut off, and by
/// this one. In memory are only the places. For any number of threads.
class Store {
 public:
  /// What a cut-off run tore last is dropped.
  explicit Store(const std::filesystem::path& folder);

  std::optional<Place> find(const std::string& key) const;
  /// Keeps what was found, in the file before it returns; what is there already stays.
  Place add(const StoreLine& line);
  StoreLine read(const Place& place);
  /// After the rows have been written: what they hold needs no journal.
  void remove_journal();

 private:
  void take_index(const std::filesystem::path& file, Place::File which);

  std::filesystem::path folder_;
  mutable std::mutex mutex_;
  std::unordered_map<std::string, Place> places_;
  std::ofstream journal_;
  std::uint64_t journal_size_ = 0;
  StoreReader rows_reader_, journal_reader_;
};

}  // namespace canalrule::audit
