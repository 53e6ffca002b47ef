#include "service/deliver/signature.h"

#include <fmt/format.h>
#include <openssl/evp.h>
#include <openssl/hmac.h>

#include <array>

namespace hakea::service {
namespace {

const unsigned char* bytes_of(std::string_view text) { return reinterpret_cast<const unsigned char*>(text.data()); }

}  // namespace

std::string base64(std::string_view bytes) {
  std::string text(4 * ((bytes.size() + 2) / 3), '\0');
  // The library ends what it writes with a zero byte, where the string has its own.
  EVP_EncodeBlock(reinterpret_cast<unsigned char*>(text.data()), bytes_of(bytes), static_cast<int>(bytes.size()));
  return text;
}

std::optional<std::string> from_base64(std::string_view text) {
  if (text.empty() || text.size() % 4 != 0) return std::nullopt;
  std::string bytes(text.size() / 4 * 3, '\0');
  if (EVP_DecodeBlock(reinterpret_cast<unsigned char*>(bytes.data()), bytes_of(text), static_cast<int>(text.size())) < 0)
    return std::nullopt;
  std::size_t padding = 0;
  while (padding < 2 && text[text.size() - 1 - padding] == '=') ++padding;
  bytes.erase(bytes.size() - padding);
  return bytes;
}

std::string signatures(std::string_view id, UtcTime at, std::string_view body, const std::vector<std::string>& secrets) {
  const std::string content = fmt::format("{}.{}.{}", id, at.time_since_epoch().count(), body);
  std::string all;
  for (const std::string& secret : secrets) {
    const auto key = from_base64(secret);
    if (!key) continue;
    std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
    unsigned int size = 0;
    HMAC(EVP_sha256(), key->data(), static_cast<int>(key->size()), bytes_of(content), content.size(), digest.data(), &size);
    all += fmt::format("{}v1,{}", all.empty() ? "" : " ", base64({reinterpret_cast<const char*>(digest.data()), size}));
  }
  return all;
}

std::string shown_secret(std::string_view secret) { return fmt::format("whsec_{}", secret); }

}  // namespace hakea::service
