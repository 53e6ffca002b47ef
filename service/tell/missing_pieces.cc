#include "service/tell/missing_pieces.h"

#include <fmt/format.h>

#include <algorithm>

#include "service/input/json.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

// Lead hours as ranges: "31 to 34 and 40".
std::string hours_words(std::vector<int> hours) {
  std::sort(hours.begin(), hours.end());
  std::vector<std::string> ranges;
  for (std::size_t i = 0; i < hours.size();) {
    std::size_t end = i + 1;
    while (end < hours.size() && hours[end] <= hours[end - 1] + 1) ++end;
    ranges.push_back(hours[i] == hours[end - 1] ? std::to_string(hours[i]) : fmt::format("{} to {}", hours[i], hours[end - 1]));
    i = end;
  }
  return listed(ranges);
}

// Which lead hours a run lacks, from what the engine noted of it.
std::vector<int> missing_hours(const RunRow& run) {
  std::vector<int> hours;
  const auto document = parse_json(run.details, run.id);
  const json::object* details = document ? document->if_object() : nullptr;
  const json::value* missing = details ? details->if_contains("missing_hours") : nullptr;
  if (const json::array* list = missing ? missing->if_array() : nullptr)
    for (const json::value& hour : *list)
      if (hour.is_number()) hours.push_back(hour.to_number<int>());
  return hours;
}

}  // namespace

std::vector<std::string> missing_pieces(const Snapshot& snapshot, const TimeZone& zone) {
  std::vector<std::string> pieces;
  for (const FeedView& feed : snapshot.feeds) {
    if (!feed.trouble.empty()) pieces.push_back(fmt::format("feed {} cannot be read ({})", feed.id, feed.trouble));
    if (!feed.newest_complete) pieces.push_back(fmt::format("no complete run of {}", feed.id));
    for (const RunRow& run : feed.runs) {
      if (run.is_published || run.state == "complete") continue;
      if (feed.newest_complete && run.reference_time <= feed.newest_complete->reference_time) continue;
      const std::vector<int> hours = missing_hours(run);
      const std::string what = run.state == "refused" ? "was refused"
                               : hours.empty()        ? "is incomplete"
                                                      : fmt::format("lacks lead hours {}", hours_words(hours));
      pieces.push_back(fmt::format("the {} run of {} {} and is not used", feed.id, spoken_time(run.reference_time, zone), what));
    }
    if (feed.freshness == Freshness::late) pieces.push_back(fmt::format("the next run of {} is late", feed.id));
  }
  return pieces;
}

}  // namespace hakea::service
