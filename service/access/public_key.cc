#include "service/access/public_key.h"

#include <openssl/bn.h>
#include <openssl/core_names.h>
#include <openssl/ecdsa.h>
#include <openssl/evp.h>
#include <openssl/param_build.h>

namespace hakea::service {
namespace {

constexpr std::size_t kP256Bytes = 32;
constexpr int kFewestRsaBits = 2048;

template <auto Free>
struct FreedBy {
  template <class T>
  void operator()(T* held) const {
    Free(held);
  }
};
using Number = std::unique_ptr<BIGNUM, FreedBy<BN_free>>;
using Builder = std::unique_ptr<OSSL_PARAM_BLD, FreedBy<OSSL_PARAM_BLD_free>>;
using Params = std::unique_ptr<OSSL_PARAM, FreedBy<OSSL_PARAM_free>>;
using KeyContext = std::unique_ptr<EVP_PKEY_CTX, FreedBy<EVP_PKEY_CTX_free>>;
using DigestContext = std::unique_ptr<EVP_MD_CTX, FreedBy<EVP_MD_CTX_free>>;
using EcdsaSignature = std::unique_ptr<ECDSA_SIG, FreedBy<ECDSA_SIG_free>>;

const unsigned char* bytes(std::string_view text) { return reinterpret_cast<const unsigned char*>(text.data()); }

Number number(std::string_view big_endian) {
  return Number(BN_bin2bn(bytes(big_endian), static_cast<int>(big_endian.size()), nullptr));
}

std::shared_ptr<void> key_from(const char* kind, const Builder& builder) {
  const Params params(OSSL_PARAM_BLD_to_param(builder.get()));
  const KeyContext context(EVP_PKEY_CTX_new_from_name(nullptr, kind, nullptr));
  EVP_PKEY* key = nullptr;
  if (!params || !context || EVP_PKEY_fromdata_init(context.get()) != 1 ||
      EVP_PKEY_fromdata(context.get(), &key, EVP_PKEY_PUBLIC_KEY, params.get()) != 1)
    return nullptr;
  std::shared_ptr<void> held(key, [](void* k) { EVP_PKEY_free(static_cast<EVP_PKEY*>(k)); });
  const KeyContext check(EVP_PKEY_CTX_new_from_pkey(nullptr, key, nullptr));
  return check && EVP_PKEY_public_check(check.get()) == 1 ? held : nullptr;
}

// RFC 7518 §3.4 puts the two numbers side by side; OpenSSL wants them in DER. Empty for another length.
std::string der_of(std::string_view signature) {
  if (signature.size() != 2 * kP256Bytes) return {};
  const EcdsaSignature both(ECDSA_SIG_new());
  Number r = number(signature.substr(0, kP256Bytes)), s = number(signature.substr(kP256Bytes));
  if (!both || !r || !s || ECDSA_SIG_set0(both.get(), r.get(), s.get()) != 1) return {};
  (void)r.release();  // theirs now
  (void)s.release();
  unsigned char* der = nullptr;
  const int size = i2d_ECDSA_SIG(both.get(), &der);
  const std::string text = size > 0 ? std::string(reinterpret_cast<char*>(der), static_cast<std::size_t>(size)) : "";
  OPENSSL_free(der);
  return text;
}

}  // namespace

std::optional<PublicKey::Algorithm> PublicKey::algorithm_of(std::string_view word) {
  if (word == "RS256") return Algorithm::rs256;
  if (word == "ES256") return Algorithm::es256;
  return std::nullopt;
}

std::optional<PublicKey> PublicKey::rsa(std::string_view modulus, std::string_view exponent) {
  const Number n = number(modulus), e = number(exponent);
  const Builder builder(OSSL_PARAM_BLD_new());
  if (!n || !e || !builder || BN_num_bits(n.get()) < kFewestRsaBits ||
      OSSL_PARAM_BLD_push_BN(builder.get(), OSSL_PKEY_PARAM_RSA_N, n.get()) != 1 ||
      OSSL_PARAM_BLD_push_BN(builder.get(), OSSL_PKEY_PARAM_RSA_E, e.get()) != 1)
    return std::nullopt;
  auto key = key_from("RSA", builder);
  if (!key) return std::nullopt;
  return PublicKey(Algorithm::rs256, std::move(key));
}

std::optional<PublicKey> PublicKey::p256(std::string_view x, std::string_view y) {
  if (x.size() != kP256Bytes || y.size() != kP256Bytes) return std::nullopt;
  const std::string point = "\x04" + std::string(x) + std::string(y);  // uncompressed (SEC 1 §2.3.3)
  const Builder builder(OSSL_PARAM_BLD_new());
  if (!builder || OSSL_PARAM_BLD_push_utf8_string(builder.get(), OSSL_PKEY_PARAM_GROUP_NAME, "prime256v1", 0) != 1 ||
      OSSL_PARAM_BLD_push_octet_string(builder.get(), OSSL_PKEY_PARAM_PUB_KEY, point.data(), point.size()) != 1)
    return std::nullopt;
  auto key = key_from("EC", builder);
  if (!key) return std::nullopt;
  return PublicKey(Algorithm::es256, std::move(key));
}

bool PublicKey::verifies(std::string_view message, std::string_view signature) const {
  const std::string given = algorithm_ == Algorithm::es256 ? der_of(signature) : std::string(signature);
  const DigestContext context(EVP_MD_CTX_new());
  return !given.empty() && context &&
         EVP_DigestVerifyInit(context.get(), nullptr, EVP_sha256(), nullptr, static_cast<EVP_PKEY*>(key_.get())) == 1 &&
         EVP_DigestVerify(context.get(), bytes(given), given.size(), bytes(message), message.size()) == 1;
}

}  // namespace hakea::service
