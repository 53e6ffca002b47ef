// A request as a caller on the service's own machine makes it, without a socket.
#pragma once

#include <string>

#include "service/http/message.h"
#include "service/http/target.h"
#include "tests/support/must.h"

namespace hakea::test {

inline service::Request local_request(const std::string& method, const std::string& target, const std::string& body = {}) {
  const service::Target parsed = must(service::parse_target(target));
  service::Request request;
  request.method = method;
  request.path = parsed.path;
  request.query = parsed.query;
  request.body = body;
  request.address = "127.0.0.1";
  request.is_loopback = true;
  return request;
}

}  // namespace hakea::test
