// How much of a run the prescriptions of units ask for: what nobody asks is neither read nor computed.
#pragma once

#include <span>

#include "core/air/air_hour.h"
#include "ingest/run/forecast_run.h"
#include "service/input/unit_json.h"

namespace hakea::service {

struct AskedOfRun {
  core::AirDepth depth = core::AirDepth::all;
  ingest::LeftOut left_out{};
};

// For the days of units. Where the run `is_alone` no other would speak in its place where it lacks something, so that it need
// not be known whether it lacks what nobody asks for.
AskedOfRun asked_of_run(std::span<const Unit> units, bool is_alone);

}  // namespace hakea::service
