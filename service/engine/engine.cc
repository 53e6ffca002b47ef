#include "service/engine/engine.h"

#include <fmt/format.h>
#include <spdlog/spdlog.h>

#include <algorithm>
#include <cmath>
#include <mutex>
#include <thread>

#include "service/engine/arrivals.h"
#include "service/engine/folder_watch.h"
#include "service/engine/lateness.h"
#include "service/engine/picture.h"
#include "service/engine/published.h"
#include "service/engine/readings.h"
#include "service/engine/run_reading.h"
#include "service/engine/set_aside.h"
#include "service/engine/stored_runs.h"
#include "service/input/weather_tables.h"
#include "service/output/json_text.h"
#include "service/output/json_writer.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr int kLookEveryMs = 5000;             // where the file system gives no events
constexpr std::chrono::hours kAheadOfNow{1};   // a run may be this far in the future
constexpr std::size_t kRefusedShown = 200;     // files of a feed, the newest; the store has them all
constexpr std::chrono::days kSeriesKept{400};  // a year and a season, for what is verified later [our own default]

std::vector<std::string> folders_of(const Config& config) {
  std::vector<std::string> folders;
  for (const ingest::Feed& feed : config.feeds) folders.push_back(feed.path);
  return folders;
}

std::string text_of(const Errors& errors) {
  std::string text;
  for (const Error& error : errors)
    text += fmt::format("{}{}{}{}", text.empty() ? "" : "; ", error.where, error.where.empty() ? "" : ": ", error.what);
  return text;
}

bool all_may_pass(const Errors& errors) {
  return std::all_of(errors.begin(), errors.end(), [](const Error& error) { return may_pass(error.code); });
}

std::string why_json(const ArrivedRun& run, const std::vector<std::string>& lacks) {
  JsonWriter out;
  return out.begin_object().texts("files", run.files).texts("lacks", lacks).end_object().str();
}

// How long a run took, put to what is told of it.
std::string with_timings(const std::string& details, double read_s, double judge_s) {
  const auto milliseconds = [](double s) { return std::round(s * 1000) / 1000; };
  JsonWriter timings;
  timings.begin_object().key("timings").begin_object();
  timings.number("read_s", milliseconds(read_s)).number("judge_s", milliseconds(judge_s));
  timings.end_object().end_object();
  return joined_objects(details, timings.str());
}

class WatchingEngine final : public Engine {
 public:
  WatchingEngine(const Config& config, Store& store, Clock& clock, EngineSettings settings)
      : config_(config), store_(store), clock_(clock), settings_(std::move(settings)), watch_(folders_of(config)) {}

  ~WatchingEngine() override {
    thread_.request_stop();
    watch_.wake();
  }

  // What is stored, and a first picture of it.
  Result<bool> begin() {
    auto past = read_weather_tables(config_.history);
    if (!past.mistakes.empty()) return past.mistakes;
    past_ = std::move(past.tables);
    auto rows = store_.runs();
    if (!rows) return rows.errors();
    weather_.rows = *std::move(rows);
    for (std::size_t order = 0; order < config_.feeds.size(); ++order) {
      const ingest::Feed& feed = config_.feeds[order];
      auto files = store_.files(feed.id);
      if (!files) return files.errors();
      arrivals_.emplace_back(feed, order, *files);
      readings_.remember(*files, [this](const std::string& run) {
        const RunRow* row = weather_.row(run);
        return row && counts(*row) ? row->content_hash : std::string();
      });
      std::erase_if(*files, [](const FileRow& file) { return file.state != "refused"; });
      show_newest_only(*files);
      weather_.refused[feed.id] = *std::move(files);
    }
    const auto units = store_.entries(EntryKind::unit);
    if (!units) return units.errors();
    for (const Entry& unit : *units)
      if (auto loaded = load(unit.id, units->size()); !loaded) return loaded.errors();
    const auto lost = store_.runs_without_series();
    if (!lost) return lost.errors();
    for (const RunRow& run : *lost) read_again_.insert(run.id);
    const std::lock_guard lock(publishing_);
    if (auto made = renew({.read_all = true, .judge_all = true}); !made) return made.errors();
    thread_ = std::jthread([this](std::stop_token stop) { keep_watching(stop); });
    return true;
  }

