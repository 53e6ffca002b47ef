// An identity provider for tests: keys made by the OpenSSL library, their JWKS, and tokens signed by them.
#pragma once

#include <openssl/bn.h>
#include <openssl/core_names.h>
#include <openssl/ec.h>
#include <openssl/ecdsa.h>
#include <openssl/evp.h>
#include <openssl/rsa.h>

#include <memory>
#include <stdexcept>
#include <string>

#include "service/access/base64url.h"
#include "service/input/json.h"

namespace hakea::test {

class IdentityProvider {
 public:
  enum class By { rsa, ec };

  IdentityProvider() : rsa_(EVP_RSA_gen(2048U), EVP_PKEY_free), ec_(EVP_EC_gen("P-256"), EVP_PKEY_free) {
    if (!rsa_ || !ec_) throw std::runtime_error("no keys");
  }

  service::json::object jwk(By by) const {
    const std::string id = by == By::rsa ? "r1" : "e1";
    if (by == By::rsa)
      return {{"kty", "RSA"},
              {"use", "sig"},
              {"kid", id},
              {"n", number(rsa_, OSSL_PKEY_PARAM_RSA_N, 0)},
              {"e", number(rsa_, OSSL_PKEY_PARAM_RSA_E, 0)}};
    return {{"kty", "EC"},
            {"crv", "P-256"},
            {"kid", id},
            {"x", number(ec_, OSSL_PKEY_PARAM_EC_PUB_X, 32)},
            {"y", number(ec_, OSSL_PKEY_PARAM_EC_PUB_Y, 32)}};
  }
  std::string jwks() const {
    return service::json::serialize(service::json::object{{"keys", service::json::array{jwk(By::rsa), jwk(By::ec)}}});
  }

  static service::json::object header(By by) {
    return {{"typ", "at+jwt"}, {"alg", by == By::rsa ? "RS256" : "ES256"}, {"kid", by == By::rsa ? "r1" : "e1"}};
  }
  std::string token(const service::json::object& claims, By by = By::rsa) const { return token(claims, by, header(by)); }
  std::string token(const service::json::object& claims, By by, const service::json::object& head) const {
    const std::string message =
        service::base64url(service::json::serialize(head)) + "." + service::base64url(service::json::serialize(claims));
    return message + "." + service::base64url(signature(message, by));
  }

 private:
  using Key = std::unique_ptr<EVP_PKEY, decltype(&EVP_PKEY_free)>;

  static std::string big_endian(const BIGNUM* n, int bytes) {
    std::string text(static_cast<std::size_t>(bytes > 0 ? bytes : BN_num_bytes(n)), '\0');
    BN_bn2binpad(n, reinterpret_cast<unsigned char*>(text.data()), static_cast<int>(text.size()));
    return text;
  }
  static std::string number(const Key& key, const char* name, int bytes) {
    BIGNUM* n = nullptr;
    if (EVP_PKEY_get_bn_param(key.get(), name, &n) != 1) throw std::runtime_error("the key has no such number");
    const std::string text = big_endian(n, bytes);
    BN_free(n);
    return service::base64url(text);
  }
  std::string signature(const std::string& message, By by) const {
    const std::unique_ptr<EVP_MD_CTX, decltype(&EVP_MD_CTX_free)> context(EVP_MD_CTX_new(), EVP_MD_CTX_free);
    const auto* bytes = reinterpret_cast<const unsigned char*>(message.data());
    std::size_t size = 0;
    EVP_DigestSignInit(context.get(), nullptr, EVP_sha256(), nullptr, (by == By::rsa ? rsa_ : ec_).get());
    EVP_DigestSign(context.get(), nullptr, &size, bytes, message.size());
    std::string made(size, '\0');
    if (EVP_DigestSign(context.get(), reinterpret_cast<unsigned char*>(made.data()), &size, bytes, message.size()) != 1)
      throw std::runtime_error("not signed");
    made.resize(size);
    if (by == By::rsa) return made;
    const auto* der = reinterpret_cast<const unsigned char*>(made.data());
    const std::unique_ptr<ECDSA_SIG, decltype(&ECDSA_SIG_free)> both(d2i_ECDSA_SIG(nullptr, &der, static_cast<long>(size)),
                                                                     ECDSA_SIG_free);
    return big_endian(ECDSA_SIG_get0_r(both.get()), 32) + big_endian(ECDSA_SIG_get0_s(both.get()), 32);
  }

  Key rsa_, ec_;
};

}  // namespace hakea::test
