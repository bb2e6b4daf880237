#include <array>

#include <nettle/sha2.h>

#include <canalrule/base/whole_file.hpp>

namespace canalrule {

namespace {

std::string digest_of(sha256_ctx& context) {
  std::array<std::uint8_t, SHA256_DIGEST_SIZE> digest{};
  sha256_digest(&context, digest.size(), digest.data());
  constexpr char digits[] = "0123456789abcdef";
  std::string hex;
  hex.reserve(2 * digest.size());
  for (const std::uint8_t byte : digest) {
    hex += digits[byte >> 4U];
    hex += digits[byte & 0x0fU];
  }
  return hex;
}

}  // namespace

std::string sha256_hex(std::span<const std::uint8_t> bytes) {
  sha256_ctx context;
  sha256_init(&context);
  sha256_update(&context, bytes.size(), bytes.data());
  return digest_of(context);
}

std::string sha256_hex_of(const std::filesystem::path& file, std::uint64_t limit_bytes) {
  sha256_ctx context;
  sha256_init(&context);
  read_in_pieces(file, limit_bytes, [&context](std::span<const std::uint8_t> piece) {
    sha256_update(&context, piece.size(), piece.data());
  });
  return digest_of(context);
}

}  // namespace canalrule
