#include "service/engine/picture.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <tuple>

#include "core/prescription/limit_hours.h"
#include "service/base/clock.h"
#include "service/base/workers.h"
#include "service/engine/assessment.h"
#include "service/engine/at_issue.h"
#include "service/engine/judge.h"
#include "service/engine/people.h"
#include "service/engine/stored_runs.h"
#include "service/engine/verification.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

using std::chrono::seconds;

// How often a feed comes until two of its runs have been seen [our own default].
constexpr seconds kUsualCycle = std::chrono::hours(12);
constexpr seconds kPatience = std::chrono::minutes(30);

struct Rhythm {
  seconds cycle = kUsualCycle, delay{0};  // between reference times; from one to its run's arrival
};

Rhythm rhythm_of(const std::vector<RunRow>& runs) {
  Rhythm rhythm;
  std::optional<seconds> shortest;
  for (std::size_t i = 0; i + 1 < runs.size() && i < 8; ++i) {
    const seconds apart = runs[i].reference_time - runs[i + 1].reference_time;
    if (apart > seconds(0) && (!shortest || apart < *shortest)) shortest = apart;
  }
  if (shortest) rhythm.cycle = *shortest;
  for (const RunRow& run : runs)
    if (run.state == "complete") {
      rhythm.delay = std::clamp<seconds>(run.received_at - run.reference_time, seconds(0), rhythm.cycle);
      break;
    }
  return rhythm;
}

FeedView view_of_feed(const ingest::Feed& feed, const KnownWeather& weather, UtcTime now) {
  FeedView view;
  view.id = feed.id;
  for (const RunRow& row : weather.rows)
    if (row.feed == feed.id) view.runs.push_back(row);
  if (const auto refused = weather.refused.find(feed.id); refused != weather.refused.end()) view.refused = refused->second;
  if (const auto trouble = weather.trouble.find(feed.id); trouble != weather.trouble.end()) view.trouble = trouble->second;
  const Rhythm rhythm = rhythm_of(view.runs);
  const auto newest = std::find_if(view.runs.begin(), view.runs.end(),
                                   [](const RunRow& row) { return row.is_published && row.state == "complete"; });
  if (newest == view.runs.end()) return view;
  view.next_expected = newest->reference_time + rhythm.cycle + rhythm.delay;
  view.newest_complete = run_note(*newest, view.next_expected);
  if (now - newest->reference_time > rhythm.cycle * 3 / 2 + rhythm.delay)
    view.freshness = Freshness::stale;
  else
    view.freshness = now > *view.next_expected + kPatience ? Freshness::late : Freshness::current;
  return view;
}

// Where the stations are that feeds tell of.
StationPlaces places_of_stations(const KnownWeather& weather) {
  StationPlaces places;
  for (const auto& [unit, runs] : weather.runs)
    for (const UnitRunPtr& run : runs) {
      if (!run->is_observed) continue;
      for (const auto& stations : run->points)
        for (const UnitSeries& series : stations)
          if (series.is_at_hand()) places.try_emplace(series.station(), series.sampled_site());
    }
  return places;
}

class Maker {
 public:
  Maker(const PictureCall& call, std::vector<std::string>& troubles) : call_(call), troubles_(troubles) {}

  Result<std::shared_ptr<Snapshot>> make() {
    picture_->number = call_.before ? call_.before->number + 1 : 1;
    picture_->now = call_.now;
    picture_->made_at = clock_time();
    picture_->is_demo = call_.is_demo;
    if (auto read = read_districts(*call_.store, *picture_, troubles_); !read) return read.errors();
    for (const ingest::Feed& feed : call_.config->feeds) picture_->feeds.push_back(view_of_feed(feed, *call_.weather, call_.now));
    if (auto read = read_units(); !read) return read.errors();
    for (const auto* all : {&picture_->units, &picture_->retired})
      for (const auto& [id, view] : *all) picture_->neighbours.add(view->unit);
    judge();
    return picture_;
  }

