// The one class behind which signatures are verified (OpenSSL's EVP): RS256 (RFC 7518 §3.3) and ES256 (§3.4), nothing else.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

namespace hakea::service {

class PublicKey {
 public:
  enum class Algorithm : std::uint8_t { rs256, es256 };
  static std::optional<Algorithm> algorithm_of(std::string_view word);  // "RS256", "ES256"

  // From big-endian numbers as RFC 7518 §6 has them. Nothing where they are no key, for RSA of fewer than 2048 bits, and for a
  // point that is not on P-256.
  static std::optional<PublicKey> rsa(std::string_view modulus, std::string_view exponent);
  static std::optional<PublicKey> p256(std::string_view x, std::string_view y);

  Algorithm algorithm() const { return algorithm_; }
  // Whether a signature of its algorithm (for ES256 both numbers, 32 bytes each) is of this message by this key.
  bool verifies(std::string_view message, std::string_view signature) const;

 private:
  PublicKey(Algorithm algorithm, std::shared_ptr<void> key) : algorithm_(algorithm), key_(std::move(key)) {}
  Algorithm algorithm_;
  std::shared_ptr<void> key_;  // EVP_PKEY
};

}  // namespace hakea::service
