#include "service/base/content_hash.h"

#include <openssl/evp.h>

#include <cstdio>
#include <memory>
#include <vector>

#include "core/base/result.h"

namespace hakea::service {
namespace {

class Sha256 {
 public:
  Sha256() { HAKEA_EXPECT(context_ && EVP_DigestInit_ex(context_.get(), EVP_sha256(), nullptr) == 1); }
  void add(const void* bytes, std::size_t size) { HAKEA_EXPECT(EVP_DigestUpdate(context_.get(), bytes, size) == 1); }
  std::string hex() {
    const std::vector<unsigned char> digest = bytes();
    std::string text;
    for (const unsigned char byte : digest) {
      constexpr std::string_view kHex = "0123456789abcdef";
      (text += kHex[byte >> 4]) += kHex[byte & 15];
    }
    return text;
  }
  std::string base64() {
    const std::vector<unsigned char> digest = bytes();
    std::vector<unsigned char> text(4 * ((digest.size() + 2) / 3) + 1);  // and a zero
    const int size = EVP_EncodeBlock(text.data(), digest.data(), static_cast<int>(digest.size()));
    return {text.begin(), text.begin() + size};
  }

 private:
  std::vector<unsigned char> bytes() {
    std::vector<unsigned char> digest(EVP_MAX_MD_SIZE);
    unsigned int size = 0;
    HAKEA_EXPECT(EVP_DigestFinal_ex(context_.get(), digest.data(), &size) == 1);
    digest.resize(size);
    return digest;
  }

  std::unique_ptr<EVP_MD_CTX, decltype(&EVP_MD_CTX_free)> context_{EVP_MD_CTX_new(), &EVP_MD_CTX_free};
};

}  // namespace

std::string content_hash(std::string_view bytes) {
  Sha256 hash;
  hash.add(bytes.data(), bytes.size());
  return hash.hex();
}

std::string content_hash_base64(std::string_view bytes) {
  Sha256 hash;
  hash.add(bytes.data(), bytes.size());
  return hash.base64();
}

std::optional<std::string> content_hash_of_file(const std::string& path) {
  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> file(std::fopen(path.c_str(), "rbe"), &std::fclose);
  if (!file) return std::nullopt;
  Sha256 hash;
  std::vector<char> buffer(1 << 20);
  while (const std::size_t got = std::fread(buffer.data(), 1, buffer.size(), file.get())) hash.add(buffer.data(), got);
  if (std::ferror(file.get())) return std::nullopt;
  return hash.hex();
}

}  // namespace hakea::service