  std::shared_ptr<const Snapshot> snapshot() const override { return picture_.load(); }

  Result<bool> judge_again(const std::set<std::string>& units) override {
    const std::lock_guard lock(publishing_);
    PictureCall call{.read_all = units.empty(), .units = units, .judge_all = units.empty()};
    // What is lit bears on neighbours, those that were so far too, and on units that wait for it.
    const auto picture = picture_.load();
    for (const auto& [id, view] : picture->units) {
      const Unit& unit = view->unit;
      const auto touches = [&](const std::string& other) { return units.contains(other); };
      const std::vector<std::string> beside = picture->neighbours.of(unit);
      if (std::any_of(beside.begin(), beside.end(), touches) ||
          std::any_of(unit.after.begin(), unit.after.end(), [&](const AfterUnit& after) { return touches(after.unit); }))
        call.units.insert(id);
    }
    auto renewed = renew(call);
    if (renewed) watch_.wake();  // a new unit's weather may be read
    return renewed;
  }

  Result<bool> catch_up() override {
    auto done = look();
    while (done && !picture_.load()->unverified.empty()) done = look();
    return done;
  }

  std::vector<std::string> troubles() const override {
    const std::lock_guard lock(telling_);
    std::vector<std::string> all = troubles_;
    if (const auto picture = picture_.load())
      for (const FeedView& feed : picture->feeds)
        if (!feed.trouble.empty()) all.push_back(fmt::format("feed {}: {}", feed.id, feed.trouble));
    for (const auto& [run, passed] : passed_over_)
      all.push_back(fmt::format("run {}: its files are not what they were and are not used: {}", run, passed.second));
    if (!last_failure_.empty()) all.push_back(last_failure_);
    if (std::string trouble = store_.trouble(); !trouble.empty()) all.push_back(std::move(trouble));
    return all;
  }

  std::optional<Progress> progress() const override {
    const std::lock_guard lock(telling_);
    return progress_;
  }

  std::uint64_t heartbeat() const override { return heartbeat_; }

 private:
  void keep_watching(const std::stop_token& stop) {
    while (!stop.stop_requested()) {
      const auto looked = look();
      if (!looked) spdlog::error("engine: {}", text_of(looked.errors()));
      ++heartbeat_;
      const bool has_more = looked && !picture_.load()->unverified.empty();
      if (!stop.stop_requested() && !has_more) watch_.wait(kLookEveryMs);
    }
  }

  // The columns and states of a unit that are still of use.
  Result<bool> load(const std::string& unit, std::size_t units) {
    auto carried = store_.carried(unit);
    if (!carried) return carried.errors();
    for (CarriedRow& row : *carried) weather_.carried[unit].insert_or_assign(row.rain_day, std::move(row));
    const auto newest = std::find_if(weather_.rows.begin(), weather_.rows.end(), [](const RunRow& row) { return counts(row); });
    std::set<std::string> done;                // feeds of stations of which nothing older is of use
    for (const RunRow& row : weather_.rows) {  // newest first, so that of older ones only what is of use is kept
      const ingest::Feed* feed = config_.feed(row.feed);
      if (!counts(row) || !feed || done.contains(feed->id)) continue;
      if (!feed->observed && row.reference_time < newest->reference_time - kKeptDays - std::chrono::days(1) &&
          !is_newest_of_feed(row))
        continue;
      auto run = stored_run(store_, row, *feed, config_.order_of(*feed), unit);
      if (!run && run.error().code != "damaged_series") return run.errors();
      if (!run) read_again_.insert(row.id);
      if (!run || !*run) continue;
      if (feed->observed && is_seen_no_more(**run, newest->reference_time)) done.insert(feed->id);
      const std::size_t members = (*run)->members();
      const bool is_large = !feed->observed && members > 1 && members * (*run)->points.size() * units > settings_.series_held;
      weather_.put_run(unit, *std::move(run), is_large);
    }
    return true;
  }

  bool is_newest_of_feed(const RunRow& row) const {
    return std::none_of(weather_.rows.begin(), weather_.rows.end(), [&](const RunRow& other) {
      return other.feed == row.feed && other.is_published && other.reference_time > row.reference_time;
    });
  }

