// Files are read and written whole or not at all; SHA-256 against the examples of FIPS 180-4.
#include <doctest/doctest.h>

#include <algorithm>
#include <canalrule/base/fault.hpp>
#include <canalrule/base/refusal.hpp>
#include <canalrule/base/system.hpp>
#include <canalrule/base/utf8.hpp>
#include <canalrule/base/whole_file.hpp>
#include <cstdio>
#include <filesystem>
#include <string>
#include <vector>

#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "temporary_folder.hpp"

using namespace canalrule;
using canalrule_test::refusal_of;
using canalrule_test::TemporaryFolder;
namespace fs = std::filesystem;

namespace {

std::vector<std::uint8_t> bytes_of(const std::string& text) { return {text.begin(), text.end()}; }

std::vector<std::string> names_in(const fs::path& folder) {
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(folder)) names.push_back(entry.path().filename().string());
  std::ranges::sort(names);
  return names;
}

}  // namespace

TEST_CASE("what is written is read back, and nothing else is left in the folder") {
  const TemporaryFolder folder;
  const fs::path file = folder.path() / "result.json";
  for (const std::string& content :
       {std::string("first"), std::string(3'000'000, '\0'), std::string("ä\n")}) {
    write_whole(file, content);
    CHECK(read_whole(file, 4'000'000) == bytes_of(content));
    CHECK(names_in(folder.path()) == std::vector<std::string>{"result.json"});
  }
}

TEST_CASE("a file that can't be written is refused, and what was there stays") {
  const TemporaryFolder folder;
  const Refusal no_folder = refusal_of([&] { write_whole(folder.path() / "none" / "a.json", "text"); });
  CHECK(no_folder.kind() == RefusalKind::unwritable_output);
  CHECK(no_folder.where() == (folder.path() / "none" / "a.json").string());
  fs::create_directories(folder.path() / "taken" / "inside");
  CHECK(refusal_of([&] { write_whole(folder.path() / "taken", "text"); }).kind() ==
        RefusalKind::unwritable_output);
  CHECK(names_in(folder.path()) == std::vector<std::string>{"taken"});
  CHECK(names_in(folder.path() / "taken") == std::vector<std::string>{"inside"});
}

TEST_CASE("what a device or a pipe is isn't written over") {
  const TemporaryFolder folder;
  const fs::path pipe = folder.path() / "pipe";
  REQUIRE(mkfifo(pipe.c_str(), 0600) == 0);
  fs::create_symlink("/dev/null", folder.path() / "nothing.json");
  for (const fs::path& file : {pipe, folder.path() / "nothing.json"}) {
    const Refusal refused = refusal_of([&] { write_whole(file, "text"); });
    CHECK(refused.kind() == RefusalKind::unwritable_output);
    CHECK(refused.problem() == "this is a device or a pipe, no plain file");
  }
  CHECK(fs::is_fifo(pipe));
}

TEST_CASE("a fault of our own stops with the code that the help states") {
  const pid_t child = fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    std::fclose(stderr);
    canalrule::fault("a test's");
  }
  int status = 0;
  REQUIRE(waitpid(child, &status, 0) == child);
  CHECK(WIFEXITED(status));
  CHECK(WEXITSTATUS(status) == 70);
}

TEST_CASE("a link is written through by its own name, not into what it leads to") {
  const TemporaryFolder folder;
  const fs::path original = folder.write("original.json", std::string("kept"));
  fs::create_symlink(original, folder.path() / "link.json");
  write_whole(folder.path() / "link.json", "new");
  CHECK(read_whole(original, 100) == bytes_of("kept"));
  CHECK(read_whole(folder.path() / "link.json", 100) == bytes_of("new"));
}

