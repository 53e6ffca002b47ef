// Which network addresses a webhook may be sent to: public ones, and those of networks that the operator allows. Everything else is
// refused (RFC 6890 and its registries): who may enter a URL must not reach into the network that this service stands in.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

struct sockaddr;

namespace hakea::service {

struct NetworkAddress {
  std::array<unsigned char, 16> bytes{};
  bool is_v4 = false;  // in the first four
  bool operator==(const NetworkAddress&) const = default;
};

struct Network {
  NetworkAddress first;
  int bits = 0;
  bool holds(const NetworkAddress& address) const;
  bool operator==(const Network&) const = default;
};

std::optional<NetworkAddress> parse_address(const std::string& text);
std::optional<NetworkAddress> address_of(const sockaddr* socket_address);
std::string address_text(const NetworkAddress& address);
// "10.20.0.0/16", "fd00::/8".
std::optional<Network> parse_network(const std::string& text);

bool is_public(const NetworkAddress& address);
bool may_reach(const NetworkAddress& address, const std::vector<Network>& allowed);

}  // namespace hakea::service