 private:
  // A unit while it is judged.
  struct Judged {
    std::shared_ptr<UnitView> view;
    std::shared_ptr<UnitWeatherRecord> record;
    std::string verified_key;  // of the verification that is due; empty where none is
    std::vector<CarriedRow> carried;
    std::vector<std::string> troubles;
  };

  Result<bool> read_units() {
    if (call_.before && !call_.read_all) {
      picture_->units = call_.before->units;
      picture_->retired = call_.before->retired;
      for (const std::string& id : call_.units)
        if (auto read = read_one(id); !read) return read.errors();
      return true;
    }
    const auto units = call_.store->entries(EntryKind::unit, true);
    if (!units) return units.errors();
    const auto prescriptions = call_.store->entries(EntryKind::prescription);
    if (!prescriptions) return prescriptions.errors();
    std::map<std::string, std::vector<Entry>, std::less<>> by_unit;
    for (const Entry& entry : *prescriptions) by_unit[entry.id.substr(0, entry.id.find('/'))].push_back(entry);
    for (const Entry& unit : *units) put(unit, by_unit[unit.id]);
    return true;
  }

  Result<bool> read_one(const std::string& id) {
    picture_->units.erase(id);
    picture_->retired.erase(id);
    const auto unit = call_.store->entry(EntryKind::unit, id);
    if (!unit) return unit.errors();
    if (!*unit) return true;
    std::vector<Entry> prescriptions;
    for (const char* which : {"main", "edging"}) {
      auto entry = call_.store->entry(EntryKind::prescription, id + "/" + which);
      if (!entry) return entry.errors();
      if (*entry && !(*entry)->is_withdrawn) prescriptions.push_back(**std::move(entry));
    }
    put(**unit, prescriptions);
    return true;
  }

  void put(const Entry& entry, const std::vector<Entry>& prescriptions) {
    auto view = read_unit(entry, prescriptions, call_.config->fuels, troubles_);
    if (!view) return;
    (entry.is_withdrawn ? picture_->retired : picture_->units).insert_or_assign(entry.id, view);
    fresh_.insert(entry.id);
  }

  bool lies_beside_a_fresh_one(const Unit& unit) const {
    const std::vector<std::string> beside = picture_->neighbours.of(unit);
    return std::any_of(beside.begin(), beside.end(), [&](const std::string& id) { return fresh_.contains(id); });
  }

  // Each judged unit gets a view of its own; the others' are shared with the picture before.
  void judge() {
    const PostedWeather posted = posted_weather(picture_->observations, places_of_stations(*call_.weather),
                                                picture_->now - kVerifiedDays - std::chrono::days(1));
    std::vector<Judged> all;
    for (auto& [id, view] : picture_->units) {
      if (!call_.judge_all && !fresh_.contains(id) && !call_.units.contains(id) && !lies_beside_a_fresh_one(view->unit)) {
        if (call_.before && call_.before->unverified.contains(id)) picture_->unverified.insert(id);
        continue;
      }
      if (call_.carried) call_.weather->carried[id];  // the map is not changed by several threads
      Judged& judged = all.emplace_back();
      judged.view = std::make_shared<UnitView>(*view);
      count_fuel_age(*judged.view, call_.config->fuels, call_.now);
      judged.record = give_weather(*judged.view, entered_for(posted, judged.view->unit));
    }
    for (const Judged& judged : all) picture_->units[judged.view->unit.id] = judged.view;
    for_all(all.size(), [&](std::size_t i) { judge_one(all[i]); });
    const std::vector<Judged*> due = due_for_verification(all);
    for_all(due.size(), [&](std::size_t i) { verify_forecasts(*due[i]); });
    for (Judged& judged : all) {
      std::move(judged.troubles.begin(), judged.troubles.end(), std::back_inserter(troubles_));
      if (call_.carried) std::move(judged.carried.begin(), judged.carried.end(), std::back_inserter(*call_.carried));
      if (!judged.view->days.empty()) weigh_days(*judged.view);
    }
  }