  // Makes a picture and puts it in place. `publishing_` is held.
  Result<bool> renew(PictureCall call) {
    auto made = make(call);
    if (!made) return made.errors();
    put_in_place(*std::move(made));
    return true;
  }

  void put_in_place(std::shared_ptr<const Snapshot> picture) {
    picture_.store(picture);
    if (settings_.published) settings_.published(std::move(picture));
  }

  Result<std::shared_ptr<Snapshot>> make(PictureCall call) {
    const auto before = picture_.load();
    call.config = &config_;
    call.store = &store_;
    call.weather = &weather_;
    call.past = &past_;
    call.before = before.get();
    call.now = clock_.now();
    call.is_demo = settings_.is_demo;
    call.verify_at_most = settings_.verified_at_once;
    std::vector<std::string> troubles;
    auto made = make_picture(call, troubles);
    const std::lock_guard lock(telling_);
    if (call.read_all) troubles_ = troubles;  // a partial reading sees only a part of them
    return made;
  }

  // One look at all folders: what is whole and due is evaluated and published, run by run.
  Result<bool> look() {
    const std::lock_guard lock(looking_);
    if (settings_.before_look) settings_.before_look(clock_.now());
    std::vector<ArrivedRun> due;
    bool has_news = false, is_any_settling = false;
    for (Arrivals& arrivals : arrivals_) {
      // Kept until they are noted: a full disk may have room again at the next look.
      std::vector<FileRow>& rows = unnoted_[arrivals.feed().id];
      for (FileRow& row : arrivals.look(clock_.now())) rows.push_back(std::move(row));
      if (!rows.empty())
        if (auto noted = store_.note_files(rows); !noted) return failed(noted.errors());
      has_news = take_files(arrivals, std::exchange(rows, {})) || has_news;
      if (!arrivals.feed().hours && arrivals.is_settling()) {  // more of its runs may be on the way
        is_any_settling = true;
        continue;
      }
      for (ArrivedRun& run : arrivals.runs()) due.push_back(std::move(run));
    }
    std::stable_sort(due.begin(), due.end(),
                     [](const ArrivedRun& a, const ArrivedRun& b) { return a.reference_time < b.reference_time; });
    find_units_without_weather();
    if (!is_any_settling) forget_passed_over(due);
    for (const ArrivedRun& run : due)
      if (is_due(run)) {
        auto taken = take(run);
        tell_no_progress();
        if (!taken) return failed(taken.errors());
      }
    const bool is_new_hour = UtcHour::of(clock_.now()) != UtcHour::of(picture_.load()->now);
    if (has_news || is_new_hour) {
      const std::lock_guard publishing(publishing_);
      if (auto renewed = renew({.judge_all = is_new_hour}); !renewed) return failed(renewed.errors());
    }
    if (auto verified = verify_more(); !verified) return failed(verified.errors());
    lateness_.tell(picture_.load()->feeds, late_runs(due));
    forget_old_series();
    const std::lock_guard telling(telling_);
    last_failure_.clear();
    return true;
  }

  // Units whose forecasts were not verified with the pictures before.
  Result<bool> verify_more() {
    constexpr std::size_t kAtOnce = 16;
    const std::lock_guard lock(publishing_);
    std::set<std::string> units = picture_.load()->unverified;
    if (units.empty()) return true;
    if (units.size() > kAtOnce) units.erase(std::next(units.begin(), kAtOnce), units.end());
    return renew({.units = std::move(units)});
  }

  Result<bool> failed(const Errors& errors) {
    const std::lock_guard lock(telling_);
    last_failure_ = text_of(errors);
    return errors;
  }

  // Refused files, and folders that cannot be read, are shown; true when something changed.
  bool take_files(const Arrivals& arrivals, const std::vector<FileRow>& rows) {
    SetAside moved;
    if (!arrivals.feed().set_aside.empty() && arrivals.trouble().empty())
      moved = set_aside(arrivals.feed(), arrivals.refused_for_good(), clock_.now());
    const std::lock_guard lock(publishing_);
    std::vector<FileRow>& refused = weather_.refused[arrivals.feed().id];
    bool is_news = false;
    for (const FileRow& row : rows) {
      is_news = std::erase_if(refused, [&](const FileRow& other) { return other.path == row.path; }) > 0 || is_news;
      if (row.state == "refused") {
        refused.push_back(row);
        is_news = true;
        spdlog::warn("feed {}: {} refused: {}", row.feed, row.path, row.why);
      }
    }
    show_newest_only(refused);
    std::string& trouble = weather_.trouble[arrivals.feed().id];
    const std::string before = std::exchange(trouble, arrivals.trouble());
    if (trouble.empty()) trouble = tell_of_moved(moved, refused, is_news);
    return trouble != before || is_news;
  }

