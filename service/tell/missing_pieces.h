// What the forecast lacks, in words: incomplete and refused runs newer than what is used, feeds that cannot be read.
#pragma once

#include <string>
#include <vector>

#include "service/engine/snapshot.h"

namespace hakea::service {

std::vector<std::string> missing_pieces(const Snapshot& snapshot, const TimeZone& zone);

}  // namespace hakea::service
