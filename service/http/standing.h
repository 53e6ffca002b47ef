// What every answer about units carries: the run it rests on, how fresh that is, and the caution.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "service/engine/snapshot.h"
#include "service/http/call.h"

namespace hakea::service {

// Of a district, or of all where it is null: forecast guidance only, check bans, how old the forecast is and what a met
// window does not mean, and the district's own lines.
std::string caution_text(const Snapshot& picture, const DistrictView* district, const std::optional<RunNote>& run,
                         Freshness freshness, UtcTime now);

// Of one unit or several: the newest run, the worst freshness.
struct StandingNote {
  std::optional<RunNote> run;
  Freshness freshness = Freshness::stale;
  std::string caution;
};
StandingNote standing_note(const Snapshot& picture, const std::vector<const UnitView*>& units, UtcTime now);
// {"run":…,"freshness":…,"caution":…}
std::string standing_json(const Snapshot& picture, const std::vector<const UnitView*>& units, UtcTime now);

// A run of a feed as it is told of: of the newest also when the next is expected.
RunNote run_note(const RunRow& run, const FeedView& feed);
// The same members for what rests on one run of one feed; a run that a newer one has replaced is stale.
std::string standing_json(const Snapshot& picture, const DistrictView* district, const RunRow& run, const FeedView& feed,
                          UtcTime now);
// The newest run that days of the units rest on.
std::optional<RunNote> newest_run(const std::vector<const UnitView*>& units);

// An object about units as it is answered: with what answers about units carry, Last-Modified when their forecast was computed,
// and with ?tz=unit in local time.
Response answer_about(const Call& call, const Snapshot& picture, const std::vector<const UnitView*>& units,
                      const std::string& object, int status = 200);
inline Response answer_about(const Call& call, const std::vector<const UnitView*>& units, const std::string& object) {
  return answer_about(call, *call.picture, units, object);
}

// JSON with every instant of UTC written with the offset that the units' zones have at that instant, each its own (a day may
// have two). Where the zones differ it stays UTC.
std::string in_local_time(const std::string& json, const std::vector<const UnitView*>& units);

}  // namespace hakea::service
