// The configuration of the service (TOML): which tables replace the built-in ones, and the feeds.
#pragma once

#include <string>
#include <vector>

#include "ingest/feed.h"
#include "service/input/fuel_table.h"

namespace hakea::service {

struct Config {
  std::string tables;  // folder of tables, empty for the built-in ones
  FuelTable fuels;
  std::vector<ingest::Feed> feeds;  // by id
};

// All mistakes of the configuration and of the tables it names; unknown keys are refused with the nearest known one.
Result<Config> read_config(const std::string& path);

}  // namespace hakea::service
