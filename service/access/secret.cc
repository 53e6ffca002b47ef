#include "service/access/secret.h"

#include <openssl/crypto.h>
#include <openssl/rand.h>

#include <algorithm>

#include "service/access/base64url.h"

namespace hakea::service {
namespace {

bool is_letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
}

std::size_t letters_at(std::string_view text, std::size_t at) {
  std::size_t end = at;
  while (end < text.size() && is_letter(text[end])) ++end;
  return end - at;
}

}  // namespace

Result<std::string> random_bytes(std::size_t count) {
  std::string bytes(count, '\0');
  if (RAND_bytes(reinterpret_cast<unsigned char*>(bytes.data()), static_cast<int>(count)) != 1)
    return Error{ErrorKind::failed, "no_random", "", "the operating system gives no random bytes", "try again"};
  return bytes;
}

Result<std::string> new_secret() {
  const auto bytes = random_bytes(32);
  if (!bytes) return bytes.errors();
  return base64url(*bytes);
}

bool is_same_secret(std::string_view a, std::string_view b) {
  return a.size() == b.size() && CRYPTO_memcmp(a.data(), b.data(), a.size()) == 0;
}

std::string without_secrets(std::string_view text) {
  constexpr std::string_view kOurs = "hakea_", kSigned = "eyJ", kLink = "/cal/";
  constexpr std::size_t kIdLength = 8, kLeast = 16;  // a shortened token is still most of one
  std::string clean;
  for (std::size_t at = 0; at < text.size();) {
    const std::string_view rest = text.substr(at);
    std::size_t kept = 0, hidden = 0;
    if (rest.starts_with(kOurs)) {
      const std::size_t id = kOurs.size() + kIdLength + 1;
      if (const std::size_t letters = letters_at(text, at); letters >= id + kLeast && rest[id - 1] == '_') {
        kept = id;
        hidden = letters - id;
      }
    } else if (rest.starts_with(kSigned)) {
      std::size_t end = letters_at(text, at);
      while (at + end < text.size() && text[at + end] == '.') end += 1 + letters_at(text, at + end + 1);
      if (end >= kSecretLength) {
        kept = kSigned.size();
        hidden = end - kept;
      }
    }
    if (rest.starts_with(kLink)) {
      if (const std::size_t letters = letters_at(text, at + kLink.size()); letters >= kLeast) {
        kept = kLink.size();
        hidden = letters;
      }
    }
    if (hidden == 0) {
      clean += text[at++];
      continue;
    }
    (clean += rest.substr(0, kept)) += "…";
    at += kept + hidden;
  }
  return clean;
}

}  // namespace hakea::service
