// Reading one run for all units: its columns at their points, whether it is complete, and what is to be told about it.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "service/engine/arrivals.h"
#include "service/engine/reading_share.h"
#include "service/engine/weather_record.h"

namespace hakea::service {

struct ReadRun {
  std::map<std::string, UnitRunPtr, std::less<>> units;  // by unit id
  std::vector<std::string> lacks;  // what makes it incomplete, a plain phrase each; empty for a complete run
  bool may_lack_less = false;      // a file could not be read for want of something that may be there another time
  std::string details;             // JSON for RunRow: files, refusals, lacks, quality
};

// In the reader child. `units` may be empty: then only completeness is found. A run of more than `held` series is put on the
// shelf, block by block of the units. Errors: no file of it could be read; those of the shelf.
Result<ReadRun> read_run_for(const ingest::Feed& feed, const ArrivedRun& run, const std::vector<const Unit*>& units,
                             SeriesShelf& shelf, std::size_t held = kSeriesHeld, const TellShare& tell = {});

}  // namespace hakea::service
