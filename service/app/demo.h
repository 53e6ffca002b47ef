// The demo (INTERFACE §6): a fictional district with its own weather and its own clock, seeded into an empty store.
#pragma once

#include <string>
#include <vector>

#include "service/app/service.h"
#include "service/input/json.h"

namespace hakea::service {

inline constexpr std::string_view kDemoDistrict = "tallowmere";

// The service of the demo on a data folder: listens on 127.0.0.1, begins at the demo's start or goes on where it was kept,
// and writes the runs of its own feeds as they fall due. Port 0: any free one.
Service::Settings demo_settings(const std::string& data, int port);

// Adds what enters a unit of the demo's file: it stands without its prescriptions, which are entries of their own.
void add_demo_unit(json::object unit, std::vector<Change>& changes);

}  // namespace hakea::service
