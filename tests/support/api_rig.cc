#include "tests/support/api_rig.h"

#include <algorithm>
#include <set>
#include <stdexcept>

#include "core/base/words.h"
#include "core/catalogue/catalogue.h"
#include "service/access/tokens.h"
#include "service/http/head.h"
#include "service/output/json_text.h"
#include "tests/support/case_file.h"
#include "tests/support/local_request.h"
#include "tests/support/must.h"
#include "tests/support/table_engine.h"

namespace hakea::test {

using namespace hakea::service;

namespace {

constexpr std::string_view kNow = "2027-03-30T06:30:00+11:00";

std::string demo_file(const std::string& name) { return must(read_text_file(shared_folder() + "/demo/" + name)); }

void seed(Store& store, UtcTime now) {
  std::vector<Change> changes;
  const auto add = [&](EntryKind kind, const std::string& id, const json::value& body) {
    changes.push_back({kind, id, json_text(body), 0, "create", "demo"});
  };
  const json::value district = must(parse_json(demo_file("district.json"), "district"));
  add(EntryKind::district, "tallowmere", district.at("district"));
  json::object second{{"id", "elsewhere"}, {"name", "Elsewhere"}, {"time_zone", "Australia/Sydney"}};
  add(EntryKind::district, "elsewhere", second);
  const json::value units = must(parse_json(demo_file("units.geojson"), "units"));
  for (const json::value& feature : units.at("features").as_array()) {
    json::value unit = feature;
    json::object& properties = unit.at("properties").as_object();
    const std::string id(unit.at("id").as_string());
    add(EntryKind::prescription, id + "/main", properties.at("prescription"));
    properties.erase("prescription");
    properties.erase("prescriptions");
    add(EntryKind::unit, id, unit);
  }
  for (const auto& [list, kind] : {std::pair("stops", EntryKind::stop), std::pair("bookings", EntryKind::booking)})
    for (const json::value& entry : district.at(list).as_array()) {
      json::object body = entry.as_object();
      const std::string id(body.at("id").as_string());
      body.erase("id");
      add(kind, id, body);
    }
  must(store.write({"demo", "", "", "", Role::coordinator, {}}, now, changes));
}

const std::vector<ingest::WeatherTable>& story() {
  static const std::vector<ingest::WeatherTable> tables{
      must(ingest::read_weather_csv(demo_file("hourly.csv"), "hourly.csv", [](std::string_view key) {
        const auto q = core::find_quantity(key);
        return q ? std::string(core::catalogue()[*q].unit) : std::string();
      }))};
  return tables;
}

}  // namespace

std::string Answer::header(std::string_view name) const {
  for (const auto& [key, value] : headers)
    if (key == name) return value;
  return "";
}

std::string Answer::at(std::string_view pointer) const {
  json::error_code failed;
  const json::value* found = body.find_pointer(pointer, failed);
  return found ? json_text(*found) : "none";
}

Strings Answer::mistakes() const {
  Strings found;
  const auto* object = body.if_object();
  const json::value* errors = object ? object->if_contains("errors") : nullptr;
  if (errors)
    for (const json::value& error : errors->as_array()) {
      const json::object& e = error.as_object();
      const auto member = [&](const char* name) { return std::string(e.at(name).as_string()); };
      found.push_back((e.contains("pointer") ? member("pointer") : "?" + member("parameter")) + " " + member("code"));
    }
  std::sort(found.begin(), found.end());
  return found;
}

Answer answer_of(const Response& response) {
  Answer answer{response.status, response.content_type, response.bytes(), {}, response.headers};
  if (auto document = parse_json(response.bytes(), "answer")) answer.body = *std::move(document);
  return answer;
}

ApiRig::ApiRig(bool is_demo) {
  const UtcTime now = must(parse_instant(kNow));
  clock.set(now);
  config_.fuels = built_in_fuels();
  config_.feeds.emplace_back().id = "fine";
  store_ = must(Store::open((folder_.path() / "data").string(), now));
  seed(*store_, now);
  calendars_ = std::make_unique<Calendars>(*store_);
  auto engine = std::make_unique<TableEngine>(config_.fuels, *store_, now, story());
  engine->published = [this](std::shared_ptr<const Snapshot> picture) { must(calendars_->look(std::move(picture))); };
  engine->published(engine->snapshot());
  engine_ = std::move(engine);
  parts_.engine = engine_.get();
  parts_.store = store_.get();
  parts_.clock = &clock;
  parts_.config = &config_;
  parts_.is_demo = is_demo;
  parts_.solver = [](const core::Program&) -> Result<core::ProgramAnswer> {
    return Error{ErrorKind::failed, "no_solver", "", "this test has no solver", ""};
  };
  if (is_demo)
    parts_.move_clock = [this](UtcTime to) -> Result<bool> {
      if (to < clock.now()) return Error{ErrorKind::invalid, "backwards", "", "the clock only moves forward", ""};
      clock.set(to);
      return true;
    };
}

ApiRig::~ApiRig() = default;

bool ApiRig::has_files() { return !shared_folder().empty(); }

namespace {

// Those of a head but for what counts requests.
std::multiset<std::string> fields_sent(const Response& answer) {
  std::string head;
  write_head(head, answer, {});
  std::multiset<std::string> fields;
  for (const std::string_view line : words(head, '\n'))
    if (!line.starts_with("RateLimit") && !line.starts_with("Date: ")) fields.emplace(line);
  return fields;
}

void expect_the_same(const Response& at_hand, const Response& answer) {
  EXPECT_EQ(at_hand.status, answer.status);
  EXPECT_EQ(at_hand.bytes(), answer.bytes());
  EXPECT_EQ(fields_sent(at_hand), fields_sent(answer));
}

}  // namespace

Answer ApiRig::call(const std::string& method, const std::string& target, const std::string& body,
                    const std::map<std::string, std::string>& headers) {
  Request request =
      local_request(method, target.starts_with("/ogc/") || target.starts_with("/cal/") ? target : "/api/v1" + target, body);
  request.request_id = "test-1";
  request.headers.insert(headers.begin(), headers.end());
  if (!token_.empty()) request.headers["authorization"] = "Bearer " + token_;
  // What is at hand is what is worked out: asked at every call of every test, without counting it, before and after.
  ApiParts beside = parts_;
  beside.rate_limit = std::make_shared<RateLimit>();
  const auto before = respond_at_once(beside, request);
  const Response answer = respond(parts_, request);
  if (answer.status != 429)
    for (const auto& at_hand : {before, respond_at_once(beside, request)})
      if (at_hand) expect_the_same(*at_hand, answer);
  return answer_of(answer);
}

std::string ApiRig::token(Role role, std::vector<std::string> districts) {
  Token wanted;
  wanted.role = role;
  wanted.districts = std::move(districts);
  return token(std::move(wanted));
}

std::string ApiRig::token(Token wanted) {
  const UtcTime now = clock.now();
  if (wanted.name.empty()) wanted.name = word(wanted.role);
  if (wanted.expires_at == UtcTime{}) wanted.expires_at = now + std::chrono::days(30);
  const NewToken made = must(new_token(std::move(wanted), now));
  must(store_->add_token({"test", "", "", "", Role::operator_, {}}, now, made.row));
  return made.text;
}

void ApiRig::let_judging_fail(bool fails) { static_cast<TableEngine&>(*engine_).fails_to_judge = fails; }

void ApiRig::begin_calendars_again() {
  calendars_ = std::make_unique<Calendars>(*store_);
  must(calendars_->look(picture()));
}

void ApiRig::judge_at(UtcTime now) {
  clock.set(now);
  static_cast<TableEngine&>(*engine_).set_now(now);
  must(engine_->judge_again({}));
}

void ApiRig::show_progress(std::optional<service::Progress> progress) {
  static_cast<TableEngine&>(*engine_).progress_now = std::move(progress);
}

void ApiTest::SetUp() {
  if (!ApiRig::has_files()) GTEST_SKIP() << "the demo's files are not beside the checkout";
  rig = std::make_unique<ApiRig>(is_demo_);
}

json::value ApiTest::day(const std::string& unit, const std::string& date) {
  const Answer days = rig->get("/units/" + unit + "/days");
  for (const json::value& one : days.body.at("days").as_array())
    if (one.at("date").as_string() == date) return one;
  return nullptr;
}

std::string ApiTest::verdict(const std::string& unit, const std::string& date) {
  const json::value found = day(unit, date);
  return found.is_null() ? "no such day" : std::string(found.at("verdict").as_string());
}

json::value demo_prescription(const std::string& unit) {
  const json::value units = must(parse_json(demo_file("units.geojson"), "units"));
  for (const json::value& feature : units.at("features").as_array())
    if (feature.at("id").as_string() == unit) return feature.at("properties").at("prescription");
  throw std::runtime_error("the demo has no unit " + unit);
}

}  // namespace hakea::test
