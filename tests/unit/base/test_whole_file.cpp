// Files are read and written whole or not at all; SHA-256 against the examples of FIPS 180-4.
#include <doctest/doctest.h>

#include <algorithm>
#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <filesystem>
#include <string>
#include <vector>

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