  static void show_newest_only(std::vector<FileRow>& refused) {
    if (refused.size() <= kRefusedShown) return;
    std::stable_sort(refused.begin(), refused.end(), [](const FileRow& a, const FileRow& b) { return a.seen_at > b.seen_at; });
    refused.resize(kRefusedShown);
  }

  // Where the operator asks for it, refused files leave the folder; what is told of them says where they are. `publishing_`
  // is held. What went wrong with it; sets `is_news` when something was moved.
  std::string tell_of_moved(SetAside& done, std::vector<FileRow>& refused, bool& is_news) {
    std::vector<FileRow> moved;
    for (const auto& [from, to] : done.moved)
      for (FileRow& row : refused)
        if (row.path == from) {
          row.hint += fmt::format("{}the file was moved to {}", row.hint.empty() ? "" : "; ", to);
          moved.push_back(row);
        }
    is_news = is_news || !moved.empty();
    if (moved.empty()) return std::move(done.trouble);
    if (auto noted = store_.note_files(moved); !noted) return text_of(noted.errors());
    return std::move(done.trouble);
  }

  // The newest run of each feed is read again for units that were added or moved since.
  void find_units_without_weather() {
    const std::lock_guard lock(publishing_);
    const auto picture = picture_.load();
    for (const RunRow& row : weather_.rows) {
      if (!row.is_published || !is_newest_of_feed(row)) continue;
      for (const auto& [id, view] : picture->units) {
        const auto kept = weather_.runs.find(id);
        const bool has_it = kept != weather_.runs.end() &&
                            std::any_of(kept->second.begin(), kept->second.end(),
                                        [&](const UnitRunPtr& run) { return run->id == row.id && is_for(*run, view->unit); });
        if (!has_it && !passed_over_.contains(row.id)) read_again_.insert(row.id);
      }
    }
  }

  bool is_late(const ArrivedRun& run) const {
    const ingest::Feed& feed = config_.feeds[run.order];
    const auto after = feed.late_after ? span_of(*feed.late_after) : std::nullopt;
    return after && clock_.now() >= run.reference_time + *after;
  }
  bool is_ahead(const ArrivedRun& run) const { return run.reference_time > clock_.now() + kAheadOfNow; }
  // Refused for that when it came, maybe before a restart.
  static bool was_ahead(const RunRow& row) { return row.reference_time > row.computed_at + kAheadOfNow; }

  // Whether there is something to do for a run that is at hand: the same content is evaluated once.
  bool is_due(const ArrivedRun& run) const {
    if (const auto passed = passed_over_.find(run.id); passed != passed_over_.end() && passed->second.first == run.content_hash)
      return false;
    if (const auto again = readings_.is_time_to_try(run, clock_.now())) return *again;
    const RunRow* row = weather_.row(run.id);
    if (!row || read_again_.contains(run.id)) return true;
    if (row->content_hash != run.content_hash) return !counts(*row) || !readings_.cover(run);
    if (row->state == "refused" && was_ahead(*row)) return !is_ahead(run);
    return row->state == "incomplete" && !row->is_published && config_.feeds[run.order].use_incomplete && is_late(run);
  }

