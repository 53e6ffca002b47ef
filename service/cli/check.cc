// `hakea check`: is a configuration right, and which tables are in use?
#include <fmt/format.h>

#include "service/cli/arguments.h"
#include "service/cli/commands.h"
#include "service/input/config.h"
#include "service/input/weather_tables.h"

namespace hakea::service {

int run_check(const Arguments& call) {
  if (!call.has("--config")) return refused({wrong_call("", "check needs --config FILE", "give the configuration to check")});
  const std::string path = call.one("--config");
  const auto config = read_config(path);
  if (!config) return refused(config.errors());
  const ReadWeatherTables past = read_weather_tables(config->history);
  complain(past.remarks);
  if (!past.mistakes.empty()) return refused(past.mistakes);
  fmt::print("{}: no mistake found\n", path);
  fmt::print("data: {}\nlistens on {} port {}\n", config->data, config->server.address, config->server.port);
  fmt::print("health and metrics at {} port {}\n", config->admin.address, config->admin.port);
  fmt::print("fuel types: {}, {} of them\n", config->fuels.read_from, config->fuels.by_type.size());
  fmt::print("ventilation tables: {}, {} of them\n", config->ventilation.read_from, config->ventilation.tables.size());
  for (const std::string& file : config->history) fmt::print("past years: {}\n", file);
  for (const ingest::Feed& feed : config->feeds) {
    fmt::print("feed {}: {}{}{}", feed.id, feed.path.empty() ? "no path" : feed.path, feed.pattern.empty() ? "" : "/",
               feed.pattern);
    if (feed.hours) fmt::print(", hours {} to {} by {}", feed.hours->first, feed.hours->last, feed.hours->step);
    fmt::print("\n");
  }
  if (config->feeds.empty()) fmt::print("no feed\n");
  return kDone;
}

}  // namespace hakea::service
