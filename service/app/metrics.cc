#include "service/app/metrics.h"

#include <fmt/format.h>
#include <prometheus/counter.h>
#include <prometheus/gauge.h>
#include <prometheus/histogram.h>
#include <prometheus/registry.h>
#include <prometheus/text_serializer.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <map>
#include <mutex>
#include <set>
#include <tuple>

#include "service/input/json.h"
#include "service/store/backup.h"

namespace hakea::service {
namespace {

const prometheus::Histogram::BucketBoundaries kRequestSeconds{0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10};
const prometheus::Histogram::BucketBoundaries kCycleSeconds{0.5, 1, 2.5, 5, 10, 20, 40, 80, 160, 320};

// A word of this program: a caller may send any as its method.
std::string_view known_method(std::string_view method) {
  constexpr std::array<std::string_view, 7> kMethods{"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"};
  const auto* const known = std::find(kMethods.begin(), kMethods.end(), method);
  return known == kMethods.end() ? "other" : *known;
}

// The size of the write-ahead logs together: they grow while somebody reads for long.
double wal_bytes(const std::string& folder) {
  double bytes = 0;
  for (const char* name : {kStateFile, kSeriesFile}) {
    std::error_code failed;
    const auto size = std::filesystem::file_size(std::filesystem::path(folder) / fmt::format("{}-wal", name), failed);
    if (!failed) bytes += static_cast<double>(size);
  }
  return bytes;
}

double number_at(const json::value& document, std::string_view pointer) {
  json::error_code failed;
  const json::value* found = document.find_pointer(pointer, failed);
  return found && found->is_number() ? found->to_number<double>() : 0;
}

}  // namespace

struct Metrics::Families {
  prometheus::Registry registry;
  prometheus::Family<prometheus::Histogram>& request_seconds = prometheus::BuildHistogram()
                                                                   .Name("hakea_http_request_seconds")
                                                                   .Help("Time from a request to its answer, by route.")
                                                                   .Register(registry);
  prometheus::Histogram& processing_seconds = prometheus::BuildHistogram()
                                                  .Name("hakea_cycle_processing_seconds")
                                                  .Help("Time to read and judge a run that was published.")
                                                  .Register(registry)
                                                  .Add({}, kCycleSeconds);
  prometheus::Family<prometheus::Counter>& missing_values = prometheus::BuildCounter()
                                                                .Name("hakea_cycle_missing_values_total")
                                                                .Help("Values that runs lacked, by fed quantity.")
                                                                .Register(registry);
  prometheus::Family<prometheus::Gauge>& cycle_age = prometheus::BuildGauge()
                                                         .Name("hakea_feed_cycle_age_seconds")
                                                         .Help("Age of the newest complete run, from its reference time.")
                                                         .Register(registry);
  prometheus::Family<prometheus::Gauge>& window_state = prometheus::BuildGauge()
                                                            .Name("hakea_window_state")
                                                            .Help("Days of all units in the forecast, by verdict.")
                                                            .Register(registry);
  prometheus::Gauge& wal = prometheus::BuildGauge()
                               .Name("hakea_sqlite_wal_bytes")
                               .Help("Size of the write-ahead logs of the databases.")
                               .Register(registry)
                               .Add({});
  prometheus::Family<prometheus::Gauge>& backup = prometheus::BuildGauge()
                                                      .Name("hakea_backup_last_success_timestamp_seconds")
                                                      .Help("When a backup was last written and checked, seconds since 1970.")
                                                      .Register(registry);
  prometheus::Family<prometheus::Counter>& deliveries = prometheus::BuildCounter()
                                                            .Name("hakea_deliveries_total")
                                                            .Help("Attempts to deliver a message, by channel and result.")
                                                            .Register(registry);
  prometheus::Gauge& streams =
      prometheus::BuildGauge().Name("hakea_sse_clients").Help("Streams of events that are open.").Register(registry).Add({});
  prometheus::Gauge& outbox = prometheus::BuildGauge()
                                  .Name("hakea_outbox_pending")
                                  .Help("Messages that are still to be delivered.")
                                  .Register(registry)
                                  .Add({});
  prometheus::Gauge& outbox_age = prometheus::BuildGauge()
                                      .Name("hakea_outbox_oldest_seconds")
                                      .Help("Age of the oldest message that is still to be delivered, 0 without any.")
                                      .Register(registry)
                                      .Add({});
  prometheus::Gauge& ready =
      prometheus::BuildGauge().Name("hakea_ready").Help("Whether /readyz says ready.").Register(registry).Add({});
  // Those of request_seconds: to find one there takes a map of its labels, and another histogram. Routes and methods are
  // words of this program.
  std::mutex answered_lock;
  std::map<std::tuple<std::string_view, std::string_view, int>, prometheus::Histogram*> answered;
  std::mutex lock;                       // of what follows, and of gauges that are set together
  std::vector<prometheus::Gauge*> ages;  // of the feeds that are there
  // Of the newest picture that was seen: when it was made and its number, its runs with their revisions.
  std::optional<std::pair<UtcTime, std::uint64_t>> seen_in;
  std::set<std::pair<std::string, int>> seen;
};

Metrics::Metrics() : families_(std::make_unique<Families>()) {
  prometheus::BuildGauge()
      .Name("hakea_build_info")
      .Help("1, with the version of the program.")
      .Register(families_->registry)
      .Add({{"version", HAKEA_VERSION}})
      .Set(1);
}

Metrics::~Metrics() = default;

void Metrics::answered(std::string_view route, std::string_view method, int status, double seconds) {
  if (route.empty()) route = "unknown";
  Families& f = *families_;
  prometheus::Histogram* histogram = nullptr;
  {
    const std::lock_guard hold(f.answered_lock);
    auto& known = f.answered[{route, known_method(method), status}];
    if (!known)
      known = &f.request_seconds.Add(
          {{"route", std::string(route)}, {"method", std::string(known_method(method))}, {"code", std::to_string(status)}},
          kRequestSeconds);
    histogram = known;
  }
  histogram->Observe(seconds);
}

void Metrics::sent(std::string_view channel, bool is_delivered) {
  families_->deliveries.Add({{"channel", std::string(channel)}, {"result", is_delivered ? "delivered" : "failed"}}).Increment();
}

void Metrics::see(const Snapshot& picture) {
  Families& f = *families_;
  const std::lock_guard hold(f.lock);
  const std::pair place(picture.made_at, picture.number);
  if (f.seen_in && place < *f.seen_in) return;  // somebody else has come with a newer one
  std::set<std::pair<std::string, int>> there;
  for (const FeedView& feed : picture.feeds)
    for (const RunRow& run : feed.runs) {
      const auto& known = *there.emplace(run.id, run.revision).first;
      if (f.seen.contains(known) || !f.seen_in || !run.is_published) continue;
      const auto details = parse_json(run.details, run.id);
      if (!details) continue;
      f.processing_seconds.Observe(number_at(*details, "/timings/read_s") + number_at(*details, "/timings/judge_s"));
      const auto* object = details->if_object();
      const json::value* quality = object ? object->if_contains("quality") : nullptr;
      for (const json::value& field : quality && quality->is_array() ? quality->get_array() : json::array())
        f.missing_values.Add({{"feed", feed.id}, {"parameter", text_member(field, "quantity")}})
            .Increment(number_at(field, "/missing"));
    }
  f.seen = std::move(there);  // those that are gone are forgotten
  f.seen_in = place;
}

std::string Metrics::text(const Now& now) {
  Families& f = *families_;
  if (now.picture) see(*now.picture);
  const std::lock_guard hold(f.lock);
  std::map<std::string_view, int> days;
  using enum core::Verdict;
  for (const core::Verdict verdict : {met, unknown, near_miss, out, blocked}) days[core::word(verdict)] = 0;
  for (prometheus::Gauge* age : std::exchange(f.ages, {})) f.cycle_age.Remove(age);  // a feed may have gone
  if (now.picture) {
    for (const FeedView& feed : now.picture->feeds)
      if (feed.newest_complete) {
        f.ages.push_back(&f.cycle_age.Add({{"feed", feed.id}}));
        f.ages.back()->Set(static_cast<double>((now.now - feed.newest_complete->reference_time).count()));
      }
    for (const auto& [id, view] : now.picture->units)
      for (const core::Day& day : view->days) ++days[core::word(day.verdict)];
  }
  for (const auto& [state, count] : days) f.window_state.Add({{"state", std::string(state)}}).Set(count);
  f.wal.Set(wal_bytes(now.data));
  f.ready.Set(now.is_ready ? 1 : 0);
  f.streams.Set(now.streams);
  f.outbox.Set(static_cast<double>(now.outbox.waiting));
  f.outbox_age.Set(now.outbox.oldest ? static_cast<double>((now.now - *now.outbox.oldest).count()) : 0);
  if (now.last_backup) f.backup.Add({}).Set(static_cast<double>(now.last_backup->time_since_epoch().count()));
  return prometheus::TextSerializer().Serialize(f.registry.Collect());
}

}  // namespace hakea::service
