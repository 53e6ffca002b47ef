#include "core/alert/watch.h"

#include <algorithm>

#include "core/days/explain.h"

namespace hakea::core {
namespace {

using std::chrono::days;
using std::chrono::seconds;

constexpr int kDaysAhead = 5;      // earlier ones are for the digest
constexpr int kRunsThatAgree = 2;  // to open
constexpr std::chrono::hours kEdgeMoved{1};
constexpr std::chrono::hours kTurnAhead{48}, kTurnMoved{3};
constexpr std::chrono::hours kClosesAhead{12};
constexpr std::chrono::hours kSpellMoved{6}, kSpellApart{12};
constexpr int kSmokyHours = 4;
constexpr std::chrono::hours kSmokeFrom{12}, kSmokeTo{36};
constexpr std::chrono::hours kRainAhead{24}, kNoticeAhead{24};
constexpr std::chrono::hours kFeedNews{24};   // how long a feed's state is worth telling
constexpr int kCrewsFrom = 1, kCrewsTo = 4;   // days ahead
constexpr int kRareFrom = 2, kRareTo = 5;     // days ahead
constexpr double kRareDays = 5;               // a year
constexpr std::chrono::hours kDigestLate{3};  // a morning's digest that could not be told by then is left out

// Of a window, a notice or a district's crews: what it is about and the date.
std::string day_key(const std::string& about, LocalDate date) { return about + "/" + iso_date(date); }

std::string text_of(const TimeSpan& span) {
  return std::to_string(span.start.time_since_epoch().count()) + "-" + std::to_string(span.end.time_since_epoch().count());
}

seconds apart(UtcTime a, UtcTime b) { return a < b ? b - a : a - b; }

class Watch {
 public:
  Watch(WatchMemory& memory, const AlertFacts& facts, UtcTime now) : memory_(memory), facts_(facts), now_(now) {}

  std::vector<AlertEvent> events() {
    // Bookings first: what they lose, their windows lose.
    for (const BookingFacts& booking : facts_.bookings) see(booking);
    for (const UnitFacts& unit : facts_.units)
      if (unit.is_confirmed)
        for (const DayFacts& day : unit.days) see(unit, day);
    for (const UnitFacts& unit : facts_.units) see_notices(unit);
    for (const UnitFacts& unit : facts_.units) see_rare(unit);
    for (const OpenBurnFacts& burn : facts_.burns) see(burn);
    for (const DistrictFacts& district : facts_.districts) see(district);
    for (const FeedFacts& feed : facts_.feeds) see(feed);
    forget();
    return std::move(events_);
  }

 private:
  AlertEvent& tell(AlertKind kind, std::string thread, UtcTime expires_at, const std::string& what_makes_it_one) {
    AlertEvent event;
    event.kind = kind;
    event.thread = std::move(thread);
    event.at = now_;
    event.expires_at = expires_at;
    event.key = std::string(row_of(kind).type) + " " + event.thread + " " + what_makes_it_one + " " +
                std::to_string(now_.time_since_epoch().count());
    event.id = event_id(now_, event.key);
    events_.push_back(std::move(event));
    return events_.back();
  }

  AlertEvent& tell_of_day(AlertKind kind, const UnitFacts& unit, LocalDate date, const std::optional<TimeSpan>& span,
                          const std::string& what_makes_it_one) {
    const UtcTime end_of_day = unit.zone->day_begin(date + days(1));
    AlertEvent& event = tell(kind, day_key(unit.id, date), span ? span->end : end_of_day, what_makes_it_one);
    event.unit = unit.id;
    event.district = unit.district;
    event.date = date;
    event.run = unit.run;
    event.hours = span;
    if (const DayFacts* day = facts_.day(unit.id, date)) event.confidence = day->confidence;
    return event;
  }

  int lead_days(const UnitFacts& unit, LocalDate date) const { return static_cast<int>((date - unit.zone->date(now_)).count()); }

  // --- windows ---

