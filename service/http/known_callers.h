// Who showed within this second what was taken, so that who asks often is looked up once a second. What ends meanwhile by
// another process, as a token at the command line, is taken until the second is over.
#pragma once

#include <cstdint>
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
  // What a caller shows: their Authorization header, or the page's cookie.
  struct Shown {
    std::string_view text;
    bool is_cookie = false;
    bool empty() const { return text.empty(); }
  };
  std::optional<Actor> find(const Shown& shown, UtcTime now) const;
  // To be read before the store is asked, and handed to keep(): what ended in between is not kept.
  std::uint64_t endings() const;
  void keep(const Shown& shown, const Actor& actor, UtcTime now, std::uint64_t endings);
  // Who was not taken any more; or everybody, after a token or a session has ended.
  void forget(const Shown& shown);
  void forget();

 private:
  mutable std::mutex lock_;
  UtcTime second_{};
  std::uint64_t endings_ = 0;
  std::map<std::string, Actor, std::less<>> callers_;  // by the hash of what they showed
};

}  // namespace hakea::service
