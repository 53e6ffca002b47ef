#include "service/deliver/address_guard.h"

#include <arpa/inet.h>
#include <sys/socket.h>

#include <algorithm>
#include <cstring>

#include "service/input/json.h"

namespace hakea::service {
namespace {

// Addresses that are no public host: IANA's special-purpose registries, with multicast and what is reserved.
constexpr std::array<const char*, 15> kNotPublic4{
    "0.0.0.0/8",      "10.0.0.0/8",      "100.64.0.0/10",  "127.0.0.0/8",   "169.254.0.0/16", "172.16.0.0/12",
    "192.0.0.0/24",   "192.0.2.0/24",    "192.88.99.0/24", "192.168.0.0/16", "198.18.0.0/15", "198.51.100.0/24",
    "203.0.113.0/24", "224.0.0.0/4",     "240.0.0.0/4"};
// Of IPv6 only 2000::/3 is public; in it, what carries other addresses, or is for documents and trials.
constexpr std::array<const char*, 4> kNotPublic6{"2001::/23", "2001:db8::/32", "2002::/16", "3fff::/20"};

const std::vector<Network>& not_public() {
  static const std::vector<Network> kAll = [] {
    std::vector<Network> all;
    for (const char* text : kNotPublic4) all.push_back(parse_network(text).value());
    for (const char* text : kNotPublic6) all.push_back(parse_network(text).value());
    return all;
  }();
  return kAll;
}

bool is_in(const NetworkAddress& address, const std::vector<Network>& networks) {
  return std::any_of(networks.begin(), networks.end(), [&](const Network& network) { return network.holds(address); });
}

}  // namespace

bool Network::holds(const NetworkAddress& address) const {
  if (address.is_v4 != first.is_v4) return false;
  for (int bit = 0; bit < bits; ++bit) {
    const auto byte = static_cast<std::size_t>(bit / 8);
    const int mask = 0x80 >> (bit % 8);
    if ((address.bytes[byte] & mask) != (first.bytes[byte] & mask)) return false;
  }
  return true;
}

std::optional<NetworkAddress> parse_address(const std::string& text) {
  NetworkAddress address;
  if (inet_pton(AF_INET, text.c_str(), address.bytes.data()) == 1) {
    address.is_v4 = true;
    return address;
  }
  if (inet_pton(AF_INET6, text.c_str(), address.bytes.data()) == 1) return address;
  return std::nullopt;
}

std::optional<NetworkAddress> address_of(const sockaddr* socket_address) {
  NetworkAddress address;
  if (socket_address->sa_family == AF_INET) {
    sockaddr_in in{};
    std::memcpy(&in, socket_address, sizeof in);
    std::memcpy(address.bytes.data(), &in.sin_addr, 4);
    address.is_v4 = true;
    return address;
  }
  if (socket_address->sa_family == AF_INET6) {
    sockaddr_in6 in{};
    std::memcpy(&in, socket_address, sizeof in);
    std::memcpy(address.bytes.data(), &in.sin6_addr, 16);
    return address;
  }
  return std::nullopt;
}

std::string address_text(const NetworkAddress& address) {
  std::array<char, INET6_ADDRSTRLEN> text{};
  inet_ntop(address.is_v4 ? AF_INET : AF_INET6, address.bytes.data(), text.data(), text.size());
  return text.data();
}

std::optional<Network> parse_network(const std::string& text) {
  const std::size_t slash = text.find('/');
  const auto first = parse_address(text.substr(0, slash));
  if (!first || slash == std::string::npos) return std::nullopt;
  const auto bits = parse_whole_number(text.substr(slash + 1), 0, first->is_v4 ? 32 : 128);
  if (!bits) return std::nullopt;
  return Network{*first, *bits};
}

bool is_public(const NetworkAddress& address) {
  if (!address.is_v4 && (address.bytes[0] & 0xe0) != 0x20) return false;
  return !is_in(address, not_public());
}

bool may_reach(const NetworkAddress& address, const std::vector<Network>& allowed) {
  return is_public(address) || is_in(address, allowed);
}

}  // namespace hakea::service
