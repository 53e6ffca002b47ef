// The public keys of an identity provider (JWKS, RFC 7517), kept and read again when a token names one that is not among them,
// at most once a minute; and every hour, so that a key that was withdrawn stops counting. Whoever finds that it is time reads
// them; the others go on with those that are known, so that a provider that hangs stalls one request and no more.
#pragma once

#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/result.h"
#include "core/base/time.h"
#include "service/access/public_key.h"

namespace hakea::service {

// The keys of a set that sign by an algorithm we take; others are left aside. Errors: `not_json`, `no_keys`.
struct NamedKey {
  std::string id;  // `kid`, may be empty
  PublicKey key;
};
Result<std::vector<NamedKey>> parse_keys(std::string_view jwks, const std::string& name_for_messages);

class KeySet {
 public:
  using Read = std::function<Result<std::string>()>;
  KeySet(std::string name, Read read) : name_(std::move(name)), read_(std::move(read)) {}

  // The key of an id; for an empty id the only one of the algorithm. May be called from several threads. Errors: `unknown_key`;
  // `keys_unavailable` where the set could not be read, or is being read.
  Result<PublicKey> find(std::string_view id, PublicKey::Algorithm algorithm, UtcTime now);

 private:
  const PublicKey* among_known(std::string_view id, PublicKey::Algorithm algorithm) const;
  Result<std::vector<NamedKey>> read() const;

  const std::string name_;
  const Read read_;
  std::mutex lock_;
  std::vector<NamedKey> keys_;
  std::optional<UtcTime> tried_at_, read_at_;
  bool is_being_read_ = false;
  Errors failure_;  // of the last reading
};

}  // namespace hakea::service
