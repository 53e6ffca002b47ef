// Moving refused files out of a feed's folder, for operators who ask for it with `set_aside` and `keep`.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "core/base/time.h"

namespace hakea::ingest {
struct Feed;
}

namespace hakea::service {

struct SetAside {
  std::vector<std::pair<std::string, std::string>> moved;  // from, to
  std::string trouble;                                     // what could not be done; empty when all went well
};

// Moves the files into the feed's `set_aside` folder, which is made, and drops all but the `keep` newest that were moved
// there before or now: a name there begins with the time of its moving, so nothing else in that folder is touched. Does
// nothing unless the feed gives both settings. A move that is interrupted leaves the file in at least one of the two places.
SetAside set_aside(const ingest::Feed& feed, const std::vector<std::string>& refused, UtcTime now);

}  // namespace hakea::service