  void see(const UnitFacts& unit, const DayFacts& day) {
    const int lead = lead_days(unit, day.date);
    if (lead < 0) return;
    const std::string key = day_key(unit.id, day.date);
    WindowMemory memory;
    if (const auto known = memory_.windows.find(key); known != memory_.windows.end()) memory = known->second;
    const bool is_new_run = unit.is_run_complete && unit.run != memory.run;
    if (is_new_run) memory.run = unit.run;
    if (day.verdict == Verdict::met && day.window && day.window->end > now_) {
      if (is_new_run) ++memory.met_runs;
      if (!memory.is_open)
        open(unit, day, lead, memory);
      else
        follow(unit, day, lead, is_new_run, memory);
    } else if (day.verdict != Verdict::unknown && unit.is_run_complete) {
      memory.met_runs = memory.moved_runs = 0;
      // What has begun is not lost by its hours passing; a burn that is booked is followed by its booking.
      if (memory.is_open && now_ < memory.told.start) lose(unit, day.date, memory);
    }
    if (memory.is_open || memory.met_runs > 0)
      memory_.windows.insert_or_assign(key, memory);
    else
      memory_.windows.erase(key);
  }

  void open(const UnitFacts& unit, const DayFacts& day, int lead, WindowMemory& memory) {
    if (!unit.is_run_complete || lead > kDaysAhead) return;
    if (memory.met_runs < kRunsThatAgree && lead > 1 && !(day.smallest_margin > 1)) return;
    AlertEvent& event = tell_of_day(AlertKind::window_opened, unit, day.date, day.window, unit.run);
    event.says = "open " + text_of(*day.window);
    memory.is_open = true;
    memory.told = *day.window;
    memory.surest = day.confidence;
    memory.moved_runs = 0;
    for (auto& [id, booking] : memory_.bookings)
      if (is_of(id, unit.id, day.date)) {
        booking.is_lost = false, booking.is_armed = true;
        if (!booking.end_told) booking.end_told = day.window->end;
      }
  }

  void follow(const UnitFacts& unit, const DayFacts& day, int lead, bool is_new_run, WindowMemory& memory) {
    const bool has_begun = now_ >= memory.told.start;  // the hours that pass move its start
    const bool is_moved = (!has_begun && apart(day.window->start, memory.told.start) >= kEdgeMoved) ||
                          apart(day.window->end, memory.told.end) >= kEdgeMoved;
    if (!is_moved) {
      memory.moved_runs = 0;
      if (unit.is_run_complete && !has_begun && day.confidence < memory.surest) {  // there are those who wait for that
        AlertEvent& event = tell_of_day(AlertKind::window_changed, unit, day.date, memory.told,
                                        unit.run + " " + std::string(word(day.confidence)));
        event.says = "open " + text_of(memory.told);
        memory.surest = day.confidence;
      }
      return;
    }
    if (is_new_run) ++memory.moved_runs;
    if (!unit.is_run_complete || (memory.moved_runs < kRunsThatAgree && lead > 1)) return;
    AlertEvent& event = tell_of_day(AlertKind::window_changed, unit, day.date, day.window, unit.run + text_of(*day.window));
    event.before = memory.told;
    event.says = "open " + text_of(*day.window);
    memory.told = {has_begun ? memory.told.start : day.window->start, day.window->end};
    memory.moved_runs = 0;
    for (auto& [id, booking] : memory_.bookings)
      if (is_of(id, unit.id, day.date)) booking.end_told = day.window->end;
  }

  void lose(const UnitFacts& unit, LocalDate date, WindowMemory& memory) {
    AlertEvent& event = tell_of_day(AlertKind::window_lost, unit, date, memory.told, unit.run);
    event.before = memory.told;
    event.says = "lost";
    memory.is_open = false;
    forget_told(unit.id, date);
  }

  // What waits to be told of a lost window is dropped: should the window come back, it has to be decided anew.
  void forget_told(const std::string& unit, LocalDate date) {
    memory_.notices.erase(day_key(unit, date));
    memory_.rares.erase(day_key(unit, date));
  }

  // --- bookings ---

  bool is_of(const std::string& booking, const std::string& unit, LocalDate date) const {
    return std::any_of(facts_.bookings.begin(), facts_.bookings.end(),
                       [&](const BookingFacts& b) { return b.id == booking && b.unit == unit && b.date == date; });
  }

