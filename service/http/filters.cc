#include "service/http/filters.h"

#include <algorithm>

#include "service/http/entries.h"

namespace hakea::service {
namespace {

std::optional<UtcTime> time_of_date(const std::optional<LocalDate>& date) {
  return date ? std::optional(UtcTime(date->time_since_epoch())) : std::nullopt;
}

}  // namespace

EntryFilter::EntryFilter(const Call& call, Errors& mistakes)
    : call_(call), district_(call.query("district")), since_(query_instant(call, "updated_since", mistakes)) {}

EntryFilter::EntryFilter(const Call& call, AskedBy by, std::vector<std::string_view> members, Errors& mistakes)
    : EntryFilter(call, mistakes) {
  by_ = by;
  members_ = std::move(members);
  const auto bound = [&](std::string_view name) {
    return by == AskedBy::date ? time_of_date(query_date(call, name, mistakes)) : query_instant(call, name, mistakes);
  };
  from_ = bound("from");
  to_ = bound("to");
  refuse_reversed(from_ && to_ && *from_ > *to_, mistakes);
}

void refuse_reversed(bool is_reversed, Errors& mistakes) {
  if (is_reversed) mistakes.push_back({ErrorKind::invalid, "reversed", "?from", "from is after to", "put the earlier one first"});
}

bool EntryFilter::is_within(const json::value& body) const {
  if (!from_ && !to_) return true;
  std::optional<UtcTime> at;
  if (by_ == AskedBy::date)
    at = time_of_date(parse_date(text_member(body, "date")));
  else if (const auto instant = parse_instant(text_member(body, "at")))
    at = *instant;
  return at && (!from_ || *at >= *from_) && (!to_ || *at < *to_ || (by_ == AskedBy::date && *at == *to_));
}

bool EntryFilter::operator()(const Entry& entry, const json::value& body) const {
  const auto is_as_asked = [&](std::string_view name) {
    const auto wanted = call_.query(name);
    return !wanted || text_member(body, name) == *wanted;
  };
  return (!since_ || entry.at >= *since_) && (!district_ || is_of_district(*call_.picture, body, *district_)) &&
         std::all_of(members_.begin(), members_.end(), is_as_asked) && is_within(body);
}

}  // namespace hakea::service