  void judge_one(Judged& judged) const {
    UnitView& view = *judged.view;
    if (!view.history && call_.past) view.history = past_of(view.unit);
    view.days.clear();
    if (!judged.record) return;
    begin_record(judged);
    give_whole_runs(judged);
    const auto record = whole(view.weather);
    if (!record) {
      judged.troubles.push_back(
          fmt::format("{}: it cannot be judged: {}; {}", view.unit.id, record.error().what, record.error().hint));
      return;
    }
    view.days = judged_days(**record, view.unit, plan_of_unit(*picture_, view.unit), picture_->now);
    ask_earlier_runs(judged, **record);
    judged.verified_key = verification_due(view);
  }

  // As many as may be verified with this picture, in order of their names; the others wait for the next.
  std::vector<Judged*> due_for_verification(std::vector<Judged>& all) {
    std::vector<Judged*> due;
    const std::size_t of_a_unit = foretelling(verified_from(), verified_to()).size();
    for (Judged& judged : all) {
      if (judged.verified_key.empty()) continue;
      if (due.empty() || (due.size() + 1) * of_a_unit <= call_.verify_at_most)
        due.push_back(&judged);
      else
        picture_->unverified.insert(judged.view->unit.id);
    }
    return due;
  }

  const CarriedDays& carried_of(const Unit& unit) const {
    static const CarriedDays kNone;
    const auto known = call_.weather->carried.find(unit.id);
    return known == call_.weather->carried.end() ? kNone : known->second;
  }

  // Of a run that is being published, the rain days that have ended with it are carried first.
  void begin_record(Judged& judged) const {
    const Unit& unit = judged.view->unit;
    const auto begin = [&](std::vector<std::string>& troubles) {
      judged.record->begin_with(state_to_begin_with(unit, carried_of(unit), judged.record->forecast_begins(), troubles));
    };
    begin(judged.troubles);
    if (!call_.carried) return;
    judged.carried = carried_rows(*judged.record, unit, carried_of(unit));
    CarriedDays& days = call_.weather->carried.find(unit.id)->second;
    for (const CarriedRow& row : judged.carried) days.insert_or_assign(row.rain_day, row);
    judged.troubles.clear();
    begin(judged.troubles);
  }

  // Beside a newest run that lacks something, what the whole ones before it say.
  void give_whole_runs(Judged& judged) const {
    UnitWeatherRecord& record = *judged.record;
    const Unit& unit = judged.view->unit;
    std::vector<UnitRunPtr> runs = record.runs();
    for (const UnitRunPtr& newest : record.newest()) {
      const RunRow* row = call_.weather->row(newest->id);
      if (!row || row->state != "incomplete") continue;
      record.lacks_something = true;
      const ingest::Feed& feed = call_.config->feeds[newest->order];
      const auto last = std::find_if(call_.weather->rows.begin(), call_.weather->rows.end(),
                                     [&](const RunRow& other) { return other.feed == feed.id && other.state == "complete"; });
      auto found =
          last == call_.weather->rows.end() ? Result<UnitRunPtr>(nullptr) : known_run(*judged.view, *last, feed, newest->order);
      if (!found) judged.troubles.push_back(fmt::format("{}: {} cannot be read: {}", unit.id, last->id, found.error().what));
      UnitRunPtr run = found && *found && is_for(**found, unit) ? *found : nullptr;
      if (run && run->is_whole() && !newest->is_whole())  // what the shelf does not take is held
        if (auto rest = put_aside(*run, *call_.weather->shelf)) run = std::make_shared<UnitRun>(*std::move(rest));
      std::erase_if(runs, [&](const UnitRunPtr& other) {
        return other->order == newest->order && (!run || other->reference_time >= run->reference_time);
      });
      if (run) runs.push_back(run);
    }
    if (!record.lacks_something || runs.empty()) return;
    auto of_whole_runs = std::make_shared<UnitWeatherRecord>(std::move(runs), record.seen());
    of_whole_runs->begin_with(state_to_begin_with(unit, carried_of(unit), of_whole_runs->forecast_begins(), judged.troubles));
    record.of_whole_runs = std::move(of_whole_runs);
  }