  void see(const BookingFacts& booking) {
    const UnitFacts* unit = facts_.unit(booking.unit);
    const DayFacts* day = facts_.day(booking.unit, booking.date);
    if (!unit || !unit->is_confirmed) return;
    BookingMemory& memory = memory_.bookings[booking.id];
    const auto window = memory_.windows.find(day_key(booking.unit, booking.date));
    const bool is_open = window != memory_.windows.end() && window->second.is_open;
    // Booked before there was a window: people plan on the one that was told since.
    const std::optional<TimeSpan> briefed = booking.briefed ? booking.briefed
                                            : is_open       ? std::optional(window->second.told)
                                                            : std::nullopt;
    if (memory.date != booking.date || memory.briefed != booking.briefed) {
      memory = {};
      memory.date = booking.date;
      memory.briefed = booking.briefed;
      memory.is_armed = booking.was_met || is_open;
      if (briefed) memory.end_told = briefed->end;
    }
    const std::optional<TimeSpan> planned = day && day->window && day->verdict == Verdict::met ? day->window : briefed;
    if (!planned || now_ >= planned->end || (!day && !booking.is_lit)) return;
    const UtcTime start = briefed ? briefed->start : planned->start;
    const auto event_of = [&](AlertKind kind, const std::optional<TimeSpan>& span) -> AlertEvent& {
      AlertEvent& event = tell_of_day(kind, *unit, booking.date, span, booking.id + " " + unit->run);
      event.booking = booking.id;
      event.before = briefed;
      return event;
    };
    const bool fails = !booking.is_lit &&
                       (day->verdict == Verdict::out || day->verdict == Verdict::near_miss || day->verdict == Verdict::blocked);
    if (fails && memory.is_armed && !memory.is_lost && now_ < start) {
      const bool is_by_tail = day->is_tail_out && day->window && day->verdict != Verdict::blocked;
      AlertEvent& event = event_of(is_by_tail ? AlertKind::booking_tail_fails : AlertKind::booking_window_lost,
                                   is_by_tail ? day->window : briefed);
      event.says = "lost";
      memory.is_lost = true;
      forget_told(booking.unit, booking.date);
      if (window != memory_.windows.end()) {
        window->second.met_runs = window->second.moved_runs = 0;
        if (window->second.is_open) lose(*unit, booking.date, window->second);
      }
    }
    if (booking.turn && booking.turn->at >= now_ && start - now_ <= kTurnAhead &&
        (!memory.turn_told || apart(*memory.turn_told, booking.turn->at) >= kTurnMoved)) {
      AlertEvent& event = event_of(AlertKind::booking_wind_shift, planned);
      event.turn = booking.turn;
      memory.turn_told = booking.turn->at;
    }
    see_end(booking, day, start, memory, event_of);
    if (booking.smoky_night_hours >= kSmokyHours && !memory.is_smoke_told && start - now_ >= kSmokeFrom &&
        start - now_ <= kSmokeTo) {
      event_of(AlertKind::booking_night_smoke, planned).amount = booking.smoky_night_hours;
      memory.is_smoke_told = true;
    }
    if (booking.rain_mm && *booking.rain_mm >= booking.rain_limit_mm && !memory.is_rain_told && start > now_ &&
        start - now_ <= kRainAhead) {
      AlertEvent& event = event_of(AlertKind::booking_rain, planned);
      event.amount = booking.rain_mm;
      event.limit = booking.rain_limit_mm;
      memory.is_rain_told = true;
    }
  }

  // Of the burn day itself: an end that comes an hour or more before what was told.
  template <class EventOf>
  void see_end(const BookingFacts& booking, const DayFacts* day, UtcTime start, BookingMemory& memory, const EventOf& event_of) {
    if (!memory.end_told || memory.is_lost || start - now_ > kClosesAhead) return;
    std::optional<UtcTime> end = booking.out_at;
    if (day && day->verdict == Verdict::met && day->window && (!end || day->window->end < *end)) end = day->window->end;
    if (!end || *end > *memory.end_told - kEdgeMoved || *end <= start) return;
    AlertEvent& event = event_of(AlertKind::booking_closes_earlier, TimeSpan{start, *end});
    event.before = TimeSpan{start, *memory.end_told};
    event.says = "open " + text_of(TimeSpan{start, *end});
    event.expires_at = *memory.end_told;
    memory.end_told = *end;
  }

  // --- notices ---

