// Answers while runs are published: each is of one picture, whoever asks for what in which form, kept or fresh. For the thread
// sanitizer above all (tests/run threads).
#include <fmt/format.h>

#include <atomic>
#include <map>
#include <mutex>
#include <set>
#include <thread>

#include "service/http/api.h"
#include "service/http/head.h"
#include "service/input/json.h"
#include "tests/support/engine_rig.h"
#include "tests/support/local_request.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

constexpr int kUnits = 12, kFirstRun = 12, kLastRun = 18;  // runs by their hour on 29 March UTC
constexpr std::string_view kWarmestDay =
    R"({"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"max":24}})";
constexpr std::string_view kAt = "2027-03-30T12:00:00Z";  // an hour that all runs have

class Publication : public EngineRig {
 protected:
  void SetUp() override {
    add_feed("fine", 72);
    for (int i = 0; i < kUnits; ++i) enter_unit("u" + std::to_string(i), std::string(kWarmestDay));
    config_.api.requests = 0;  // without limit
    start();
    parts_ = parts();
  }
  // Each run is warmer by a degree than the one before, so that every hour tells which run it is of.
  void publish(int run) {
    put({.name = std::to_string(run) + ".nc", .reference_h = run, .warmer = static_cast<double>(run - kFirstRun)});
    catch_up();
  }
  static std::string id_of(int run) { return fmt::format("fine.2027-03-29T{:02}:00:00Z", run); }

  // The run that an hour's temperature is of; 0 for one of none.
  int run_of(const json::value& hours) const {
    const json::array& times = hours.at("times").as_array();
    const auto at = std::find(times.begin(), times.end(), json::value(kAt)) - times.begin();
    const double t =
        hours.at_pointer("/quantities/air_temperature/values").as_array().at(static_cast<std::size_t>(at)).to_number<double>();
    const double warmer = t - first_;
    const int run = kFirstRun + static_cast<int>(std::lround(warmer));
    return std::abs(warmer - std::round(warmer)) < 0.01 ? run : 0;
  }

  // A field of the head as it is sent; empty where there is none.
  static std::string field(const Response& answer, const std::string& name) {
    std::string head;
    write_head(head, answer, {});
    const std::size_t at = head.find("\r\n" + name + ": ");
    if (at == std::string::npos) return "";
    const std::size_t begin = at + name.size() + 4;
    return head.substr(begin, head.find("\r\n", begin) - begin);
  }

  void note(std::string what) {
    const std::lock_guard hold(lock_);
    mixed_.insert(std::move(what));
  }

  // What an answer rests on, all of it.
  void look_at(const std::string& target, const Response& answer) {
    const auto body = parse_json(answer.bytes(), target);
    if (!body) return note(target + " is no JSON");
    const std::string run(body->at_pointer("/run/id").as_string());
    const auto expect = [&](const std::string& other, std::string_view where) {
      if (other != run) note(fmt::format("{}: {} is of {} in an answer of {}", target, where, other, run));
    };
    const auto look_at_days = [&](const json::value& days) {
      for (const json::value& day : days.as_array())
        for (const json::value& feed : day.at("feeds").as_array()) expect(std::string(feed.at("run").as_string()), "a day");
    };
    const json::object& object = body->as_object();
    if (target.ends_with("/u3/days")) look_at_days(object.at("days"));
    if (target == "/days")
      for (const json::value& date : object.at("days").as_array()) look_at_days(date.at("units"));
    if (target.starts_with("/units/u3/hours")) expect(id_of(run_of(*body)), "an hour");
    if (target.starts_with("/hours"))
      for (const json::value& unit : object.at("units").as_array()) expect(id_of(run_of(unit)), "an hour");
    const std::lock_guard hold(lock_);
    seen_.insert(run);
    const std::string tag = field(answer, "ETag");
    const auto [known, is_new] = by_tag_.emplace(tag, answer.bytes());
    if (tag.empty() || (!is_new && known->second != answer.bytes())) mixed_.insert(target + ": two answers of one tag " + tag);
  }

  // Asks for everything in turn, also for what it has already, until it is told to end.
  void read(const std::atomic<bool>& goes_on, int who) {
    constexpr std::string_view kTargets[] = {"/days", "/units/u3/days", "/hours?units=u1,u3,u7&quantities=air_temperature",
                                             "/units/u3/hours?quantities=air_temperature"};
    std::map<std::string, std::string> tags;
    for (int i = who; goes_on; ++i) {
      const std::string target(kTargets[static_cast<std::size_t>(i) % std::size(kTargets)]);
      Request request = local_request("GET", "/api/v1" + target);
      if (i % 3 == 0) request.headers["if-none-match"] = tags[target];
      if (i % 5 == 0) request.headers["accept-encoding"] = "gzip";
      const auto at_hand = respond_at_once(parts_, request);
      const Response answer = at_hand ? *at_hand : respond(parts_, request);
      ++answers_;
      if (at_hand) ++at_hand_;
      if (answer.status == 304) continue;
      if (answer.status != 200) {
        note(fmt::format("{}: {} {}", target, answer.status, answer.bytes()));
        continue;
      }
      tags[target] = field(answer, "ETag");
      if (field(answer, "Content-Encoding").empty()) look_at(target, answer);
    }
  }

  ApiParts parts_;
  double first_ = 0;  // the first run's temperature
  std::atomic<int> answers_{0}, at_hand_{0};
  std::mutex lock_;
  std::set<std::string> mixed_, seen_;
  std::map<std::string, std::string> by_tag_;
};

TEST_F(Publication, AnAnswerIsOfOneRunWhileOthersArePublished) {
  publish(kFirstRun);
  const Response first = respond(parts_, local_request("GET", "/api/v1/units/u3/hours?quantities=air_temperature"));
  const auto body = parse_json(first.bytes(), "hours");
  ASSERT_TRUE(body);
  const json::array& times = body->at("times").as_array();
  const auto at = std::find(times.begin(), times.end(), json::value(kAt)) - times.begin();
  first_ = body->at_pointer("/quantities/air_temperature/values").as_array().at(static_cast<std::size_t>(at)).to_number<double>();
  ASSERT_EQ(id_of(run_of(*body)), id_of(kFirstRun));

  std::atomic<bool> goes_on{true};
  std::vector<std::jthread> readers;
  for (int who = 0; who < 3; ++who) readers.emplace_back([&, who] { read(goes_on, who); });
  for (int run = kFirstRun + 1; run <= kLastRun; ++run) {
    publish(run);
    EXPECT_TRUE(engine_->judge_again({"u3"}));
  }
  // The last run has to be read before the readers may end.
  const auto has_been_seen = [&] {
    const std::lock_guard hold(lock_);
    return seen_.contains(id_of(kLastRun));
  };
  for (int i = 0; i < 1'000'000 && !has_been_seen(); ++i) std::this_thread::yield();
  goes_on = false;
  readers.clear();
  EXPECT_EQ(mixed_, std::set<std::string>());
  EXPECT_GT(answers_, 100);
  EXPECT_GT(at_hand_, 10);
  EXPECT_GT(seen_.size(), 2U) << "answers before and after publications";
}

}  // namespace
}  // namespace hakea::test