  Result<bool> take(const ArrivedRun& run) {
    const RunRow* known = weather_.row(run.id);
    RunRow row;
    row.id = run.id;
    row.feed = run.feed;
    row.reference_time = run.reference_time;
    row.content_hash = run.content_hash;
    const bool is_same = known && known->content_hash == run.content_hash;
    // What was never published is not revised by what completes it.
    row.revision = known ? known->revision + (!is_same && counts(*known) ? 1 : 0) : 1;
    row.received_at = is_same ? known->received_at : clock_.now();
    row.computed_at = clock_.now();
    if (is_ahead(run)) {
      row.state = "refused";
      row.details = why_json(run, {fmt::format("its reference time {} is ahead of now, {}; check the clock of this machine and "
                                               "the time in the file",
                                               utc_text(run.reference_time), utc_text(clock_.now()))});
      return show_only(std::move(row), "its reference time is ahead of now");
    }
    const auto picture = picture_.load();
    std::vector<const Unit*> units;
    for (const auto& [id, view] : picture->units) units.push_back(&view->unit);
    const ingest::Feed& feed = config_.feeds[run.order];
    const Stopwatch reading;
    // Where a run comes file by file its headers say whether it is complete: only then are all its values read.
    auto read = feed.hours && run.files.size() > 1 ? read_run_for(feed, run, {}, *weather_.shelf) : Result<ReadRun>(ReadRun());
    if (read && is_enough(*read, run))
      read = read_run_for(feed, run, units, *weather_.shelf, settings_.series_held,
                          [&](double share) { tell_progress(run, "reading", share); });
    const double read_s = reading.seconds();
    const bool is_of_use = read && is_enough(*read, run);
    // What came of files that went or were written meanwhile says nothing of those that are there now; what failed for want of
    // something may succeed. Neither is held against the contents.
    const bool is_as_seen = arrivals_[run.order].are_as_seen(run);
    const bool is_for_now = read ? read->may_lack_less : all_may_pass(read.errors());
    const bool is_void = !is_of_use && (!is_as_seen || is_for_now);
    if (is_void)
      row.content_hash.clear();
    else
      read_again_.erase(run.id);
    if (is_void && is_as_seen)
      readings_.failed_for_now(run, clock_.now());
    else
      readings_.ended(run);
    if (known && counts(*known) && is_void) return true;
    if (known && counts(*known) && !is_of_use) {
      pass_over(run, read ? fmt::format("it lacks {}", fmt::join(read->lacks, "; ")) : text_of(read.errors()));
      return true;
    }
    if (!read) {
      row.state = "refused";
      row.details = why_json(run, {text_of(read.errors())});
      return show_only(std::move(row), text_of(read.errors()));
    }
    row.state = read->lacks.empty() ? "complete" : "incomplete";
    row.details = std::move(read->details);
    if (!is_of_use) return show_only(std::move(row), fmt::format("it lacks {}", fmt::join(read->lacks, "; ")));
    // A whole one that is older than what is published is kept for the hours that have passed. One that lacks something
    // counts only if it is published: it does, whenever it came.
    row.is_published = is_newest_of_feed(row) || row.state == "incomplete";
    tell_progress(run, "judging", 0);
    auto published = publish(std::move(row), std::move(read->units), read_s);
    if (published) readings_.counted(run);
    return published;
  }

  // Complete, or as much as there will be.
  bool is_enough(const ReadRun& read, const ArrivedRun& run) const {
    return read.lacks.empty() || (config_.feeds[run.order].use_incomplete && is_late(run));
  }

  void tell_progress(const ArrivedRun& run, std::string_view doing, double share) {
    const std::lock_guard lock(telling_);
    progress_ = Progress{run.id, run.reference_time, doing, share};
  }

  void tell_no_progress() {
    const std::lock_guard lock(telling_);
    progress_.reset();
  }

  // Runs that are late, lack something and are not used.
  std::vector<std::string> late_runs(const std::vector<ArrivedRun>& runs) const {
    std::vector<std::string> late;
    for (const ArrivedRun& run : runs) {
      const RunRow* row = weather_.row(run.id);
      if (row && row->state == "incomplete" && !row->is_published && is_late(run)) late.push_back(run.id);
    }
    return late;
  }

  // What is no longer there, or is again what was read, is no trouble any more.
  void forget_passed_over(const std::vector<ArrivedRun>& runs) {
    const std::lock_guard lock(telling_);
    std::erase_if(passed_over_, [&](const auto& passed) {
      const auto run = std::find_if(runs.begin(), runs.end(), [&](const ArrivedRun& r) { return r.id == passed.first; });
      return run == runs.end() || run->content_hash != passed.second.first;
    });
  }

  // What is there of a run now is worse than what was published of it: that goes on serving.
  void pass_over(const ArrivedRun& run, const std::string& why) {
    spdlog::warn("run {}: its files are not what they were and are not used: {}", run.id, why);
    const std::lock_guard lock(telling_);
    passed_over_[run.id] = {run.content_hash, why};
  }

