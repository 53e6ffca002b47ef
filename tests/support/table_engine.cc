#include "tests/support/table_engine.h"

#include <stdexcept>

#include "core/catalogue/catalogue.h"
#include "core/days/feeds.h"
#include "service/engine/assessment.h"
#include "service/input/zones.h"
#include "service/output/json_text.h"

namespace hakea::service {

// What the pictures of this engine keep of a unit's weather.
class UnitWeatherRecord {
 public:
  std::shared_ptr<const std::vector<ingest::WeatherTable>> tables;
};

std::string_view word(Freshness freshness) {
  return freshness == Freshness::current ? "current" : freshness == Freshness::late ? "late" : "stale";
}

const UnitView* Snapshot::unit(std::string_view id) const {
  const auto found = units.find(id);
  return found == units.end() ? nullptr : found->second.get();
}

const core::Day* day_on(const UnitView& view, LocalDate date) {
  for (const core::Day& day : view.days)
    if (day.date == date) return &day;
  return nullptr;
}

std::vector<const UnitView*> ranked_units(const Snapshot& snapshot, LocalDate date) {
  std::vector<const UnitView*> units;
  for (const auto& [id, view] : snapshot.units)
    if (day_on(*view, date)) units.push_back(view.get());
  std::stable_sort(units.begin(), units.end(),
                   [&](const UnitView* a, const UnitView* b) { return day_on(*a, date)->verdict < day_on(*b, date)->verdict; });
  return units;
}

std::vector<std::vector<core::UnitHours>> hours_of(const UnitView& view) {
  auto points = weather_of_tables(*view.weather->tables)(view.unit);
  for (auto& members : points)
    for (core::UnitHours& hours : members) core::compute_all(hours);
  return points;
}

Result<std::vector<std::vector<core::UnitHours>>> hours_of(const UnitView& view, std::string_view run) {
  if (view.run->id == run) return hours_of(view);
  return Error{ErrorKind::not_found, "not_found", "", "the run " + std::string(run) + " is not kept", ""};
}

std::vector<core::Day> trial_days(const Snapshot& snapshot, const UnitView& view, const core::Prescription& prescription) {
  Unit unit = view.unit;
  unit.prescription = prescription;
  const District& district = snapshot.districts.find(unit.district)->second.district;
  const ZoneOf zone_of = [&](const std::string& id) -> const TimeZone* {
    const UnitView* other = snapshot.unit(id);
    return other ? &other->unit.traits.zone : nullptr;
  };
  return assess({&unit, 1}, district, weather_of_tables(*view.weather->tables),
                {snapshot.now, snapshot.now, "fine", view.run->id, false, zone_of})
      .front()
      .days;
}

}  // namespace hakea::service

namespace hakea::test {

using namespace hakea::service;

namespace {

template <class T>
T must(Result<T> result) {
  if (!result) throw std::runtime_error(result.error().where + ": " + result.error().what);
  return *std::move(result);
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
  const ZoneOf zone_of = [&](const std::string& id) -> const TimeZone* {
    const UnitView* other = picture_ ? picture_->unit(id) : nullptr;
    return other ? &other->unit.traits.zone : nullptr;
  };
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
      feature.at("properties").as_object()["prescription"] = must(parse_json(prescription->body, entry.id));
    }
    if (entry.is_withdrawn) feature.at("properties").as_object()["status"] = "retired";
    view->feature_json = json_text(feature);
    view->unit = must(parse_units(view->feature_json, fuels_)).front();
    view->revision = entry.revision;
    view->run = run;
    view->freshness = Freshness::current;
    view->weather = std::make_shared<const UnitWeatherRecord>(UnitWeatherRecord{tables_});
    if (!entry.is_withdrawn)
      view->days = assess({&view->unit, 1}, next->districts.find(view->unit.district)->second.district,
                          weather_of_tables(*tables_), {now_, now_, "fine", run.id, false, zone_of})
                       .front()
                       .days;
    (entry.is_withdrawn ? next->retired : next->units).emplace(entry.id, std::move(view));
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
  feed.runs = {incomplete, complete};
  feed.refused = {{"fine", "damaged.nc", 7, "aa", now_, "refused", "", "the file is damaged", "send it again"}};
  next->feeds.push_back(std::move(feed));
  picture_ = std::move(next);
  return true;
}

}  // namespace hakea::test
