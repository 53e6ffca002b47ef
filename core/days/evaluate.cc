#include "core/days/evaluate.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "core/base/result.h"
#include "core/catalogue/status.h"
#include "core/days/blocked.h"
#include "core/days/compare.h"
#include "core/days/confidence.h"
#include "core/days/explain.h"
#include "core/days/exposed.h"
#include "core/days/night_smoke.h"
#include "core/days/score.h"
#include "core/prescription/scopes.h"

namespace hakea::core {

using std::chrono::days;

std::string_view word(Verdict v) {
  switch (v) {
    case Verdict::met: return "met";
    case Verdict::unknown: return "unknown";
    case Verdict::near_miss: return "near_miss";
    case Verdict::out: return "out";
    case Verdict::blocked: return "blocked";
  }
  return "";
}

std::string_view word(TailVerdict v) {
  switch (v) {
    case TailVerdict::none: return "none";
    case TailVerdict::in: return "in";
    case TailVerdict::out: return "out";
    case TailVerdict::unknown: return "unknown";
  }
  return "";
}

std::string_view word(Confidence c) {
  switch (c) {
    case Confidence::firm: return "firm";
    case Confidence::likely: return "likely";
    case Confidence::possible: return "possible";
    case Confidence::early: return "early";
  }
  return "";
}

std::string_view word(Edge e) {
  switch (e) {
    case Edge::limit: return "limit";
    case Edge::within: return "within";
    case Edge::latest_start: return "latest_start";
    case Edge::horizon: return "horizon";
    case Edge::missing: return "missing";
    case Edge::now: return "now";
  }
  return "";
}

const Window* best_window(const Day& day) {
  const Window* best = nullptr;
  for (const Window& window : day.windows)
    if (!best || (window.unconfirmed == best->unconfirmed ? window.fit > best->fit : best->unconfirmed)) best = &window;
  return best;
}

namespace {

std::vector<const UnitHours*> points_of(std::span<const std::vector<UnitHours>> all, std::size_t member) {
  std::vector<const UnitHours*> points;
  for (const auto& point : all) points.push_back(&point[member]);
  return points;
}

// Of all feeds' hours.
UnitClock clock_of(const DayInput& input) {
  std::size_t hours = input.points.front().front().hours;
  for (const auto& feed : input.other_feeds) hours = std::max(hours, feed.front().front().hours);
  return UnitClock(*input.unit, *input.prescription, input.points.front().front().first, hours);
}

// One record a member.
std::vector<std::unique_ptr<Record>> records_of(const DayInput& input, const UnitClock& clock,
                                                std::span<const std::vector<UnitHours>> points) {
  std::vector<std::unique_ptr<Record>> records;
  for (std::size_t m = 0; m < points.front().size(); ++m)
    records.push_back(std::make_unique<Record>(clock, *input.prescription, points_of(points, m), input.now));
  return records;
}

struct Candidate {
  Stretch stretch;
  Certainty certainty = Certainty::known;
  bool is_short = false;
  Score score;
};

Window window_of(const Record& record, const Judge& judge, const Candidate& c) {
  const DateHours& date = judge.first().date;
  const UnitClock& clock = record.clock();
  Window w;
  w.start = clock.hour(date.within_begin + c.stretch.begin);
  w.end = clock.hour(date.within_begin + c.stretch.end);
  w.fit = c.score.fit;
  w.unconfirmed = c.certainty == Certainty::possible;
  w.open_ended = date.within_begin + c.stretch.end >= record.hours() && date.within_end > record.hours();
  w.latest_light_up = std::min(std::max(w.end - record.duration(), w.start), clock.hour(date.last_start)).start();
  w.sunset = clock.sunset(date.date);
  w.opens = what_opens(record, judge, c.stretch, c.certainty);
  w.closes = what_closes(record, judge, c.stretch, c.certainty);
  return w;
}

// Windows of the day, then those that would be if unknown hours were in and that overlap no window.
std::vector<Candidate> candidates(const Record& record, const Judge& judge) {
  std::vector<Candidate> found;
  for (const Stretch& s : judge.windows(Certainty::known)) found.push_back({s, Certainty::known, false, {}});
  const std::size_t confirmed = found.size();
  const int recorded_end = record.hours() - judge.first().date.within_begin;
  for (Stretch s : judge.windows(Certainty::possible)) {
    s.end = std::min(s.end, recorded_end);
    if (s.begin >= s.end) continue;
    const bool overlaps = std::any_of(found.begin(), found.begin() + static_cast<std::ptrdiff_t>(confirmed),
                                      [&](const Candidate& c) { return s.begin < c.stretch.end && c.stretch.begin < s.end; });
    if (!overlaps) found.push_back({s, Certainty::possible, false, {}});
  }
  if (found.empty())
    for (const Stretch& s : judge.short_stretches()) found.push_back({s, Certainty::known, true, {}});
  for (Candidate& c : found) c.score = score(record, judge, c.stretch, c.certainty, c.is_short);
  return found;
}

// The best-fitting window, else unconfirmed window, else short stretch; of equals the earliest.
const Candidate* best_of(const std::vector<Candidate>& all) {
  const Candidate* best = nullptr;
  for (const Candidate& c : all)
    if (!best || (c.certainty == best->certainty && c.score.fit > best->score.fit)) best = &c;
  return best;
}

void count_missing(std::map<std::pair<std::size_t, Reason>, int>& counts, const LimitHours& limit, int begin, int end,
                   int forget_before) {
  for (int h = begin; h < end; ++h)
    if (h >= forget_before && limit.fit(h) == Fit::unknown) ++counts[{limit.limit().quantity, limit.why(h)}];
}

std::vector<MissingInput> missing_inputs(const Record& record, const Judge& judge) {
  if (record.limits().empty()) return {{.quantity = {}, .hours = 0, .reason = Reason::no_limits}};
  std::map<std::pair<std::size_t, Reason>, int> by_limit, all;
  const DateHours& date = judge.first().date;
  for (const LimitHours& limit : record.limits()) {
    by_limit.clear();
    const int begin = std::max(date.within_begin, record.now_index());
    if (is_tail(limit.limit())) {
      const auto [from, to] = tail_hours(limit.limit(), judge.last().date, record.clock(), judge.last().date.within_end);
      count_missing(by_limit, limit, from, to, from);
    } else if (limit.limit().scope == Scope::same_day) {
      count_missing(by_limit, limit, date.begin, date.end, record.now_index());
    } else if (limit.limit().scope == Scope::before) {
      count_missing(by_limit, limit, begin - limit.limit().hours, begin, begin - limit.limit().hours);
    } else {
      count_missing(by_limit, limit, begin, date.within_end, begin);
    }
    for (const auto& [key, hours] : by_limit) all[key] = std::max(all[key], hours);
  }
  std::vector<MissingInput> result;
  for (const auto& [key, hours] : all) result.push_back({.quantity = key.first, .hours = hours, .reason = key.second});
  return result;
}

// The record held against the same limits, each narrower by a quarter of a forecast error.
class NarrowRecord {
 public:
  explicit NarrowRecord(const Record& record, UtcTime now) : prescription_(record.prescription()) {
    for (Limit& limit : prescription_.limits) limit = narrowed(limit, catalogue()[limit.quantity], kMarginKept);
    record_ = std::make_unique<Record>(record.clock(), prescription_, record.points(), now);
  }
  bool is_met(LocalDate date) const { return Judge(*record_, date).is_met(); }

