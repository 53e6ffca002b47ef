// An event as machines get it: CloudEvents 1.0, structured, as JSON. Its `type` has no reverse-DNS name before it, knowingly: the
// software has no domain of its own.
#pragma once

#include <string>
#include <string_view>

#include "service/store/alert_store.h"

namespace hakea::service {

// `origin` is where the service is reached from outside ("https://burns.example"); empty: sources and links are relative.
std::string cloud_event(const EventRow& event, std::string_view origin);

}  // namespace hakea::service
