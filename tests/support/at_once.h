// Columns for Store::put_series() that stand in memory.
#pragma once

#include <utility>
#include <vector>

#include "service/store/store.h"

namespace hakea::test {

inline service::Store::NextBlobs at_once(std::vector<service::SeriesBlob> blobs) {
  return [rest = std::move(blobs)]() mutable -> Result<std::vector<service::SeriesBlob>> { return std::exchange(rest, {}); };
}

}  // namespace hakea::test
