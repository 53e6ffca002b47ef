#include "service/http/forwarded.h"

#include <arpa/inet.h>

#include <algorithm>

#include "core/base/words.h"

namespace hakea::service {

bool is_ip_address(const std::string& text) {
  in6_addr parsed{};
  return inet_pton(AF_INET, text.c_str(), &parsed) == 1 || inet_pton(AF_INET6, text.c_str(), &parsed) == 1;
}

std::string caller_address(const std::vector<std::string>& proxies, const std::string& peer, std::string_view x_forwarded_for) {
  const auto is_ours = [&](std::string_view address) {
    return std::find(proxies.begin(), proxies.end(), address) != proxies.end();
  };
  if (!is_ours(peer)) return peer;
  const std::vector<std::string_view> named = words(x_forwarded_for, ',');
  for (auto one = named.rbegin(); one != named.rend(); ++one) {
    const std::string address(trimmed(*one));
    if (is_ours(address)) continue;
    return is_ip_address(address) ? address : peer;
  }
  return peer;
}

}  // namespace hakea::service
