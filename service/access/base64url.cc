#include "service/access/base64url.h"

namespace hakea::service {
namespace {

constexpr std::string_view kLetters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

}  // namespace

std::string base64url(std::string_view bytes) {
  std::string text;
  unsigned bits = 0;
  int held = 0;
  for (const char byte : bytes) {
    bits = bits << 8 | static_cast<unsigned char>(byte);
    for (held += 8; held >= 6; held -= 6) text += kLetters[bits >> (held - 6) & 63U];
  }
  if (held > 0) text += kLetters[bits << (6 - held) & 63U];
  return text;
}

std::optional<std::string> from_base64url(std::string_view text) {
  std::string bytes;
  unsigned bits = 0;
  int held = 0;
  for (const char letter : text) {
    const std::size_t value = kLetters.find(letter);
    if (value == std::string_view::npos) return std::nullopt;
    bits = bits << 6 | static_cast<unsigned>(value);
    held += 6;
    if (held < 8) continue;
    held -= 8;
    bytes += static_cast<char>(bits >> held & 255U);
  }
  // One letter alone holds no byte; what is left over is zero.
  if (held == 6 || (bits & ((1U << held) - 1)) != 0) return std::nullopt;
  return bytes;
}

}  // namespace hakea::service
