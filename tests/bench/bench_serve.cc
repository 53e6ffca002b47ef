// The demo's service for a load generator, without a limit on how often one caller may ask: what tests/bench/serve.py and
// paint.mjs measure.
//
//   bench_serve DATA_FOLDER [UNITS]     prints its port and serves until SIGTERM; the demo's units stand in it again and again
//                                       until there are so many
#include <fmt/format.h>

#include <charconv>
#include <cstdio>
#include <string>
#include <utility>
#include <vector>

#include "ingest/arrival/reader_process.h"
#include "service/app/demo.h"
#include "service/app/service.h"
#include "service/base/log.h"
#include "service/engine/plan_solver.h"
#include "service/input/built_in_tables.h"
#include "service/input/json.h"

namespace {

using namespace hakea::service;

// The demo's units under other names until there are `wanted` of them.
hakea::Result<bool> add_units(Store& store, hakea::UtcTime now, std::size_t wanted) {
  const auto parsed = parse_json(built_in_table("demo/units.geojson"), "demo/units.geojson");
  if (!parsed) return parsed.errors();
  const json::array& units = parsed->at("features").as_array();
  std::vector<Change> changes;
  for (std::size_t i = units.size(); i < wanted; ++i) {
    json::object unit = units[i % units.size()].as_object();
    const std::string id = fmt::format("{}-{}", std::string(unit.at("id").as_string()), i / units.size() + 1);
    const auto standing = store.entry(EntryKind::unit, id);
    if (!standing) return standing.errors();
    if (*standing) continue;
    unit["id"] = id;
    json::object& properties = unit.at("properties").as_object();
    properties["name"] = fmt::format("{} {}", std::string(properties.at("name").as_string()), i / units.size() + 1);
    add_demo_unit(std::move(unit), changes);
  }
  if (changes.empty()) return true;
  Actor actor;
  actor.name = "benchmark";
  actor.role = Role::coordinator;
  const auto written = store.write(actor, now, changes);
  if (!written) return written.errors();
  return true;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string word = argc > 1 ? argv[1] : "";
  if (word == "read-run") return hakea::ingest::reader_main();
  if (word == kSolverCommand) return solver_main();
  const std::string count = argc == 3 ? argv[2] : "0";
  std::size_t wanted = 0;
  if (argc < 2 || argc > 3 || std::from_chars(count.data(), count.data() + count.size(), wanted).ec != std::errc()) {
    fmt::print(stderr, "bench_serve DATA_FOLDER [UNITS]\n");
    return 2;
  }
  take_signals();
  Service::Settings settings = demo_settings(word, 0);
  settings.config.api.requests = 0;
  settings.config.server.connections_per_address = settings.config.server.connections;
  settings.prepare = [seed = settings.prepare, wanted](Store& store, Clock& clock) -> hakea::Result<bool> {
    const auto seeded = seed(store, clock);
    return seeded ? add_units(store, clock.now(), wanted) : seeded;
  };
  auto service = Service::start(std::move(settings));
  if (!service) {
    log_errors("bench_serve", service.errors());
    return 1;
  }
  const auto served = (*service)->serve([](int port) {
    fmt::print("{}\n", port);
    std::fflush(stdout);
  });
  if (!served) log_errors("bench_serve", served.errors());
  return served ? 0 : 1;
}
