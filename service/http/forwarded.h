// Who calls where a proxy of ours hands a request on.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace hakea::service {

bool is_ip_address(const std::string& text);

// The address of a caller. What X-Forwarded-For says is believed of a peer that is one of `proxies` and of nobody else: anybody
// can write it. Each proxy adds whom it was called by at the end, so the last that is no proxy of ours is meant; the peer itself
// where that is no address.
std::string caller_address(const std::vector<std::string>& proxies, const std::string& peer, std::string_view x_forwarded_for);

}  // namespace hakea::service
