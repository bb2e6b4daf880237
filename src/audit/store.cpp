#include "store.hpp"

#include <canalrule/base/fault.hpp>
#include <canalrule/base/refusal.hpp>
#include <cerrno>
#include <system_error>

namespace canalrule::audit {

namespace fs = std::filesystem;

namespace {

[[noreturn]] void refuse_journal(const fs::path& file, int error) {
  throw Refusal(
      RefusalKind::unwritable_output, file.string(), "",
      "can't be written: " + std::system_category().message(error),
      "check that the folder can be written and has room; the same command then goes on where it was");
}

}  // namespace

Store::Store(const fs::path& folder)
    : folder_(folder), rows_reader_(folder / rows_name), journal_reader_(folder / journal_name) {
  const fs::path journal = folder_ / journal_name;
  take_index(folder_ / rows_name, Place::File::rows);
  take_index(journal, Place::File::journal);
  std::error_code error;
  if (fs::exists(journal, error)) fs::resize_file(journal, journal_size_, error);
  if (error) refuse_journal(journal, error.value());
  journal_.open(journal, std::ios::binary | std::ios::app);
  if (!journal_) refuse_journal(journal, errno);
  if (!journal_reader_.is_open()) journal_reader_ = StoreReader(journal);
}

void Store::take_index(const fs::path& file, Place::File which) {
  StoreReader reader(file);
  if (!reader.is_open()) return;
  for (std::uint64_t offset = 0; const std::optional<StoreLine> line = reader.next();
       offset = reader.offset()) {
    if (line->kind == LineKind::head) continue;
    const bool measured = line->kind == LineKind::measured || line->kind == LineKind::measured_row;
    places_.emplace(line->key, Place{offset, which, measured ? FoundKind::measured : FoundKind::failed});
  }
  if (which == Place::File::journal) journal_size_ = reader.offset();
}

std::optional<Place> Store::find(const std::string& key) const {
  const std::lock_guard lock(mutex_);
  const auto found = places_.find(key);
  return found == places_.end() ? std::nullopt : std::optional(found->second);
}

Place Store::add(const StoreLine& line) {
  const std::string text = encode(line);
  const std::lock_guard lock(mutex_);
  const Place place{journal_size_, Place::File::journal,
                    line.kind == LineKind::measured ? FoundKind::measured : FoundKind::failed};
  const auto [kept, is_new] = places_.emplace(line.key, place);
  if (!is_new) return kept->second;
  journal_ << text << std::flush;
  if (!journal_) refuse_journal(folder_ / journal_name, errno);
  journal_size_ += text.size();
  return place;
}

StoreLine Store::read(const Place& place) {
  const std::lock_guard lock(mutex_);
  StoreReader& reader = place.file == Place::File::rows ? rows_reader_ : journal_reader_;
  std::optional<StoreLine> line = reader.at(place.offset);
  if (!line)
    throw Refusal(RefusalKind::unusable_input,
                  (folder_ / (place.file == Place::File::rows ? rows_name : journal_name)).string(), "",
                  "the file changed while it was in use",
                  "see that no other program writes into this folder");
  return std::move(*line);
}

void Store::remove_journal() {
  const std::lock_guard lock(mutex_);
  journal_.close();
  journal_reader_ = StoreReader(fs::path());
  std::error_code ignored;
  fs::remove(folder_ / journal_name, ignored);
}

}  // namespace canalrule::audit
