// What was told before, as the store keeps it: a text for each window, booking, feed and listener, so that a look writes what it
// changed and no more.
#pragma once

#include <map>
#include <optional>
#include <string>

#include "core/alert/route.h"
#include "core/alert/watch.h"

namespace hakea::service {

struct AlertMemory {
  core::WatchMemory watched;
  core::RouteMemory routed;
};

using MemoryTexts = std::map<std::string, std::string>;
MemoryTexts memory_texts(const AlertMemory& memory);
// What cannot be read is left out, as if it had never been told.
AlertMemory read_memory(const MemoryTexts& texts);

// What differs: the new text, or none where there is none any more.
std::map<std::string, std::optional<std::string>> changed(const MemoryTexts& before, const MemoryTexts& after);

}  // namespace hakea::service