 private:
  static constexpr double kMarginKept = 0.25;  // forecast errors: two points of humidity are within the noise
  Prescription prescription_;
  std::unique_ptr<Record> record_;
};

std::vector<std::size_t> provisional_quantities(const DayInput& input) {
  std::vector<std::size_t> found;
  for (const Limit& limit : input.prescription->limits)
    if (status_of(catalogue()[limit.quantity], *input.unit) == Status::provisional &&
        std::find(found.begin(), found.end(), limit.quantity) == found.end())
      found.push_back(limit.quantity);
  return found;
}

// Of these only states have a level to find; what follows from them carries their flag.
bool is_state(const QuantityRow& quantity) {
  return quantity.nature == Nature::state || quantity.nature == Nature::daily || quantity.nature == Nature::daily_noon;
}

std::vector<std::size_t> in_spin_up(const Record& record, const DateHours& date) {
  std::vector<std::size_t> found;
  for (const LimitHours& limit : record.limits()) {
    const std::size_t q = limit.limit().quantity;
    if (!is_state(limit.quantity()) || std::find(found.begin(), found.end(), q) != found.end()) continue;
    const auto is_in_spin_up = [&](const UnitHours* point) {
      const Column& column = point->columns[q];
      for (int h = std::max(date.within_begin, 0); h < std::min(date.within_end, record.hours()); ++h)
        if (column.flags(static_cast<std::size_t>(h)) & flag::kSpinUp) return true;
      return false;
    };
    if (std::any_of(record.points().begin(), record.points().end(), is_in_spin_up)) found.push_back(q);
  }
  return found;
}

Day weather_day(const DayInput& input, const Record& record, LocalDate date) {
  const Judge judge(record, date);
  Day day;
  day.date = date;
  day.verdict = day.weather = judge.weather();
  day.draft = !input.prescription->confirmed;
  day.missing = missing_inputs(record, judge);
  if (record.limits().empty()) return day;
  const std::vector<Candidate> found = candidates(record, judge);
  for (const Candidate& c : found)
    if (!c.is_short) day.windows.push_back(window_of(record, judge, c));
  if (const Candidate* best = best_of(found)) {
    if (best->is_short) day.short_stretch = window_of(record, judge, *best);
    day.fit = best->score.fit;
    day.smallest_margin = best->score.margin;
    day.parts = best->score.parts;
    day.notes = best->score.notes;
    day.tail = best->score.tail;
    if (!best->is_short) day.night_smoke = night_smoke_not_kept(record, judge, best->stretch, best->certainty);
  } else {
    day.fit = 0;
  }
  day.limiting = judge.limiting();
  day.spin_up = in_spin_up(record, judge.first().date);
  return day;
}

// What a member's day comes to: enough to choose the member that is shown.
struct MemberDay {
  std::size_t member;
  Verdict weather = Verdict::unknown;
  double fit = 0;
};

MemberDay member_day(const Record& record, std::size_t member, LocalDate date) {
  if (record.limits().empty()) return {member};
  const Judge judge(record, date);
  const std::vector<Candidate> found = candidates(record, judge);
  const Candidate* best = best_of(found);
  return {member, judge.weather(), best ? best->score.fit : 0};
}

// Of several members the class that more than half of them agree on, shown by its member of lower median fit.
struct Vote {
  explicit Vote(const std::vector<MemberDay>& all) {
    const int of = static_cast<int>(all.size());
    std::map<Verdict, int> votes;
    for (const MemberDay& d : all) ++votes[d.weather];
    const auto majority = std::find_if(votes.begin(), votes.end(), [&](const auto& v) { return 2 * v.second > of; });
    if (majority != votes.end()) agreed = majority->first;
    std::vector<const MemberDay*> agreeing;
    for (const MemberDay& d : all)
      if (majority == votes.end() || d.weather == agreed) agreeing.push_back(&d);
    std::stable_sort(agreeing.begin(), agreeing.end(), [](const MemberDay* x, const MemberDay* y) { return x->fit < y->fit; });
    shown = agreeing[(agreeing.size() - 1) / 2]->member;
    met = {.met = votes.contains(Verdict::met) ? votes[Verdict::met] : 0, .of = of};
    const auto fewer = [](const auto& x, const auto& y) { return x.second < y.second; };
    agreement = {std::max_element(votes.begin(), votes.end(), fewer)->second, of};
  }
  Verdict agreed = Verdict::unknown;
  std::size_t shown = 0;
  MemberCount met{};
  Agreement agreement{};
};

}  // namespace

void rank_days(std::vector<Day>& all) {
  std::stable_sort(all.begin(), all.end(), [](const Day& a, const Day& b) { return ranks_before(a, b); });
  for (std::size_t i = 0; i < all.size(); ++i) all[i].rank = static_cast<int>(i) + 1;
}

std::vector<Fit> fit_by_hour(const DayInput& input) {
  const auto points = points_of(input.points, 0);
  std::vector<Fit> fits(points.front()->hours, input.prescription->limits.empty() ? Fit::unknown : Fit::in);
  for (const Limit& limit : input.prescription->limits) {
    if (limit.kind == Kind::preference || limit.scope != Scope::each_hour) continue;
    const LimitHours hours(limit, *input.prescription, points);
    for (std::size_t i = 0; i < fits.size(); ++i) fits[i] = std::min(fits[i], hours.fit(static_cast<int>(i)));
  }
  return fits;
}

std::vector<std::vector<Fit>> fit_of_limits_by_hour(const DayInput& input) {
  const auto points = points_of(input.points, 0);
  std::vector<std::vector<Fit>> all;
  for (const Limit& limit : input.prescription->limits) {
    const LimitHours hours(limit, *input.prescription, points);
    std::vector<Fit>& fits = all.emplace_back(points.front()->hours);
    for (std::size_t i = 0; i < fits.size(); ++i) fits[i] = hours.fit(static_cast<int>(i));
  }
  return all;
}

namespace {

// The members that have something of their own to say of a date: of members whose hours are the same from the start of the
// date's window may begin to the end of its tail one, and none whose hours end before both the first member's and the window.
std::vector<std::size_t> members_on(const DayInput& input, const std::vector<std::unique_ptr<Record>>& records, LocalDate date) {
  const UnitClock& clock = records.front()->clock();
  const DateHours first = clock.date(date);
  const LocalDate last_date = date + days(input.prescription->consecutive_days - 1);
  const DateHours last = clock.date(last_date);
  std::size_t count = records.size();
  if (!input.members_by_hour.empty()) {
    int end = last.within_end;
    for (const Limit& limit : input.prescription->limits)
      if (is_tail(limit)) end = std::max(end, tail_hours(limit, last, clock, last.within_end).second);
    int most = 1;
    for (int h = std::max(first.within_begin, 0); h < std::min(end, static_cast<int>(input.members_by_hour.size())); ++h)
      most = std::max(most, input.members_by_hour[static_cast<std::size_t>(h)]);
    count = std::min(count, static_cast<std::size_t>(most));
  }
  std::vector<std::size_t> members;
  for (std::size_t m = 0; m < count; ++m) {
    const bool ends_early = m > 0 && m < input.member_ends.size() && input.member_ends[m] < input.member_ends[0] &&
                            input.member_ends[m] < clock.hour(last.within_end);
    if (!ends_early) members.push_back(m);
  }
  return members;
}

}  // namespace

std::vector<Day> evaluate_days(const DayInput& input) {
  HAKEA_EXPECT(!input.points.empty() && !input.points.front().empty());
  const UnitClock clock = clock_of(input);
  const std::vector<std::unique_ptr<Record>> records = records_of(input, clock, input.points);
  std::vector<ExposedPoints> in_the_open;
  std::vector<std::vector<std::unique_ptr<Record>>> others;
  in_the_open.reserve(input.other_feeds.size() + 1);
  const auto heed = [&](const std::vector<std::unique_ptr<Record>>& mine, std::span<const std::vector<UnitHours>> points) {
    others.push_back(records_of(input, clock, points));
    for (std::size_t m = 0; m < mine.size(); ++m) mine[m]->heed(*others.back()[m % others.back().size()]);
  };
  const auto heed_the_open = [&](const std::vector<std::unique_ptr<Record>>& mine,
                                 std::span<const std::vector<UnitHours>> points) {
    in_the_open.emplace_back(points, *input.prescription);
    if (!in_the_open.back().hours().empty()) heed(mine, in_the_open.back().hours());
  };
  heed_the_open(records, input.points);
  for (const auto& feed : input.other_feeds) {
    auto theirs = records_of(input, clock, feed);
    heed_the_open(theirs, feed);
    for (std::size_t m = 0; m < records.size(); ++m) records[m]->heed(*theirs[m % theirs.size()]);
    others.push_back(std::move(theirs));
  }
  const UnitHours& hours = input.points.front().front();
  const TimeZone& zone = input.unit->zone;
  const LocalDate first = zone.date(input.now), last = hours.hours == 0 ? first : zone.date((hours.end() - 1).start());
  const LocalDate run_date = zone.date(input.reference_time);

  const std::vector<std::size_t> provisional = provisional_quantities(input);
  std::vector<std::unique_ptr<NarrowRecord>> narrow(records.size());  // of members that are shown with met days
  std::vector<Day> result;
  for (LocalDate date = first; date <= last; date += days(1)) {
    const std::vector<std::size_t> members = members_on(input, records, date);
    std::optional<Vote> vote;
    if (members.size() > 1) {
      std::vector<MemberDay> days_of_members;
      for (const std::size_t m : members) days_of_members.push_back(member_day(*records[m], m, date));
      vote.emplace(days_of_members);
    }
    const std::size_t shown = vote ? vote->shown : members.front();
    const Record& record = *records[shown];
    Day day = weather_day(input, record, date);
    day.rests_on.lead_days = static_cast<int>((date - run_date).count());
    if (day.weather == Verdict::near_miss) day.rests_on.keeps_margin = false;
    if (day.weather == Verdict::met) {
      if (!narrow[shown]) narrow[shown] = std::make_unique<NarrowRecord>(record, input.now);
      day.rests_on.keeps_margin = narrow[shown]->is_met(date);
    }
    day.provisional = provisional;
    day.why = why(record, *input.unit, day);
    if (vote) {
      day.verdict = day.weather = vote->agreed;
      day.members = vote->met;
      day.rests_on.members = vote->agreement;
    }
    day.confidence = confidence_of(day.rests_on);
    day.blocked_by = blocked_on_any(*input.unit, *input.prescription, *input.plan, date, clock, input.now);
    if (!day.blocked_by.empty()) day.verdict = Verdict::blocked;
    result.push_back(std::move(day));
  }
  rank_days(result);
  return result;
}

}  // namespace hakea::core