  // A run that is shown with its reasons, and does not count.
  Result<bool> show_only(RunRow row, const std::string& why) {
    const std::lock_guard lock(publishing_);
    if (auto done = store_.publish({row, {}, {}}); !done) return done;
    const RunRow* known = weather_.row(row.id);
    if (!known || known->state != row.state) spdlog::info("run {} is {}: {}", row.id, row.state, why);  // once
    weather_.put_row(std::move(row));
    return renew({});
  }

  // DESIGN §8: series first, then one transaction that makes them count, then the swap.
  Result<bool> publish(RunRow row, std::map<std::string, UnitRunPtr, std::less<>> units, double read_s) {
    for (auto& [id, read] : units) {
      auto run = std::make_shared<UnitRun>(*read);
      run->revision = row.revision;
      read = std::move(run);
    }
    auto next = units.begin();
    const auto put = store_.put_series(row.id, row.revision, row.content_hash, [&]() -> Result<std::vector<SeriesBlob>> {
      if (next == units.end()) return std::vector<SeriesBlob>();
      const auto& [id, run] = *next++;
      return blobs_of(id, *run);
    });
    if (!put) return put;

    const std::lock_guard lock(publishing_);
    KnownWeather before = weather_;
    Publication publication{row, {}, {}};
    weather_.put_row(row);
    for (const auto& [id, run] : units) weather_.put_run(id, run);
    const Stopwatch judging;
    double judging_s = 0;
    auto made = make({.fresh_row = &row, .fresh = &units, .carried = &publication.carried, .judge_all = true});
    if (made) {
      judging_s = judging.seconds();
      publication.run.details = with_timings(row.details, read_s, judging_s);
      weather_.put_row(publication.run);
      for (FeedView& feed : (*made)->feeds)
        for (RunRow& shown : feed.runs)
          if (shown.id == row.id) shown.details = publication.run.details;
    }
    auto done = made ? store_.publish(publication) : Result<bool>(made.errors());
    if (!done) {
      weather_ = std::move(before);
      return done;
    }
    put_in_place(*std::move(made));
    spdlog::info("run {} published, revision {}: read in {:.3f} s, judged in {:.3f} s", row.id, row.revision, read_s, judging_s);
    return true;
  }

  void forget_old_series() {
    const auto today = std::chrono::floor<std::chrono::days>(clock_.now());
    if (today == forgotten_on_) return;
    forgotten_on_ = today;
    if (auto done = store_.forget_series(today - kSeriesKept); !done)
      spdlog::warn("old series could not be dropped: {}", text_of(done.errors()));
  }

  const Config& config_;
  Store& store_;
  Clock& clock_;
  const EngineSettings settings_;
  std::vector<ingest::WeatherTable> past_;  // hours of past years
  PublishedPicture picture_;

  std::mutex looking_;  // taken before `publishing_`; guards what follows
  std::vector<Arrivals> arrivals_;
  std::set<std::string> read_again_;                     // ids of runs
  std::map<std::string, std::vector<FileRow>> unnoted_;  // by feed
  Readings readings_;
  Lateness lateness_;
  std::chrono::sys_days forgotten_on_{};

  std::mutex publishing_;  // held while a picture is made and put in place
  KnownWeather weather_;   // changed only with both held; read with either

  mutable std::mutex telling_;
  std::map<std::string, std::pair<std::string, std::string>> passed_over_;  // by run: content and why; read while looking
  std::vector<std::string> troubles_;
  std::string last_failure_;
  std::optional<Progress> progress_;
  std::atomic<std::uint64_t> heartbeat_ = 0;

  FolderWatch watch_;
  std::jthread thread_;  // last: ends before what it uses
};

}  // namespace

Result<std::unique_ptr<Engine>> Engine::start(const Config& config, Store& store, Clock& clock, EngineSettings settings) {
  auto engine = std::make_unique<WatchingEngine>(config, store, clock, std::move(settings));
  if (auto begun = engine->begin(); !begun) return begun.errors();
  return std::unique_ptr<Engine>(std::move(engine));
}

}  // namespace hakea::service