  // What the runs before the newest said of a unit.
  void ask_earlier_runs(Judged& judged, const UnitWeatherRecord& record) const {
    UnitView& view = *judged.view;
    const ObservedWeather& seen = record.seen();
    const CarriedDays& carried = carried_of(view.unit);
    const UnitRun& newest = *record.newest().front();
    std::map<std::string, std::shared_ptr<const SaidAtIssue>> said;
    for (const RunRow& row : call_.weather->rows) {  // newest first
      if (row.feed != newest.feed || !counts(row) || row.reference_time >= newest.reference_time) continue;
      std::string key = key_at_issue(view.unit, row, record.runs(), carried, seen);
      const auto kept = view.said.find(row.id);
      if (kept == view.said.end() || kept->second->key != key) {
        const auto run = whole_run(view, row, call_.config->feeds[newest.order], newest.order);
        if (!run) {
          judged.troubles.push_back(fmt::format("{}: what {} said cannot be read: {}", view.unit.id, row.id, run.error().what));
          continue;
        }
        SaidAtIssue fresh{std::move(key), {}};
        if (*run && is_for(**run, view.unit)) {
          const AtIssue issue(view.unit, *run, record.runs(), carried, seen);
          fresh.dates = issue.said(issue.hours(core::rows_of_limits(view.unit.prescription)));
        }
        said.emplace(row.id, std::make_shared<const SaidAtIssue>(std::move(fresh)));
      } else {
        said.insert(*kept);
      }
      if (said.size() == kRunsAsked) break;
    }
    view.said = std::move(said);
  }

  // What was measured beside the days of a unit.
  static void weigh_days(UnitView& view) {
    std::vector<const SaidAtIssue*> earlier;
    for (const auto& [run, said] : view.said) earlier.push_back(said.get());
    weigh(view.days, earlier, view.verified.get(), view.weather->newest().front()->feed);
  }

  // A run with all its hours: the one at hand, that of the picture in which it was the newest, else from the store. Its members
  // may be put aside.
  Result<UnitRunPtr> known_run(const UnitView& view, const RunRow& row, const ingest::Feed& feed, std::size_t order) const {
    if (call_.fresh && call_.fresh_row->id == row.id) {
      const auto fresh = call_.fresh->find(view.unit.id);
      return fresh == call_.fresh->end() ? UnitRunPtr() : fresh->second;
    }
    const UnitView* before = call_.before ? call_.before->unit(view.unit.id) : nullptr;
    if (before && before->weather)
      if (UnitRunPtr run = before->weather->newest_of(order); run && run->id == row.id && run->revision == row.revision)
        return run;
    return stored_run(*call_.store, row, feed, order, view.unit.id);
  }
  Result<UnitRunPtr> whole_run(const UnitView& view, const RunRow& row, const ingest::Feed& feed, std::size_t order) const {
    auto run = known_run(view, row, feed, order);
    return run && *run ? whole(*run) : run;
  }

  UtcTime verified_to() const { return std::chrono::floor<std::chrono::days>(picture_->now); }
  UtcTime verified_from() const { return verified_to() - kVerifiedDays; }

  // Once a day of UTC, and where what was seen on days before it or runs have come late: what it will be made from; empty where
  // nothing is due.
  std::string verification_due(UnitView& view) const {
    const UtcHour from = first_hour_from(verified_from()), to = UtcHour::of(verified_to());
    ObservedWeather seen = view.weather->seen();
    seen.keep_only(from, to);
    if (!seen.has_any()) {
      view.verified = nullptr;
      return "";
    }
    std::string key =
        fmt::format("{} {} {:x}", utc_text(verified_to()), view.unit.traits.fuel.age_years, seen.fingerprint(from, to));
    // Where what was seen begins on a rain day that is still to end, its state comes later.
    if (const auto first = seen.first_seen())
      if (const CarriedRow* row = row_to_begin_with(view.unit, carried_of(view.unit), *first, std::chrono::days(0)))
        key += " " + date_text(row->rain_day);
    for (const RunRow& row : foretelling(verified_from(), verified_to())) key += fmt::format(" {}#{}", row.id, row.revision);
    return view.verified && view.verified_key == key ? "" : key;
  }

