#include "tests/support/engine_rig.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "service/output/day_json.h"

namespace hakea::test {

namespace fs = std::filesystem;

LocalDate date_of(int month, int day) { return std::chrono::local_days(std::chrono::year(2027) / month / day); }

EngineRig::EngineRig() {
  config_.fuels = built_in_fuels();
  set_clock(19.5);
  enter(EntryKind::district, "d", R"({"id":"d","name":"D","time_zone":"Australia/Brisbane"})");
}

ingest::Feed& EngineRig::add_feed(const std::string& id, int last_lead_h, int step_h) {
  ingest::Feed feed;
  feed.id = id;
  feed.path = (folder_.path() / id).string();
  feed.pattern = "*.nc";
  feed.hours = ingest::LeadHours{0, last_lead_h, step_h};
  feed.settle_s = 0;
  fs::create_directories(feed.path);
  config_.feeds.push_back(feed);
  return config_.feeds.back();
}

std::string EngineRig::put(const MadeUpRun& run) const {
  return write_made_up_run(run, (folder_.path() / run.feed / run.name).string());
}

void EngineRig::put_file(const std::string& feed, const std::string& name, const std::string& bytes) const {
  folder_.write(fs::path(feed) / name, bytes);
}

void EngineRig::enter(EntryKind kind, const std::string& id, std::optional<std::string> body) {
  const Change change{kind, id, std::move(body), {}, "test", ""};
  ASSERT_TRUE(store_.write(
      {.name = "tester", .token_id = {}, .address = {}, .request_id = {}, .role = Role::coordinator, .districts = {}},
      clock_.now(), {&change, 1}));
}

void EngineRig::enter_unit(const std::string& id, const std::string& limits, double longitude) {
  enter(EntryKind::unit, id,
        fmt::format(R"({{"type":"Feature","id":"{}","geometry":{{"type":"Polygon","coordinates":
    [[[{},-37.01],[{},-37.01],[{},-36.99],[{},-37.01]]]}},"properties":{{"name":"{}","district":"d","time_zone":"Australia/Brisbane",
    "elevation_m":200,"slope_deg":5,"aspect_deg":0,"annual_rain_mm":900,"fuel":{{"type":"dry-eucalypt-forest","load_t_ha":12}},
    "initial_state":{{"as_of":"2027-03-29","kbdi":80,"litter_moisture":14,"last_rain":{{"ended":"2027-03-22T06:00:00+10:00","amount_mm":6}}}}}}}})",
                    id, longitude, longitude + 0.02, longitude + 0.01, longitude, id));
  enter(EntryKind::prescription, id + "/main",
        fmt::format(R"({{"limits":[{}],"within":{{"from":"09:00","to":"17:00"}},"duration_h":4,
    "confirmed":{{"by":"x","at":"2027-03-01T10:00:00+10:00"}}}})",
                    limits));
}

void EngineRig::start() {
  auto engine = Engine::start(config_, store_, clock_, settings_);
  ASSERT_TRUE(engine) << engine.error().what;
  engine_ = *std::move(engine);
}

ApiParts EngineRig::parts() {
  ApiParts parts;
  parts.engine = engine_.get();
  parts.store = &store_;
  parts.clock = &clock_;
  parts.config = &config_;
  parts.is_demo = true;
  return parts;
}

void EngineRig::catch_up() {
  const auto done = engine_->catch_up();
  ASSERT_TRUE(done) << done.error().what << " " << done.error().where;
  last_ = engine_->snapshot();
}

const UnitView& EngineRig::unit(const std::string& id) {
  last_ = engine_->snapshot();
  const UnitView* view = last_->unit(id);
  if (!view) throw std::runtime_error("no unit " + id);
  return *view;
}

std::string EngineRig::says(const std::string& id) {
  std::vector<core::Day> days = unit(id).days;
  std::sort(days.begin(), days.end(), [](const auto& a, const auto& b) { return a.date < b.date; });
  std::string text;
  for (const core::Day& day : days) text += (text.empty() ? "" : " ") + std::string(core::word(day.verdict));
  return text;
}

std::string EngineRig::verdict(LocalDate date, const std::string& id) {
  const core::Day* day = day_on(unit(id), date);
  return day ? std::string(core::word(day->verdict)) : "no day";
}

const RunRow* EngineRig::run(const std::string& id) {
  last_ = engine_->snapshot();
  for (const FeedView& feed : last_->feeds)
    for (const RunRow& row : feed.runs)
      if (row.id == id) return &row;
  return nullptr;
}

const FileRow* EngineRig::refused(const std::string& file_name) {
  last_ = engine_->snapshot();
  for (const FeedView& feed : last_->feeds)
    for (const FileRow& row : feed.refused)
      if (fs::path(row.path).filename() == file_name) return &row;
  return nullptr;
}

std::string EngineRig::text_of(const Snapshot& snapshot) {
  JsonWriter out;
  out.begin_list();
  for (const auto& [id, view] : snapshot.units) {
    out.text(id);
    for (const core::Day& day : view->days) write_day(out, day, view->unit.prescription, view->unit.traits.zone);
    std::vector<std::size_t> quantities;
    for (std::size_t q = 0; q < core::catalogue().size(); ++q) quantities.push_back(q);
    for (const auto& members : hours_of(*view))
      for (const core::UnitHours& hours : members)
        write_hours(out, hours, quantities, std::vector<core::Fit>(hours.hours, core::Fit::unknown), view->sampling);
  }
  out.end_list();
  return out.str();
}

}  // namespace hakea::test
