// The HTTP/1.1 listener. Handlers see message.h only.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "core/base/result.h"
#include "service/http/message.h"

namespace hakea::service {

struct ServerSettings {
  std::string address = "127.0.0.1";
  int port = 8080;  // 0: any free one
  std::size_t header_bytes = 16 * 1024;
  std::size_t body_bytes = 2 * 1024 * 1024;
  std::size_t body_bytes_together = 64 * 1024 * 1024;  // of all bodies on their way; small ones do not count
  int seconds_for_request = 15, seconds_idle = 60;
  int connections = 4096;  // fewer where descriptors do not allow so many
  int connections_per_address = 64;
  std::vector<std::string> proxies{};  // addresses that say for whom they call, in X-Forwarded-For; they may have all connections
  bool operator==(const ServerSettings&) const = default;
};

// Called on one worker thread for GET and HEAD, on another for everything else, so that a write does not hold up reads, and
// on a third for whatever takes so long that it would hold up both.
using Respond = std::function<Response(const Request&)>;
using TakesLong = std::function<bool(const Request&)>;
// Called first, on the thread that does all input and output: an answer that is at hand, nothing where anything has to be
// waited for or worked out.
using AtOnce = std::function<std::optional<Response>(const Request&)>;

struct Handlers {
  Respond respond;
  TakesLong takes_long{};  // empty: nothing does
  AtOnce at_once{};        // empty: nothing is at hand
};

class Server {
 public:
  // Listens when it returns. Errors: `address_in_use`, `cannot_listen`.
  static Result<std::unique_ptr<Server>> start(const ServerSettings& settings, Handlers handlers);
  virtual ~Server() = default;
  virtual int port() const = 0;
  // Rises every second while input and output go on; for health checks.
  virtual std::uint64_t heartbeat() const = 0;
  virtual int streams() const = 0;  // answers that go on and are open
  // Stops accepting, lets requests at hand finish for at most `seconds`, closes.
  virtual void stop(int seconds) = 0;
};

}  // namespace hakea::service
