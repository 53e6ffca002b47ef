#include "service/tell/missing_pieces.h"

#include <fmt/format.h>

#include "service/input/json.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

// What a run lacks, as the engine noted it: "hours 31-34 of everything".
std::vector<std::string> lacks_of(const RunRow& run) {
  std::vector<std::string> lacks;
  const auto document = parse_json(run.details, run.id);
  const json::object* details = document ? document->if_object() : nullptr;
  const json::value* noted = details ? details->if_contains("lacks") : nullptr;
  if (const json::array* list = noted ? noted->if_array() : nullptr)
    for (const json::value& lack : *list)
      if (lack.is_string()) lacks.emplace_back(lack.as_string());
  return lacks;
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
      const std::vector<std::string> lacks = lacks_of(run);
      const std::string what = run.state == "refused" ? "was refused"
                               : lacks.empty()        ? "is incomplete"
                                                      : "lacks " + listed(lacks);
      pieces.push_back(fmt::format("the {} run of {} {} and is not used", feed.id, spoken_time(run.reference_time, zone), what));
    }
    if (feed.freshness == Freshness::late) pieces.push_back(fmt::format("the next run of {} is late", feed.id));
  }
  return pieces;
}

}  // namespace hakea::service
