// What lists of several resources can be narrowed by.
#pragma once

#include <optional>
#include <string>

#include "service/http/call.h"

namespace hakea::service {

// What bookings, stops, observations and outcomes are narrowed by: ?district= and ?updated_since=.
class EntryFilter {
 public:
  EntryFilter(const Call& call, Errors& mistakes);
  bool takes(const Entry& entry, const json::value& body) const;

 private:
  const Call& call_;
  std::optional<std::string> district_;
  std::optional<UtcTime> since_;
};

// Whether something is of a district: by its unit, or by the scope of a stop.
bool is_of_district(const Snapshot& picture, const json::value& body, std::string_view district);

}  // namespace hakea::service