TEST_CASE("what can't be read is refused with its reason") {
  const TemporaryFolder folder;
  const auto problem = [&](const fs::path& file, std::uint64_t limit) {
    const Refusal refusal = refusal_of([&] { (void)read_whole(file, limit); });
    CHECK(refusal.kind() == RefusalKind::unusable_input);
    CHECK(refusal.where() == file.string());
    return refusal.problem();
  };
  CHECK(problem(folder.path() / "none", 10) == "there is no such file");
  CHECK(problem(folder.path(), 10) == "this is a folder");
  CHECK(problem(folder.write("empty", std::string()), 10) == "the file is empty");
  CHECK(problem(folder.write("long", std::string("eleven byte")), 10) == "the file has 11 bytes");
  CHECK(read_whole(folder.path() / "long", 11).size() == 11);
}

TEST_CASE("a refusal is one line whatever it quotes") {
  const Refusal refusal(RefusalKind::unusable_input, "a\nb.png", "/image", "is \x1b[31m\ttext",
                        "write it\r\n");
  CHECK(std::string(refusal.what()) == "a?b.png: /image: is ?[31m?text; write it??");
  CHECK(std::string(Refusal(RefusalKind::wrong_use, "measure", "", "no", "").what()) == "measure: no");
  CHECK(std::string(Refusal(RefusalKind::wrong_use, "ä–😀", "", "\x80 \xc3", "\xe2\x80").what()) ==
        "ä–😀: ? ?; ??");
}

TEST_CASE("SHA-256, examples of FIPS 180-4 (NIST, Secure Hash Standard, example values)") {
  CHECK(sha256_hex(bytes_of("abc")) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(sha256_hex(bytes_of("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq")) ==
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  CHECK(sha256_hex({}) == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST_CASE("a file written piece by piece is there after commit, and not before") {
  const TemporaryFolder folder;
  const fs::path file = folder.write("rows.csv", std::string("earlier"));
  {
    WholeFile whole(file);
    whole.append("one\n");
    CHECK(read_whole(file, 100) == bytes_of("earlier"));
    whole.append(std::string(1'000'000, 'x'));
    whole.commit();
  }
  CHECK(read_whole(file, 2'000'000) == bytes_of("one\n" + std::string(1'000'000, 'x')));
  {
    WholeFile given_up(file);
    given_up.append("torn");
  }
  CHECK(read_whole(file, 2'000'000).size() == 1'000'004);
  CHECK(names_in(folder.path()) == std::vector<std::string>{"rows.csv"});
}

TEST_CASE("what a killed process left is removed, and nothing else") {
  const TemporaryFolder folder;
  for (const char* name : {".rows.csv.123.part", ".download.part", "kept.part", ".kept", "rows.csv"})
    folder.write(name, std::string("x"));
  remove_torn_files(folder.path());
  CHECK(names_in(folder.path()) == std::vector<std::string>{".download.part", ".kept", "kept.part", "rows.csv"});
}

#if !defined(_WIN32)
TEST_CASE("a folder is held once") {
  const TemporaryFolder folder;
  {
    const FolderHold hold(folder.path());
    const Refusal second = refusal_of([&] { const FolderHold again(folder.path()); });
    CHECK(second.kind() == RefusalKind::unwritable_output);
    CHECK(second.problem() == "another run writes into this folder now");
  }
  const FolderHold after(folder.path());
  CHECK(names_in(folder.path()).empty());
  CHECK(refusal_of([&] { const FolderHold none(folder.path() / "none"); }).kind() ==
        RefusalKind::unwritable_output);
}
#endif

// RFC 3629, sections 3 and 4, and the well-known edges of its table.
TEST_CASE("UTF-8 characters and what is none") {
  for (const std::string good : {"A", "\xC3\xA4", "\xE2\x80\xA6", "\xF0\x9F\xA6\xB7", "\xED\x9F\xBF",
                                 "\xEE\x80\x80", "\xF4\x8F\xBF\xBF"})
    CHECK(utf8_length(good + "x") == good.size());
  for (const std::string bad : {"\x80", "\xC0\x80", "\xC1\xBF", "\xE0\x9F\xBF", "\xED\xA0\x80", "\xF0\x8F\xBF\xBF",
                                "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xC3", "\xE2\x80", "\xC3x"})
    CHECK(utf8_length(bad) == 0);
  CHECK(utf8_length("") == 0);
}
