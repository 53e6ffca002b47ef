// The configuration of the service (TOML): where it keeps its data and listens, which tables replace the built-in ones, and
// the feeds.
#pragma once

#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include "core/alert/route.h"
#include "ingest/feed.h"
#include "service/access/settings.h"
#include "service/deliver/settings.h"
#include "service/http/api_settings.h"
#include "service/http/server.h"
#include "service/input/fuel_table.h"
#include "service/input/ventilation_table.h"

namespace hakea::service {

inline ServerSettings admin_defaults() {
  ServerSettings settings;
  settings.port = 9464;
  settings.connections = 32;  // so that descriptors are left for callers
  return settings;
}

struct Config {
  std::string data = "/var/lib/hakea";  // folder of the databases
  ServerSettings server;
  ServerSettings admin = admin_defaults();  // where health and metrics are asked for
  AccessSettings access;
  core::RouteRules alerts;
  DeliverSettings deliver;
  ApiSettings api;
  std::string tables;  // folder of tables, empty for the built-in ones
  FuelTable fuels;
  VentilationTables ventilation = built_in_ventilation();
  std::vector<std::string> history;  // weather tables of past years, from which units have their history
  std::string judged_by;             // a hash of all that days rest on: feeds, tables, past years
  std::vector<ingest::Feed> feeds;   // in the order of the file, which is the order of preference

  // Null where there is none.
  const ingest::Feed* feed(std::string_view id) const {
    const auto found = std::find_if(feeds.begin(), feeds.end(), [&](const ingest::Feed& one) { return one.id == id; });
    return found == feeds.end() ? nullptr : &*found;
  }
  // Where one of the feeds stands among them.
  std::size_t order_of(const ingest::Feed& one) const { return static_cast<std::size_t>(&one - feeds.data()); }
};

// All mistakes of the configuration and of the tables it names; unknown keys are refused with the nearest known one.
// A relative folder stands beside the configuration.
Result<Config> read_config(const std::string& path);

}  // namespace hakea::service
