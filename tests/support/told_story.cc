#include "tests/support/told_story.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "service/access/tokens.h"
#include "service/deliver/signature.h"
#include "service/input/json.h"
#include "service/output/time_text.h"

namespace hakea::test {

using namespace service;

namespace {

const Actor kAuthor{.name = "author", .token_id = "", .address = "", .request_id = "", .role = Role::coordinator};
constexpr double kBegins = 26;
constexpr int kLastLead_h = 132;  // the evening of the fifth day ahead

Change entered(EntryKind kind, std::string id, std::string body) {
  return {kind, std::move(id), std::move(body), {}, "create", ""};
}

void add_unit(const std::string& id, double most_celsius, std::vector<Change>& changes) {
  changes.push_back(entered(EntryKind::unit, id,
                            fmt::format(R"({{"type":"Feature","id":"{0}","geometry":{{"type":"Polygon","coordinates":
    [[[150,-37.01],[150.02,-37.01],[150.01,-36.99],[150,-37.01]]]}},"properties":{{"name":"Unit {0}","district":"d","time_zone":"Australia/Brisbane",
    "elevation_m":200,"slope_deg":5,"aspect_deg":0,"annual_rain_mm":900,"fuel":{{"type":"dry-eucalypt-forest","load_t_ha":12}},
    "initial_state":{{"as_of":"2027-03-29","kbdi":80,"litter_moisture":14,"last_rain":{{"ended":"2027-03-22T06:00:00+10:00","amount_mm":6}}}}}}}})",
                                        id)));
  changes.push_back(entered(
      EntryKind::prescription, id + "/main",
      fmt::format(R"({{"limits":[{{"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{{"max":{}}}}}],
    "within":{{"from":"09:00","to":"17:00"}},"duration_h":4,"confirmed":{{"by":"x","at":"2027-03-01T10:00:00+10:00"}}}})",
                  most_celsius)));
}

HttpsReceiver::Does does_of(Receives receives) {
  switch (receives) {
    case Receives::fails: return HttpsReceiver::Does::fails;
    case Receives::redirects: return HttpsReceiver::Does::redirects;
    case Receives::hangs: return HttpsReceiver::Does::hangs;
    case Receives::takes:
    case Receives::is_private:
    case Receives::is_away: break;
  }
  return HttpsReceiver::Does::takes;
}

}  // namespace

const char* word(Receives receives) {
  switch (receives) {
    case Receives::takes: return "takes";
    case Receives::fails: return "answers 500";
    case Receives::redirects: return "redirects";
    case Receives::hangs: return "hangs";
    case Receives::is_private: return "is at a private address";
    case Receives::is_away: return "is away";
  }
  return "";
}

ToldStory::ToldStory(std::string program, Receives receives)
    : receiver(does_of(receives), receives != Receives::is_away),
      program_(std::move(program)),
      is_reachable_(receives != Receives::is_private),
      is_away_(receives == Receives::is_away) {
  std::filesystem::create_directories(folder_.path() / "fine");
  folder_.write("receiver.pem", HttpsReceiver::certificate());
  const UtcTime now = made_up_time(kBegins);
  std::vector<Change> changes{entered(EntryKind::district, "d", R"({"id":"d","name":"D","time_zone":"Australia/Brisbane"})")};
  add_unit("a", 25, changes);
  add_unit("b", 23, changes);
  add_unit("c", 25, changes);
  changes.push_back(entered(EntryKind::booking, "", R"({"unit":"a","date":"2027-03-31","state":"committed","day":{"verdict":"met",
    "windows":[{"start":"2027-03-31T09:00:00+10:00","end":"2027-03-31T17:00:00+10:00","fit":1,"unconfirmed":false}]}})"));
  changes.push_back(entered(EntryKind::booking, "",
                            R"({"unit":"c","date":"2027-03-28","state":"mop_up","lit_at":"2027-03-28T10:00:00+10:00"})"));
  {
    const auto store = must(Store::open(data(), now));
    must(store->write(kAuthor, now, changes));
    Token wanted;
    wanted.name = "coordinator";
    wanted.role = Role::coordinator;
    wanted.expires_at = now + std::chrono::days(90);
    const NewToken made = must(new_token(wanted, now));
    must(store->add_token(kAuthor, now, made.row));
    token = made.text;
  }
  subscription = subscribe(receiver, "o");
}