  void see_notices(const UnitFacts& unit) {
    if (unit.notice_days <= 0 || !unit.is_confirmed) return;
    for (const DayFacts& day : unit.days) {
      const std::string key = day_key(unit.id, day.date);
      const UtcTime deadline = unit.zone->day_begin(day.date - days(unit.notice_days - 1));
      if (now_ >= deadline || deadline - now_ > kNoticeAhead || memory_.notices.contains(key)) continue;
      const auto booking = std::find_if(facts_.bookings.begin(), facts_.bookings.end(),
                                        [&](const BookingFacts& b) { return b.unit == unit.id && b.date == day.date; });
      const bool is_booked = booking != facts_.bookings.end();
      const auto window = memory_.windows.find(key);
      const bool is_open = window != memory_.windows.end() && window->second.is_open;
      const bool is_wanted = is_booked ? day.verdict == Verdict::met || day.verdict == Verdict::unknown : is_open;
      if (!is_wanted || (is_booked && booking->is_notice_given)) continue;
      const std::optional<TimeSpan> span = day.window ? day.window : is_booked ? booking->briefed : std::nullopt;
      AlertEvent& event = tell_of_day(AlertKind::notice_due, unit, day.date, span, "");
      if (is_booked) event.booking = booking->id;
      event.expires_at = deadline;
      memory_.notices[key] = day.date;
    }
  }

  // --- rare windows ---

  void see_rare(const UnitFacts& unit) {
    if (!unit.is_confirmed || !unit.met_days_a_year || *unit.met_days_a_year > kRareDays) return;
    for (const DayFacts& day : unit.days) {
      const std::string key = day_key(unit.id, day.date);
      const int lead = lead_days(unit, day.date);
      const auto window = memory_.windows.find(key);
      if (window == memory_.windows.end() || !window->second.is_open || !day.window || memory_.rares.contains(key)) continue;
      if (lead < kRareFrom || lead > kRareTo || day.confidence > Confidence::likely) continue;
      tell_of_day(AlertKind::window_rare, unit, day.date, day.window, unit.run);
      memory_.rares[key] = day.date;
    }
  }

  // --- open burns ---

  void see(const OpenBurnFacts& burn) {
    std::vector<SpellTold>& told = memory_.spells[burn.booking];
    std::erase_if(told, [&](const SpellTold& t) { return t.hours.end <= now_; });
    const auto overlap = [](const TimeSpan& a, const TimeSpan& b) { return a.start < b.end && b.start < a.end; };
    for (const DangerSpell& spell : burn.spells) {
      // What was told of another spell that is still there is that one's, near as it may be.
      const auto is_of_another = [&](const SpellTold& t) {
        return std::any_of(burn.spells.begin(), burn.spells.end(),
                           [&](const DangerSpell& other) { return &other != &spell && overlap(other.hours, t.hours); });
      };
      const auto same = std::find_if(told.begin(), told.end(), [&](const SpellTold& t) {
        const bool is_near = spell.hours.start < t.hours.end + kSpellApart && t.hours.start < spell.hours.end + kSpellApart;
        return overlap(spell.hours, t.hours) || (is_near && !is_of_another(t));
      });
      if (same != told.end()) {
        // One that has begun moves with the hours that pass.
        const bool is_moved = spell.hours.start > now_ && apart(spell.hours.start, same->hours.start) >= kSpellMoved;
        if (!is_moved && spell.rank <= same->rank) continue;
      }
      AlertEvent& event = tell(AlertKind::open_burn_danger, burn.unit, spell.hours.end,
                               burn.booking + " " + text_of(spell.hours) + " " + std::to_string(spell.rank));
      event.unit = burn.unit;
      event.district = burn.district;
      event.booking = burn.booking;
      event.hours = spell.hours;
      if (const UnitFacts* unit = facts_.unit(burn.unit)) event.run = unit->run;
      if (same != told.end()) {
        event.before = same->hours;
        *same = {spell.hours, std::max(spell.rank, same->rank)};
      } else {
        told.push_back({spell.hours, spell.rank});
      }
    }
    if (told.empty()) memory_.spells.erase(burn.booking);
  }

  // --- districts and feeds ---

  void see_digest(const DistrictFacts& district) {
    if (!district.zone) return;
    const LocalDate date = district.zone->date(now_);
    const UtcTime due = district.zone->instant(date, district.digest_at);
    const std::string key = day_key(district.id, date);
    if (now_ < due || now_ >= due + kDigestLate || memory_.digests.contains(key)) return;
    AlertEvent& event =
        tell(AlertKind::digest_daily, "digest/" + district.id, district.zone->day_begin(date + days(1)), iso_date(date));
    event.district = district.id;
    event.date = date;
    memory_.digests[key] = date;
  }