  void verify_forecasts(Judged& judged) const {
    UnitView& view = *judged.view;
    auto verified = verify(
        view.unit, foretelling(verified_from(), verified_to()), [&](const RunRow& row) { return run_to_verify(view, row); },
        carried_of(view.unit), view.weather->seen(), verified_from(), verified_to());
    if (!verified) {
      judged.troubles.push_back(
          fmt::format("{}: its forecasts cannot be read to be verified: {}", view.unit.id, verified.error().what));
      return;
    }
    view.verified = std::make_shared<const Verification>(*std::move(verified));
    view.verified_key = std::move(judged.verified_key);
  }

  // Runs that count and foretell, with reference times in [from, to), oldest first.
  std::vector<RunRow> foretelling(UtcTime from, UtcTime to) const {
    std::vector<RunRow> rows;
    for (auto row = call_.weather->rows.rbegin(); row != call_.weather->rows.rend(); ++row)
      if (const ingest::Feed* feed = call_.config->feed(row->feed);
          feed && !feed->observed && counts(*row) && row->reference_time >= from && row->reference_time < to)
        rows.push_back(*row);
    return rows;
  }
  // Null for one that was read for other points, or is damaged: the engine reads it again.
  Result<UnitRunPtr> run_to_verify(const UnitView& view, const RunRow& row) const {
    const ingest::Feed& feed = *call_.config->feed(row.feed);
    auto run = whole_run(view, row, feed, call_.config->order_of(feed));
    if (!run && run.error().code != "damaged_series") return run;
    return run && *run && is_for(**run, view.unit) ? run : Result<UnitRunPtr>(UnitRunPtr());
  }

  // What past years say of a unit as it was entered; a changed one comes without.
  std::shared_ptr<const core::History> past_of(const Unit& unit) const {
    if (!have_hours_of(*call_.past, unit)) return nullptr;
    return std::make_shared<const core::History>(
        history_of(unit, unit_hours_of_tables(unit, *call_.past), {}, {}, plan_of_unit(*picture_, unit).holidays));
  }

  // Null, and nothing said of the unit's weather, where no run foretells it.
  std::shared_ptr<UnitWeatherRecord> give_weather(UnitView& view, EnteredWeather entered) const {
    view.weather = nullptr;
    view.run.reset();
    view.sampling.clear();
    view.freshness = Freshness::stale;
    std::vector<UnitRunPtr> runs;
    if (const auto known = call_.weather->runs.find(view.unit.id); known != call_.weather->runs.end())
      for (const UnitRunPtr& run : known->second)
        if (is_for(*run, view.unit)) runs.push_back(run);
    if (std::all_of(runs.begin(), runs.end(), [](const UnitRunPtr& run) { return run->is_observed; })) return nullptr;
    auto record = std::make_shared<UnitWeatherRecord>(runs, std::move(entered), view.unit.points);
    const UnitRunPtr main = record->newest().front();
    for (const FeedView& feed : picture_->feeds) {
      if (feed.id != main->feed) continue;
      view.freshness = feed.freshness;
      for (const RunRow& row : feed.runs)
        if (row.id == main->id) view.run = run_note(row, feed.next_expected);
    }
    for (const UnitRunPtr& run : record->newest())
      for (std::size_t p = 0; p < run->points.size(); ++p) {
        const UnitSeries& series = run->at(p, 0);
        view.sampling.push_back({.feed = run->feed,
                                 .latitude_deg = series.sampled_latitude(),
                                 .longitude_deg = series.sampled_longitude(),
                                 .model_elevation = series.model_elevation(),
                                 .unit_elevation = view.unit.points[p].site.elevation,
                                 .sea = series.sea()});
      }
    for (std::size_t p = 0; p < view.unit.points.size(); ++p) note_stations(*record, p, view);
    view.weather = record;
    return record;
  }

