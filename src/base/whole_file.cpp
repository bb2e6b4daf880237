#include <algorithm>
#include <canalrule/base/refusal.hpp>
#include <canalrule/base/system.hpp>
#include <canalrule/base/whole_file.hpp>
#include <cerrno>
#include <cstdio>
#include <fstream>
#include <limits>
#include <string>
#include <system_error>

#if defined(_WIN32)
#include <io.h>
#include <process.h>
#else
#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>
#endif

namespace canalrule {

namespace fs = std::filesystem;

namespace {

[[noreturn]] void refuse_input(const fs::path& file, const std::string& what, const std::string& remedy) {
  throw Refusal(RefusalKind::unusable_input, file.string(), "", what, remedy);
}

[[noreturn]] void refuse_output(const fs::path& file, const std::string& what, int error) {
  throw Refusal(RefusalKind::unwritable_output, file.string(), "",
                what + ": " + std::system_category().message(error),
                "check that the folder exists, can be written and has room");
}

/// What the names of unfinished files end in.
constexpr std::string_view torn_ending = ".part";

fs::path folder_of(const fs::path& file) {
  return file.has_parent_path() ? file.parent_path() : fs::path(".");
}

#if defined(_WIN32)
int process_number() { return _getpid(); }
#else
int process_number() { return static_cast<int>(getpid()); }
#endif

/// A new file, for writing; null with errno where it can't be made.
std::FILE* create(const fs::path& file, [[maybe_unused]] ReadBy read_by) {
#if defined(_WIN32)
  return _wfopen(file.c_str(), L"wbx");
#else
  const mode_t mode = read_by == ReadBy::owner ? 0600 : 0666;
  const int handle = open(file.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode);
  return handle < 0 ? nullptr : fdopen(handle, "wb");
#endif
}

/// Down to the disk itself.
bool flush_file(std::FILE* out) {
#if defined(_WIN32)
  return std::fflush(out) == 0 && _commit(_fileno(out)) == 0;
#else
  return std::fflush(out) == 0 && fsync(fileno(out)) == 0;
#endif
}

/// So that the new name itself survives a power cut.
void flush_folder([[maybe_unused]] const fs::path& folder) {
#if !defined(_WIN32)
  const int handle = open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (handle < 0) return;
  (void)fsync(handle);
  close(handle);
#endif
}

struct Opened {
  std::ifstream in;
  std::uint64_t size = 0;
};

Opened open_to_read(const fs::path& file, std::uint64_t limit_bytes) {
  std::error_code error;
  const fs::file_status status = fs::status(file, error);
  if (status.type() == fs::file_type::not_found)
    refuse_input(file, "there is no such file", "check the name");
  if (status.type() == fs::file_type::directory) refuse_input(file, "this is a folder", "name a file");
  if (status.type() != fs::file_type::regular)
    refuse_input(file, "this is not a file that can be read", "name a plain file");
  const std::uint64_t size = fs::file_size(file, error);
  if (error) refuse_input(file, "can't be read: " + error.message(), "check its permissions");
  if (size == 0) refuse_input(file, "the file is empty", "copy it again from its source");
  if (size > limit_bytes)
    refuse_input(file, "the file has " + std::to_string(size) + " bytes",
                 "at most " + std::to_string(limit_bytes) + " are read");
  std::ifstream in(file, std::ios::binary);
  if (!in)
    refuse_input(file, "can't be opened: " + std::system_category().message(errno), "check its permissions");
  return {std::move(in), size};
}

void read_exactly(std::ifstream& in, std::span<std::uint8_t> bytes, const fs::path& file) {
  in.read(reinterpret_cast<char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
  if (static_cast<std::size_t>(in.gcount()) != bytes.size())
    refuse_input(file, "the file ended while it was read", "copy it again from its source");
}

}  // namespace

std::vector<std::uint8_t> read_whole(const fs::path& file, std::uint64_t limit_bytes) {
  return read_start(file, limit_bytes, std::numeric_limits<std::size_t>::max());
}

std::vector<std::uint8_t> read_start(const fs::path& file, std::uint64_t limit_bytes, std::size_t count) {
  Opened opened = open_to_read(file, limit_bytes);
  std::vector<std::uint8_t> bytes(std::min<std::uint64_t>(opened.size, count));
  read_exactly(opened.in, bytes, file);
  return bytes;
}

void read_in_pieces(const fs::path& file, std::uint64_t limit_bytes,
                    const std::function<void(std::span<const std::uint8_t>)>& take) {
  constexpr std::uint64_t piece_bytes = 256 * 1024;
  Opened opened = open_to_read(file, limit_bytes);
  std::vector<std::uint8_t> piece(piece_bytes);
  for (std::uint64_t left = opened.size; left > 0;) {
    const std::span<std::uint8_t> now(piece.data(), std::min(left, piece_bytes));
    read_exactly(opened.in, now, file);
    take(now);
    left -= now.size();
  }
}

void write_whole(const fs::path& file, std::string_view text) {
  WholeFile whole(file);
  whole.append(text);
  whole.commit();
}

void write_whole(const fs::path& file, std::span<const std::uint8_t> bytes) {
  write_whole(file, std::string_view(reinterpret_cast<const char*>(bytes.data()), bytes.size()));
}

WholeFile::WholeFile(fs::path file, ReadBy read_by) : file_(std::move(file)), temporary_(folder_of(file_)) {
  temporary_ /=
      "." + file_.filename().string() + "." + std::to_string(process_number()) + std::string(torn_ending);
  std::error_code ignored;
  const fs::file_type there = fs::status(file_, ignored).type();
  if (there == fs::file_type::character || there == fs::file_type::block || there == fs::file_type::fifo ||
      there == fs::file_type::socket)
    throw Refusal(RefusalKind::unwritable_output, file_.string(), "", "this is a device or a pipe, no plain file",
                  "name another file");
  fs::remove(temporary_, ignored);
  out_ = create(temporary_, read_by);
  if (out_ == nullptr) refuse_output(file_, "can't be written", errno);
}

WholeFile::~WholeFile() {
  if (out_ == nullptr) return;
  std::fclose(out_);
  std::error_code ignored;
  fs::remove(temporary_, ignored);
}

void WholeFile::append(std::string_view text) {
  if (std::fwrite(text.data(), 1, text.size(), out_) != text.size())
    refuse_output(file_, "can't be written", errno);
}

void WholeFile::commit() {
  int error = flush_file(out_) ? 0 : errno;
  if (std::fclose(out_) != 0 && error == 0) error = errno;
  out_ = nullptr;
  std::error_code renamed;
  if (error == 0) fs::rename(temporary_, file_, renamed);
  if (error != 0 || renamed) {
    std::error_code ignored;
    fs::remove(temporary_, ignored);
    if (error != 0) refuse_output(file_, "can't be written", error);
    refuse_output(file_, "can't be put in place", renamed.value());
  }
  flush_folder(folder_of(file_));
}

namespace {

/// ".NAME.NUMBER.part", as WholeFile calls what isn't finished.
bool is_torn(std::string_view name) {
  if (!name.starts_with('.') || !name.ends_with(torn_ending)) return false;
  name.remove_suffix(torn_ending.size());
  const std::size_t dot = name.rfind('.');
  const std::string_view number = name.substr(dot + 1);
  return dot > 0 && !number.empty() && number.find_first_not_of("0123456789") == std::string_view::npos;
}

}  // namespace

void remove_torn_files(const fs::path& folder) {
  std::error_code error;
  std::vector<fs::path> torn;
  for (fs::directory_iterator entry(folder, error), end; !error && entry != end; entry.increment(error)) {
    const std::string name = entry->path().filename().string();
    if (is_torn(name)) torn.push_back(entry->path());
  }
  for (const fs::path& file : torn) fs::remove(file, error);
}

bool standard_error_is_terminal() noexcept {
#if defined(_WIN32)
  return _isatty(_fileno(stderr)) != 0;
#else
  return isatty(STDERR_FILENO) == 1;
#endif
}

FolderHold::FolderHold([[maybe_unused]] const fs::path& folder) {
#if !defined(_WIN32)
  handle_ = open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (handle_ < 0) refuse_output(folder, "can't be opened", errno);
  if (flock(handle_, LOCK_EX | LOCK_NB) == 0 || errno != EWOULDBLOCK) return;
  close(handle_);
  throw Refusal(RefusalKind::unwritable_output, folder.string(), "",
                "another run writes into this folder now", "wait for its end, or name another folder");
#endif
}

FolderHold::~FolderHold() {
#if !defined(_WIN32)
  close(handle_);
#endif
}

}  // namespace canalrule
