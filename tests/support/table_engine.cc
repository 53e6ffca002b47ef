#include "tests/support/table_engine.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <stdexcept>

#include "core/catalogue/catalogue.h"
#include "service/engine/assessment.h"
#include "service/engine/judge.h"
#include "service/engine/people.h"
#include "service/engine/weather_record.h"
#include "service/input/zones.h"
#include "service/output/json_text.h"
#include "tests/support/must.h"

namespace hakea::test {

using namespace hakea::service;

namespace {

// A unit's record under a run that says nothing: all its weather are readings.
std::shared_ptr<const UnitWeatherRecord> record_of(const Unit& unit, const std::vector<ingest::WeatherTable>& tables,
                                                   const RunNote& run) {
  std::vector<EnteredReading> readings;
  UtcHour first = UtcHour::of(run.reference_time), end = first;
  for (const ingest::WeatherTable& table : tables) {
    auto series = table.by_unit.find(unit.id);
    if (series == table.by_unit.end()) series = table.by_unit.find("");
    if (series == table.by_unit.end()) continue;
    first = series->second.first;
    end = first + static_cast<int>(series->second.hours);
    for (std::size_t k = 0; k < table.keys.size(); ++k)
      for (std::size_t i = 0; i < series->second.hours; ++i)
        if (const float value = series->second.values[k][i]; !std::isnan(value))
          readings.push_back({core::quantity_index(table.keys[k]), first + static_cast<int>(i), static_cast<double>(value)});
  }
  std::vector<core::Site> sites;
  for (const core::UnitTraits& point : unit.points) sites.push_back(point.site);
  RunColumns columns(sites, false, end + 1);
  ingest::RunPlan plan;
  plan.reference_time = first.start();
  for (UtcHour hour = first; hour < end; hour = hour + 1) plan.steps.push_back(hour.start());
  plan.model_elevation_m.assign(sites.size(), std::numeric_limits<float>::quiet_NaN());
  columns.on_plan(plan);
  must(columns.finish());
  auto of_unit = std::make_shared<UnitRun>();
  of_unit->id = run.id;
  of_unit->feed = run.feed;
  of_unit->reference_time = run.reference_time;
  for (std::size_t p = 0; p < sites.size(); ++p) of_unit->points.push_back({UnitSeries(columns, p, 0, sites[p])});
  auto record = std::make_shared<UnitWeatherRecord>(std::vector<UnitRunPtr>{of_unit},
                                                    EnteredWeather{.readings = std::move(readings), .stations = {}}, unit.points);
  record->begin_with(unit.initial_state);
  return record;
}

std::string list_of(const std::vector<Entry>& entries) {
  std::string list;
  for (const Entry& entry : entries) (list += list.empty() ? "" : ",") += entry.body;
  return "[" + list + "]";
}

}  // namespace

TableEngine::TableEngine(const FuelTable& fuels, Store& store, UtcTime now, std::vector<ingest::WeatherTable> tables)
    : fuels_(fuels),
      store_(store),
      now_(now),
      tables_(std::make_shared<const std::vector<ingest::WeatherTable>>(std::move(tables))) {
  must(judge_again({}));
}

Result<bool> TableEngine::judge_again(const std::set<std::string>& touched) {
  if (fails_to_judge) return Error{ErrorKind::failed, "out_of_memory", "", "there is no memory left", ""};
  auto next = std::make_shared<Snapshot>();
  next->number = picture_ ? picture_->number + 1 : 1;
  next->now = next->made_at = now_;
  next->is_demo = true;
  next->bookings = must(store_.entries(EntryKind::booking));
  next->stops = must(store_.entries(EntryKind::stop));
  next->observations = must(store_.entries(EntryKind::observation));
  for (const Entry& entry : must(store_.entries(EntryKind::district))) {
    DistrictView view;
    view.district = must(parse_district("{\"district\":" + entry.body + ",\"stops\":" + list_of(next->stops) +
                                        ",\"bookings\":" + list_of(next->bookings) + "}"));
    view.revision = entry.revision;
    view.json = entry.body;
    view.caution = {"Demo data. Fictional district."};
    next->districts.emplace(entry.id, std::move(view));
  }
  for (auto& [id, view] : next->districts) {
    const json::value document = must(parse_json(view.json, id));
    next->zones.emplace(id, must(time_zone(std::string(document.at("time_zone").as_string()))));
    view.zone = &next->zones.find(id)->second;
  }
  const RunNote run{"fine.2027-03-29T12:00:00Z",
                    "fine",
                    now_ - std::chrono::hours(7),
                    now_ - std::chrono::hours(3),
                    now_ - std::chrono::hours(3),
                    now_ + std::chrono::hours(3),
                    "complete",
                    1};
  std::set<std::string> fresh;
  for (const Entry& entry : must(store_.entries(EntryKind::unit, true))) {
    const UnitView* before = picture_ ? picture_->unit(entry.id) : nullptr;
    if (before && !touched.empty() && !touched.contains(entry.id)) {
      next->units.emplace(entry.id, picture_->units.find(entry.id)->second);
      continue;
    }
    auto view = std::make_shared<UnitView>();
    json::value feature = must(parse_json(entry.body, entry.id));
    if (const auto prescription = must(store_.entry(EntryKind::prescription, entry.id + "/main"))) {
      view->prescription_json = prescription->body;
      view->prescription_revision = prescription->revision;
      view->updated_at = prescription->at;
      feature.at("properties").as_object()["prescription"] = must(parse_json(prescription->body, entry.id));
    }
    if (const auto edging = must(store_.entry(EntryKind::prescription, entry.id + "/edging")))
      feature.at("properties").as_object()["prescriptions"] = json::object{{"edging", must(parse_json(edging->body, entry.id))}};
    if (entry.is_withdrawn) feature.at("properties").as_object()["status"] = "retired";
    view->feature_json = json_text(feature);
    view->unit = must(parse_units(view->feature_json, fuels_)).front();
    count_fuel_age(*view, fuels_, now_);
    view->revision = entry.revision;
    view->updated_at = std::max(view->updated_at, entry.at);
    view->run = run;
    view->freshness = Freshness::current;
    view->weather = record_of(view->unit, *tables_, run);
    if (have_hours_of(*tables_, view->unit))
      view->history = std::make_shared<const core::History>(history_of(view->unit, unit_hours_of_tables(view->unit, *tables_)));
    fresh.insert(entry.id);
    (entry.is_withdrawn ? next->retired : next->units).emplace(entry.id, std::move(view));
  }
  for (const auto* all : {&next->units, &next->retired})
    for (const auto& [id, view] : *all) next->neighbours.add(view->unit);
  for (auto& [id, view] : next->units) {
    std::vector<std::string> bears_on = next->neighbours.of(view->unit);
    if (picture_)
      for (std::string& other : picture_->neighbours.of(view->unit)) bears_on.push_back(std::move(other));
    bears_on.push_back(id);
    if (std::none_of(bears_on.begin(), bears_on.end(), [&](const std::string& each) { return fresh.contains(each); })) continue;
    auto judged = std::make_shared<UnitView>(*view);
    judged->days = judged_days(*judged->weather, judged->unit, plan_of_unit(*next, judged->unit), now_);
    view = std::move(judged);
  }
  FeedView feed;
  feed.id = "fine";
  feed.freshness = Freshness::current;
  feed.newest_complete = run;
  feed.next_expected = run.next_expected;
  RunRow incomplete;
  incomplete.id = "fine.2027-03-29T18:00:00Z";
  incomplete.feed = "fine";
  incomplete.reference_time = now_ - std::chrono::hours(1);
  incomplete.state = "incomplete";
  incomplete.details = R"({"missing":[{"quantity":"air_temperature","hours":[31,35]}]})";
  RunRow complete;
  complete.id = run.id;
  complete.feed = "fine";
  complete.reference_time = run.reference_time;
  complete.state = "complete";
  complete.is_published = true;
  // Its grid is known; its files are not there any more.
  complete.details =
      R"({"files":["/nowhere/fine.nc"],"grid":{"first":"2027-03-29T12:00:00Z","hours":91,"west":152,"south":-38.5,)"
      R"("east":153.5,"north":-37,"quantities":["air_temperature","wind_speed","wind_from_direction"]}})";
  feed.runs = {incomplete, complete};
  feed.refused = {{"fine", "damaged.nc", 7, "aa", now_, "refused", "", "the file is damaged", "send it again"}};
  next->feeds.push_back(std::move(feed));
  picture_ = std::move(next);
  if (published) published(picture_);
  return true;
}

}  // namespace hakea::test