std::string ToldStory::subscribe(const HttpsReceiver& to, const std::string& owner) {
  const UtcTime now = made_up_time(kBegins);
  const auto store = must(Store::open(data(), now));
  const std::string body = fmt::format(
      R"({{"channel":{{"kind":"webhook","url":"{}"}},"events":["*"],"daily_cap":1000,"owner":"{}"}})", to.url(), owner);
  ChannelRow channel;
  channel.subscription =
      must(store->write(kAuthor, now, std::vector<Change>{entered(EntryKind::subscription, "", body)})).front().id;
  channel.state = "active";
  channel.secret = base64(std::string(32, 'k'));
  must(store->alerts()->put_channel(channel));
  ports_.push_back(to.port());
  configure();
  return channel.subscription;
}

// Windows are told of as often as they change: what waits for a later hour could not be counted here.
void ToldStory::configure() const {
  folder_.write("service.toml",
                fmt::format("[service]\ndata = \"data\"\nport = 0\nadmin_port = 0\n[alerts]\ncooldown_min = 0\n"
                            "[webhooks]\nallow_networks = [{}]\nports = [{}]\nca_file = \"receiver.pem\"\n"
                            "[feeds.fine]\npath = \"fine\"\npattern = \"*.nc\"\nhours = \"0/{}/1\"\nsettle_s = 0\n",
                            is_reachable_ ? "\"127.0.0.0/8\", \"::1/128\"" : "", fmt::join(ports_, ", "), kLastLead_h));
}

void ToldStory::put(int reference_h, double warmer) const {
  MadeUpRun run;
  run.name = fmt::format("{}.nc", reference_h);
  run.reference_h = reference_h;
  run.last_lead_h = kLastLead_h;
  run.warmer = warmer;
  write_made_up_run(run, (folder_.path() / "fine" / run.name).string());
}

void ToldStory::mend() {
  if (is_away_) receiver.listen();
  is_away_ = false;
  is_reachable_ = true;
  receiver.begin_to(HttpsReceiver::Does::takes);
  configure();
}

std::unique_ptr<Daemon> ToldStory::life(double hours, Daemon::Returns returns) const {
  const auto taken = std::chrono::seconds(static_cast<int>(since_start_.seconds()));
  return std::make_unique<Daemon>(program_,
                                  std::vector<std::string>{"serve", "--config", (folder_.path() / "service.toml").string(),
                                                           "--now", utc_text(made_up_time(hours) + taken)},
                                  returns);
}

bool ToldStory::waits_until(const Is& is) const {
  const auto store = beside();
  for (const Stopwatch waited; waited.seconds() < 120;) {
    if (is(*store->alerts())) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
  return false;
}

std::vector<EventRow> ToldStory::events() const { return must(beside()->alerts()->events_after(0, 10'000)); }

std::vector<DeliveryRow> ToldStory::deliveries() const {
  auto all = must(beside()->alerts()->deliveries({.subscription = {}, .state = {}, .at_most = 10'000}));
  std::reverse(all.begin(), all.end());
  return all;
}

std::string told(const EventRow& event) {
  json::value data = must(parse_json(event.data, event.id));
  for (const char* name : {"lead", "expires_at"}) data.as_object().erase(name);
  return fmt::format("{} {} {}", event.type, event.thread, json::serialize(data));
}

bool is_told(AlertStore& kept, const std::string& run) {
  const auto events = must(kept.events_after(0, 10'000));
  return std::any_of(events.begin(), events.end(),
                     [&](const EventRow& event) { return event.type == "run.published.v1" && event.title.ends_with(run); });
}

bool is_all_sent(AlertStore& kept) {
  const auto deliveries = must(kept.deliveries({.subscription = {}, .state = {}, .at_most = 10'000}));
  return std::all_of(deliveries.begin(), deliveries.end(), [](const DeliveryRow& row) { return row.ended_at.has_value(); });
}

}  // namespace hakea::test
