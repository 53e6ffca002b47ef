// Who showed within this second what was taken, so that who asks often is looked up once a second. What ends meanwhile by
// another process, as a token at the command line, is taken until the second is over.
#pragma once

#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>

#include "core/base/time.h"
#include "service/access/actor.h"

namespace hakea::service {

class KnownCallers {
 public:
  std::optional<Actor> find(std::string_view shown, UtcTime now) const;
  void keep(std::string_view shown, const Actor& actor, UtcTime now);
  // Who was not taken any more; or everybody, after a token or a session has ended.
  void forget(std::string_view shown);
  void forget();

 private:
  mutable std::mutex lock_;
  UtcTime second_{};
  std::map<std::string, Actor, std::less<>> callers_;  // by the hash of what they showed
};

}  // namespace hakea::service
