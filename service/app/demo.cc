#include "service/app/demo.h"

#include <fmt/format.h>

#include <filesystem>

#include "service/base/log.h"
#include "service/demo/demo_feeds.h"
#include "service/input/built_in_tables.h"
#include "service/input/unit_json.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr std::string_view kClockNote = "demo.clock";

Actor demo_actor() {
  return {.name = "demo", .token_id = {}, .address = {}, .request_id = {}, .role = Role::coordinator, .districts = {}};
}

Change created(EntryKind kind, std::string id, const json::value& body) {
  return {.kind = kind,
          .id = std::move(id),
          .body = json::serialize(body),
          .expected_revision = 0,
          .action = "create",
          .reason = "demo"};
}

// What people would have entered by the demo's start, as the built-in files have it.
Result<std::vector<Change>> first_entries() {
  const auto district = parse_json(built_in_table("demo/district.json"), "demo/district.json");
  if (!district) return district.errors();
  const auto units = parse_json(built_in_table("demo/units.geojson"), "demo/units.geojson");
  if (!units) return units.errors();
  std::vector<Change> changes{created(EntryKind::district, std::string(kDemoDistrict), district->at("district"))};
  for (const json::value& unit : units->at("features").as_array()) add_demo_unit(unit.as_object(), changes);
  for (const auto& [list, kind] : {std::pair("stops", EntryKind::stop), std::pair("bookings", EntryKind::booking)})
    for (const json::value& entry : district->at(list).as_array()) {
      json::object body = entry.as_object();
      const std::string id(body.at("id").as_string());
      body.erase("id");  // the store keeps it
      changes.push_back(created(kind, id, body));
    }
  return changes;
}

Result<bool> set_clock(Store& store, Clock& clock) {
  const auto kept = store.note(kClockNote);
  if (!kept) return kept.errors();
  if (!*kept) {
    clock.set(kDemoStart);
    return true;
  }
  const auto time = parse_instant(**kept);
  if (!time) return time.errors();
  clock.set(*time);
  return true;
}

Result<bool> seed(Store& store, UtcTime now) {
  const auto district = store.entry(EntryKind::district, kDemoDistrict);
  if (!district) return district.errors();
  if (*district) return true;
  const auto changes = first_entries();
  if (!changes) return changes.errors();
  const auto written = store.write(demo_actor(), now, *changes);
  if (!written) return written.errors();
  return true;
}

}  // namespace

void add_demo_unit(json::object unit, std::vector<Change>& changes) {
  const std::string id(unit.at("id").as_string());
  const auto prescriptions = take_prescriptions(unit);
  changes.push_back(created(EntryKind::unit, id, unit));
  for (const auto& [which, prescription] : prescriptions)
    changes.push_back(created(EntryKind::prescription, id + "/" + which, prescription));
}

Service::Settings demo_settings(const std::string& data, int port) {
  const std::string feeds = (std::filesystem::path(data) / "feeds").string();
  Service::Settings settings;
  settings.config.data = data;
  settings.config.server.address = "127.0.0.1";
  settings.config.server.port = port;
  settings.config.api.requests = 60'000;  // of the one machine where it runs: its page and whatever is tried on it
  settings.config.fuels = built_in_fuels();
  settings.config.feeds = demo_feed_configs(feeds);
  settings.is_demo = true;
  settings.prepare = [](Store& store, Clock& clock) -> Result<bool> {
    if (const auto set = set_clock(store, clock); !set) return set.errors();
    return seed(store, clock.now());
  };
  settings.before_look = [feeds](UtcTime now) {
    // Runs that are there already are left alone.
    if (const auto written = write_demo_runs_due(feeds, UtcTime{}, now); !written)
      log_errors("the demo's feeds", written.errors());
  };
  settings.keep_time = [](Store& store, UtcTime now) { return store.set_note(kClockNote, utc_text(now)); };
  return settings;
}

}  // namespace hakea::service
