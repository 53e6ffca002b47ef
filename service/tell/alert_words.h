// An event in words: the title in one sentence, why with value and limit, what would clear it, and the numbers, as JSON.
#pragma once

#include <string>
#include <vector>

#include "core/alert/facts.h"
#include "service/engine/snapshot.h"
#include "service/input/json.h"
#include "service/store/alert_store.h"
#include "service/tell/digest.h"

namespace hakea::service {

// Of all but a morning's digest; and of that.
EventRow event_row(const core::AlertEvent& event, const Snapshot& snapshot);
EventRow digest_row(const core::AlertEvent& event, const Digest& digest, bool is_demo);
// Why, read back from the data of an event.
std::vector<std::string> whys_of(const json::value& data);
// Where the page shows a unit, on a date if one is given.
std::string page_of_unit(std::string_view origin, std::string_view unit, std::string_view date = {});

// A test of a subscription, and that one cannot be reached; `about` is its id.
EventRow test_event(const std::string& about, const std::string& owner, UtcTime now);
EventRow failing_event(const std::string& about, const std::string& owner, const std::string& failure, UtcTime now);

}  // namespace hakea::service