  // Each once, whatever number of its files there is.
  static void note_stations(const UnitWeatherRecord& record, std::size_t point, UnitView& view) {
    std::set<std::pair<std::string, std::string>> told;
    for (const StationOfPoint& station : record.seen().stations(point)) {
      const core::Site site = station.site();
      SamplingNote note{.feed = station.run ? station.run->feed : "observations",
                        .latitude_deg = site.latitude_deg,
                        .longitude_deg = site.longitude_deg,
                        .model_elevation = site.elevation,
                        .unit_elevation = view.unit.points[point].site.elevation,
                        .station = station.name(),
                        .distance_km = station.km};
      if (told.emplace(note.feed, note.station).second) view.sampling.push_back(std::move(note));
    }
  }

  const PictureCall& call_;
  std::vector<std::string>& troubles_;
  std::shared_ptr<Snapshot> picture_ = std::make_shared<Snapshot>();
  std::set<std::string> fresh_;  // read from the store for this picture
};

}  // namespace

const RunRow* KnownWeather::row(std::string_view run) const {
  const auto found = std::find_if(rows.begin(), rows.end(), [&](const RunRow& row) { return row.id == run; });
  return found == rows.end() ? nullptr : &*found;
}

void KnownWeather::put_row(RunRow row) {
  std::erase_if(rows, [&](const RunRow& other) { return other.id == row.id; });
  rows.push_back(std::move(row));
  std::sort(rows.begin(), rows.end(), [](const RunRow& a, const RunRow& b) {
    return std::tuple(b.reference_time, a.id) < std::tuple(a.reference_time, b.id);
  });
}

bool is_seen_no_more(const UnitRun& observed, UtcTime newest) {
  return observed.end().start() < newest - kVerifiedDays - std::chrono::days(1);
}

void KnownWeather::put_run(const std::string& unit, UnitRunPtr run, bool is_large) {
  std::vector<UnitRunPtr>& kept = runs[unit];
  const std::string id = run->id;
  std::erase_if(kept, [&](const UnitRunPtr& other) { return other->id == run->id; });
  kept.push_back(std::move(run));
  std::sort(kept.begin(), kept.end(), [](const UnitRunPtr& a, const UnitRunPtr& b) {
    return std::tuple(b->reference_time, a->order) < std::tuple(a->reference_time, b->order);
  });
  const UtcTime oldest = kept.front()->reference_time - kKeptDays - std::chrono::days(1);
  // Whole are the newest run, those that are its members, and those that were members of a run that is asked what it said.
  const auto kept_whole = [](const UnitRun& one) {
    return one.lagged_runs > 1 ? one.lagged_runs + static_cast<int>(kRunsAsked) : 1;
  };
  std::map<std::size_t, int> seen;  // by feed
  std::vector<UnitRunPtr> still, foretold;
  for (const UnitRunPtr& one : kept) {
    const int newer = seen[one->order]++;
    const bool is_old = one->is_observed ? is_seen_no_more(*one, kept.front()->reference_time) : one->reference_time < oldest;
    if (newer > 0 && is_old) continue;
    still.push_back(one);
    if (one->is_observed) continue;
    // Of an older run only the hours that at most one newer run covers are of use: for what that one lacks.
    const std::size_t k = foretold.size();
    foretold.push_back(one);
    if (newer < kept_whole(*one) || k < 2 || one->end() <= foretold[k - 2]->first()) continue;
    // What cannot be read from the shelf or written to it stays as long as it is; who needs it will say so.
    if (auto part = before(*one, foretold[k - 2]->first(), *shelf)) still.back() = std::make_shared<UnitRun>(*std::move(part));
  }
  // What the shelf does not take is held.
  for (UnitRunPtr& one : still)
    if (is_large && one->id == id && one->is_whole())
      if (auto rest = put_aside(*one, *shelf)) one = std::make_shared<UnitRun>(*std::move(rest));
  kept = std::move(still);
}

Result<std::shared_ptr<Snapshot>> make_picture(const PictureCall& call, std::vector<std::string>& troubles) {
  return Maker(call, troubles).make();
}

}  // namespace hakea::service
