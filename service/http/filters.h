// What lists of several resources can be narrowed by.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "service/http/call.h"

namespace hakea::service {

// A mistake where ?from= is after ?to=: between them is nothing, which must not read as "there is nothing".
void refuse_reversed(bool is_reversed, Errors& mistakes);

// What ?from= and ?to= are held against: member "date" as dates, both included, or "at" as instants, the last left out.
enum class AskedBy : std::uint8_t { date, instant };

// What bookings, stops, observations and outcomes are narrowed by: ?district= and ?updated_since=; and by ?from= and ?to=, and
// the parameters named `members`, which must be as the entry's own.
class EntryFilter {
 public:
  EntryFilter(const Call& call, Errors& mistakes);
  EntryFilter(const Call& call, AskedBy by, std::vector<std::string_view> members, Errors& mistakes);
  bool operator()(const Entry& entry, const json::value& body) const;

 private:
  bool is_within(const json::value& body) const;

  const Call& call_;
  std::optional<std::string> district_;
  std::optional<UtcTime> since_;
  AskedBy by_ = AskedBy::date;
  std::vector<std::string_view> members_;
  std::optional<UtcTime> from_, to_;  // a date as its midnight would be in UTC
};

}  // namespace hakea::service
