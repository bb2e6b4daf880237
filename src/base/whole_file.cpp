#include <canalrule/base/whole_file.hpp>

#include <cerrno>
#include <cstdio>
#include <fstream>
#include <string>
#include <system_error>

#include <canalrule/base/refusal.hpp>

#if defined(_WIN32)
#include <io.h>
#include <process.h>
#else
#include <fcntl.h>
#include <sys/stat.h>
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

#if defined(_WIN32)
int process_number() { return _getpid(); }
#else
int process_number() { return static_cast<int>(getpid()); }
#endif

/// Writes and flushes to the disk; returns the system's error number, 0 for none.
int write_and_flush(const fs::path& file, std::span<const std::uint8_t> bytes) {
#if defined(_WIN32)
  std::FILE* out = _wfopen(file.c_str(), L"wbx");
  if (out == nullptr) return errno;
  int error = std::fwrite(bytes.data(), 1, bytes.size(), out) == bytes.size() ? 0 : errno;
  if (error == 0 && (std::fflush(out) != 0 || _commit(_fileno(out)) != 0)) error = errno;
  if (std::fclose(out) != 0 && error == 0) error = errno;
  return error;
#else
  const int out = open(file.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (out < 0) return errno;
  int error = 0;
  while (!bytes.empty() && error == 0) {
    const ssize_t written = write(out, bytes.data(), bytes.size());
    if (written >= 0) {
      bytes = bytes.subspan(static_cast<std::size_t>(written));
    } else if (errno != EINTR) {
      error = errno;
    }
  }
  if (error == 0 && fsync(out) != 0) error = errno;
  if (close(out) != 0 && error == 0) error = errno;
  return error;
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

}  // namespace

std::vector<std::uint8_t> read_whole(const fs::path& file, std::uint64_t limit_bytes) {
  std::error_code error;
  const fs::file_status status = fs::status(file, error);
  if (status.type() == fs::file_type::not_found)
    refuse_input(file, "there is no such file", "check the name");
  if (status.type() == fs::file_type::directory)
    refuse_input(file, "this is a folder", "name a file");
  if (status.type() != fs::file_type::regular)
    refuse_input(file, "this is not a file that can be read", "name a plain file");
  const std::uint64_t size = fs::file_size(file, error);
  if (error) refuse_input(file, "can't be read: " + error.message(), "check its permissions");
  if (size == 0) refuse_input(file, "the file is empty", "copy it again from its source");
  if (size > limit_bytes)
    refuse_input(file, "the file has " + std::to_string(size) + " bytes",
                 "at most " + std::to_string(limit_bytes) + " are read");
  std::ifstream in(file, std::ios::binary);
  if (!in) refuse_input(file, "can't be opened: " + std::system_category().message(errno), "check its permissions");
  std::vector<std::uint8_t> bytes(size);
  in.read(reinterpret_cast<char*>(bytes.data()), static_cast<std::streamsize>(size));
  if (static_cast<std::uint64_t>(in.gcount()) != size)
    refuse_input(file, "the file ended while it was read", "copy it again from its source");
  return bytes;
}

void write_whole(const fs::path& file, std::span<const std::uint8_t> bytes) {
  fs::path folder = file.parent_path();
  if (folder.empty()) folder = ".";
  std::string name = ".";
  name += file.filename().string();
  name += "." + std::to_string(process_number()) + ".part";
  const fs::path temporary = folder / name;
  std::error_code ignored;
  fs::remove(temporary, ignored);
  if (const int error = write_and_flush(temporary, bytes); error != 0) {
    fs::remove(temporary, ignored);
    refuse_output(file, "can't be written", error);
  }
  std::error_code error;
  fs::rename(temporary, file, error);
  if (error) {
    fs::remove(temporary, ignored);
    refuse_output(file, "can't be put in place", error.value());
  }
  flush_folder(folder);
}

void write_whole(const fs::path& file, std::string_view text) {
  write_whole(file, std::span(reinterpret_cast<const std::uint8_t*>(text.data()), text.size()));
}

}  // namespace canalrule
