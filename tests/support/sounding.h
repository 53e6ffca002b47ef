// Soundings of tests/cases/soundings: a table with named columns, blank where missing, # for comments. The first row of one
// by pressure is the ground.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "core/air/profile.h"

namespace hakea::test {

using SoundingTable = std::map<std::string, std::vector<double>>;
SoundingTable read_sounding(const std::string& name);

// By pressure: made a column by core's own preparation. By height with theta_v: taken as it is.
core::AirColumn column_of(const SoundingTable& table, bool dry = false);

struct GroundAndLevels {
  core::SurfaceAir surface;
  std::vector<core::Level> levels;
};
GroundAndLevels ground_and_levels(const SoundingTable& table, bool dry = false);

}  // namespace hakea::test