  void see(const DistrictFacts& district) {
    see_digest(district);
    std::map<LocalDate, std::pair<int, std::vector<std::string>>> wanted;
    const TimeZone* zone = nullptr;
    for (const UnitFacts& unit : facts_.units) {
      if (unit.district != district.id || !unit.is_confirmed) continue;
      zone = unit.zone;
      for (const DayFacts& day : unit.days) {
        const auto window = memory_.windows.find(day_key(unit.id, day.date));
        const int lead = lead_days(unit, day.date);
        if (window == memory_.windows.end() || !window->second.is_open || lead < kCrewsFrom || lead > kCrewsTo) continue;
        wanted[day.date].first += unit.crews;
        wanted[day.date].second.push_back(unit.id);
      }
    }
    for (const auto& [date, asked] : wanted) {
      const std::string key = day_key(district.id, date);
      if (asked.first <= district.crews || asked.second.size() < 2 || memory_.crews.contains(key)) continue;
      AlertEvent& event = tell(AlertKind::district_short_of_crews, key, zone->day_begin(date), "");
      event.district = district.id;
      event.date = date;
      event.units = asked.second;
      event.amount = asked.first;
      event.limit = std::max(district.crews, 0);
      memory_.crews[key] = date;
    }
  }

  void see(const FeedFacts& feed) {
    FeedMemory& memory = memory_.feeds[feed.id];
    if (feed.is_late != memory.is_late) {
      AlertEvent& event = tell(feed.is_late ? AlertKind::feed_late : AlertKind::feed_recovered, "feed/" + feed.id,
                               now_ + kFeedNews, feed.published);
      event.feed = feed.id;
      event.run = feed.published;
      event.says = feed.is_late ? "late" : "current";
      memory.is_late = feed.is_late;
    }
    if (!feed.incomplete_run.empty() && feed.incomplete_run != memory.incomplete_run) {
      AlertEvent& event = tell(AlertKind::run_incomplete, feed.incomplete_run, now_ + kFeedNews, "");
      event.feed = feed.id;
      event.run = memory.incomplete_run = feed.incomplete_run;
    }
    if (!feed.published.empty() && feed.published != memory.published) {
      AlertEvent& event = tell(AlertKind::run_published, feed.published, now_ + kFeedNews, "");
      event.feed = feed.id;
      event.run = memory.published = feed.published;
    }
  }

  // What lies behind is over.
  void forget() {
    std::erase_if(memory_.windows, [&](const auto& entry) {
      return entry.second.is_open ? entry.second.told.end <= now_ : !is_ahead(entry.first);
    });
    std::erase_if(memory_.bookings, [&](const auto& entry) {
      return std::none_of(facts_.bookings.begin(), facts_.bookings.end(),
                          [&](const BookingFacts& booking) { return booking.id == entry.first; });
    });
    std::erase_if(memory_.spells, [&](const auto& entry) {
      return std::none_of(facts_.burns.begin(), facts_.burns.end(),
                          [&](const OpenBurnFacts& burn) { return burn.booking == entry.first; });
    });
    const LocalDate first_kept(std::chrono::floor<days>(now_.time_since_epoch()) - days(2));
    for (auto* dated : {&memory_.notices, &memory_.crews, &memory_.rares, &memory_.digests})
      std::erase_if(*dated, [&](const auto& entry) { return entry.second < first_kept; });
  }

  // Whether a "UNIT/DATE" is of a day that is still judged.
  bool is_ahead(const std::string& key) const {
    const std::size_t slash = key.rfind('/');
    const UnitFacts* unit = facts_.unit(key.substr(0, slash));
    return unit && std::any_of(unit->days.begin(), unit->days.end(),
                               [&](const DayFacts& day) { return iso_date(day.date) == key.substr(slash + 1); });
  }

  WatchMemory& memory_;
  const AlertFacts& facts_;
  const UtcTime now_;
  std::vector<AlertEvent> events_;
};

}  // namespace

std::vector<AlertEvent> watch(WatchMemory& memory, const AlertFacts& facts, UtcTime now) {
  return Watch(memory, facts, now).events();
}

}  // namespace hakea::core
