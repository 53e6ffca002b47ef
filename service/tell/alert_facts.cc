#include "service/tell/alert_facts.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/catalogue/catalogue.h"
#include "core/days/open_burn.h"
#include "core/prescription/limit_hours.h"
#include "service/input/json.h"
#include "service/output/json_text.h"
#include "service/tell/look_ahead.h"
#include "service/tell/said.h"

namespace hakea::service {
namespace {

using core::TimeSpan;
using std::chrono::hours;
using std::chrono::minutes;
using Points = std::vector<std::vector<core::UnitHours>>;

constexpr int kWeekHours = 7 * 24;
constexpr int kGapInSpell = 3;      // hours without danger that do not end a spell
constexpr hours kAfterLightUp{12};  // a change within them finds the burn under way
constexpr hours kAfterWindow{3};    // the direction must hold so long
constexpr double kCalm_kmh = 5, kSaturated = 97;
constexpr double kRainLimit_mm = 2;  // of a unit whose prescription has none
constexpr minutes kSettled{30};      // an incomplete run that has not changed for so long lacks what it lacks

// Municipal guides print these bounds between classes of danger (and 12, which is below what endangers an open burn).
constexpr std::array kFfdiClasses{32.0, 50.0, 75.0, 100.0};

double at(const core::UnitHours& of, std::string_view key, std::size_t i) { return static_cast<double>(of[key][i]); }

std::optional<std::size_t> index_of(const core::UnitHours& of, UtcHour hour) {
  if (hour < of.first || hour >= of.end()) return std::nullopt;
  return static_cast<std::size_t>(hour - of.first);
}

// The best window of a day, where it is confirmed.
std::optional<TimeSpan> confirmed_window(const core::Day& day) {
  const core::Window* best = core::best_window(day);
  if (!best || best->unconfirmed) return std::nullopt;
  return TimeSpan{best->start.start(), best->end.start()};
}

core::UnitFacts facts_of(const UnitView& view) {
  core::UnitFacts unit;
  unit.id = view.unit.id;
  unit.district = view.unit.district;
  unit.zone = &view.unit.traits.zone;
  unit.is_confirmed = view.unit.prescription.confirmed;
  if (view.run) unit.run = view.run->id;
  unit.is_run_complete = view.run && view.run->state == "complete";
  unit.crews = view.unit.needs.crews;
  unit.notice_days = view.unit.notice_days;
  unit.met_days_a_year = met_days_a_year(view);
  for (const core::Day& day : view.days) {
    core::DayFacts fact;
    fact.date = day.date;
    fact.verdict = day.draft ? core::Verdict::unknown : day.verdict;
    fact.window = confirmed_window(day);
    fact.is_tail_out = day.tail.verdict == core::TailVerdict::out;
    fact.smallest_margin = day.smallest_margin;
    fact.confidence = day.confidence;
    unit.days.push_back(std::move(fact));
  }
  return unit;
}

// --- bookings ---

// The window a booking was made on: the best-fitting confirmed one of its frozen day.
void read_frozen(const json::value& body, core::BookingFacts& booking) {
  const json::object* object = body.if_object();
  const json::value* day = object ? object->if_contains("day") : nullptr;
  if (!day || !day->is_object()) return;
  booking.was_met = text_member(*day, "verdict") == "met";
  const json::value* windows = day->as_object().if_contains("windows");
  double best = -1;
  if (windows && windows->is_array())
    for (const json::value& window : windows->as_array()) {
      const auto start = parse_instant(text_member(window, "start")), end = parse_instant(text_member(window, "end"));
      if (!start || !end) continue;
      const json::value *fit = window.as_object().if_contains("fit"), *doubtful = window.as_object().if_contains("unconfirmed");
      if (doubtful && doubtful->is_bool() && doubtful->as_bool()) continue;
      const double value = fit && fit->is_number() ? fit->to_number<double>() : 0;
      if (value > best) best = value, booking.briefed = TimeSpan{*start, *end};
    }
}

void see_out(const UnitView& view, const Points& points, UtcTime now, const TimeSpan& window, core::BookingFacts& booking) {
  const core::UnitPlan undecided;
  const std::vector<core::Fit> fit = core::fit_by_hour({&view.unit.traits, &view.unit.prescription, &undecided, {}, {}, points});
  const core::UnitHours& record = points.front().front();
  for (UtcHour hour = UtcHour::of(std::max(now, window.start)); hour.start() < window.end; hour = hour + 1)
    if (const auto i = index_of(record, hour); i && fit[*i] == core::Fit::out) {
      booking.out_at = std::max(hour.start(), window.start);
      return;
    }
}

void keep_earlier(std::optional<core::WindTurn>& first, const core::WindTurn& turn) {
  if (!first || turn.at < first->at) first = turn;
}

void see_wind(const UnitView& view, const Points& points, UtcTime now, const TimeSpan& window, core::BookingFacts& booking) {
  const core::Prescription& prescription = view.unit.prescription;
  const UtcTime from = std::max(now, window.start);
  // A change is a hazard: what any feed sees counts; of members the first, for among many there is always one that turns.
  for (const auto& members : hours_of_all_feeds(view, Members::first))
    for (const core::UnitHours& record : members)
      for (UtcHour hour = UtcHour::of(from); hour.start() < window.start + kAfterLightUp; hour = hour + 1)
        if (const auto i = index_of(record, hour);
            i && core::is_wind_change(at(record, "wind_shift", *i), at(record, "wind_speed", *i)))
          keep_earlier(booking.turn, {hour.start(), at(record, "wind_shift", *i), at(record, "wind_speed", *i), -1});
  std::vector<const core::UnitHours*> first_members;
  for (const auto& members : points) first_members.push_back(&members.front());
  const core::UnitHours& record = *first_members.front();
  for (const core::Limit& limit : prescription.limits) {
    if (limit.sectors.empty() || limit.kind == core::Kind::preference) continue;
    const core::LimitHours held(limit, prescription, first_members);
    for (UtcHour hour = UtcHour::of(from); hour.start() < window.end + kAfterWindow; hour = hour + 1) {
      const auto i = index_of(record, hour);
      if (!i || held.fit(static_cast<int>(*i)) != core::Fit::out) continue;
      const double wind = at(record, "wind_speed", *i), direction = at(record, "wind_from_direction", *i);
      if (wind >= prescription.wind_for_direction_kmh && !std::isnan(direction))
        keep_earlier(booking.turn, {hour.start(), 0, wind, direction});
    }
  }
}

// The lowest bound that a unit sets on a quantity; NaN where it sets none.
double lower_bound_on(const core::Prescription& prescription, std::string_view key) {
  double lowest = std::numeric_limits<double>::quiet_NaN();
  for (const core::Limit& limit : prescription.limits)
    if (core::catalogue()[limit.quantity].key == key && limit.acceptable.lower && !(lowest <= limit.acceptable.lower->value))
      lowest = limit.acceptable.lower->value;
  return lowest;
}

// Hours of the night after in which smoke would stay where it is: calm, and closed in below the unit's own bounds or near
// saturation.
void see_night(const UnitView& view, const Points& points, const TimeSpan& window, core::BookingFacts& booking) {
  const core::UnitHours& record = points.front().front();
  const double ventilation = lower_bound_on(view.unit.prescription, "ventilation_index"),
               mixing = lower_bound_on(view.unit.prescription, "mixing_height");
  bool has_begun = false;
  for (UtcHour hour = UtcHour::of(window.end); hour.start() < window.end + hours(24); hour = hour + 1) {
    const auto i = index_of(record, hour);
    if (!i) continue;
    const bool is_night = at(record, "solar_elevation", *i) < 0;
    if (has_begun && !is_night) return;
    has_begun = has_begun || is_night;
    const bool is_closed_in = at(record, "ventilation_index", *i) < ventilation || at(record, "mixing_height", *i) < mixing ||
                              at(record, "relative_humidity", *i) >= kSaturated;
    if (is_night && at(record, "wind_speed", *i) < kCalm_kmh && is_closed_in) ++booking.smoky_night_hours;
  }
}

void see_rain(const UnitView& view, const Points& points, const TimeSpan& window, core::BookingFacts& booking) {
  booking.rain_limit_mm = kRainLimit_mm;
  for (const core::Limit& limit : view.unit.prescription.limits)
    if (core::catalogue()[limit.quantity].key == "precipitation_amount" && limit.scope == core::Scope::before &&
        limit.hours > 0 && limit.hours <= 24 && limit.acceptable.upper && limit.acceptable.upper->value > 0)
      booking.rain_limit_mm = limit.acceptable.upper->value;
  const core::UnitHours& record = points.front().front();
  for (UtcHour hour = UtcHour::of(window.start) - 24; hour.start() < window.start; hour = hour + 1)
    if (const auto i = index_of(record, hour); i && !std::isnan(at(record, "precipitation_amount", *i)))
      booking.rain_mm = booking.rain_mm.value_or(0) + at(record, "precipitation_amount", *i);
}

// --- open burns ---

std::vector<core::DangerSpell> spells_of(const UnitView& view, const Points& points, UtcTime now) {
  std::vector<core::DangerSpell> spells;
  for (int lead = 0; lead < kWeekHours; ++lead) {
    const UtcHour hour = UtcHour::of(now) + lead;
    int rank = 0;
    for (const auto& members : points)
      for (const core::UnitHours& record : members)
        if (const auto i = index_of(record, hour)) rank = std::max(rank, danger_rank(record, *i, view.unit.prescription));
    if (rank == 0) continue;
    if (spells.empty() || hour.start() > spells.back().hours.end + hours(kGapInSpell))
      spells.push_back({{hour.start(), hour.end()}, rank});
    spells.back().hours.end = hour.end();
    spells.back().rank = std::max(spells.back().rank, rank);
  }
  return spells;
}

bool is_planned(std::string_view state) { return state == "draft" || state == "committed"; }

void see_bookings(const Snapshot& snapshot, core::AlertFacts& facts) {
  std::map<std::string, Points> known;  // hours of units, computed once
  const auto points_of = [&](const UnitView& view) -> const Points& {
    auto found = known.find(view.unit.id);
    if (found == known.end()) found = known.emplace(view.unit.id, hours_of(view)).first;
    return found->second;
  };
  for (const Entry& entry : snapshot.bookings) {
    const auto body = parse_json(entry.body, entry.id);
    if (!body || !body->is_object()) continue;
    const auto read = parse_district(json_text(json::object{{"bookings", json::array{*body}}}), entry.id);
    if (!read || read->bookings.empty()) continue;  // told as a trouble by the picture
    const Booking& booked = read->bookings.front();
    const UnitView* view = snapshot.unit_or_retired(booked.unit);
    if (!view) continue;
    if (is_open_burn(booked)) {
      core::OpenBurnFacts burn{entry.id, view->unit.id, view->unit.district, {}};
      if (view->weather) burn.spells = spells_of(*view, hours_of_all_feeds(*view), snapshot.now);
      facts.burns.push_back(std::move(burn));
    }
    // What is being lit is followed to the end of its window: a change of wind makes a flank a head.
    const bool is_lit = booked.state == "lit";
    const bool is_coming = is_planned(booked.state) && booked.date >= view->unit.traits.zone.date(snapshot.now);
    if ((is_lit || is_coming) && !view->days.empty()) {
      core::BookingFacts booking;
      booking.id = entry.id;
      booking.is_lit = is_lit;
      booking.unit = view->unit.id;
      booking.date = booked.date;
      booking.is_notice_given = is_notice_given(view->unit, booked);
      read_frozen(*body, booking);
      // Booked on no window: what is looked at is the one that is there now.
      std::optional<TimeSpan> window = booking.briefed;
      if (const core::Day* day = day_on(*view, booked.date); !window && day && !day->draft && day->verdict == core::Verdict::met)
        window = confirmed_window(*day);
      if (window && view->weather && window->end > snapshot.now) {
        const Points& points = points_of(*view);
        see_out(*view, points, snapshot.now, *window, booking);
        see_wind(*view, points, snapshot.now, *window, booking);
        if (!is_lit) see_night(*view, points, *window, booking);
        if (!is_lit) see_rain(*view, points, *window, booking);
      }
      facts.bookings.push_back(std::move(booking));
    }
  }
}

core::FeedFacts facts_of(const FeedView& view, UtcTime now) {
  core::FeedFacts feed;
  feed.id = view.id;
  feed.is_late = view.newest_complete && view.freshness == Freshness::stale;
  for (const RunRow& run : view.runs) {  // newest first
    if (feed.published.empty() && run.is_published) feed.published = run.id;
    const bool is_newer = !view.newest_complete || run.reference_time > view.newest_complete->reference_time;
    if (feed.incomplete_run.empty() && run.state == "incomplete" && is_newer &&
        (run.is_published || now - run.received_at >= kSettled))
      feed.incomplete_run = run.id;
  }
  return feed;
}

// Crews that no open burn holds.
core::DistrictFacts facts_of(const DistrictView& view, const Snapshot& snapshot) {
  core::DistrictFacts district;
  district.id = view.district.id;
  // Before the first run there is nothing to tell of a morning.
  const bool has_days = std::any_of(snapshot.units.begin(), snapshot.units.end(), [&](const auto& unit) {
    return unit.second->unit.district == view.district.id && !unit.second->days.empty();
  });
  if (has_days) district.zone = &zone_of(view);
  district.digest_at = digest_hour(view);
  for (const core::Depot& depot : view.district.means.means.depots) district.crews += depot.crews;
  for (const Booking& booking : view.district.bookings) {
    const UnitView* unit = snapshot.unit(booking.unit);
    if (unit && unit->unit.district == view.district.id && is_open_burn(booking)) district.crews -= unit->unit.needs.patrol_crews;
  }
  return district;
}

}  // namespace

int danger_rank(const core::UnitHours& of, std::size_t i, const core::Prescription& prescription) {
  const double ffdi = at(of, "ffdi", i);
  if (!danger_in(of, i).empty())
    return 1 +
           static_cast<int>(std::count_if(kFfdiClasses.begin(), kFfdiClasses.end(), [&](double bound) { return ffdi >= bound; }));
  if (prescription.confirmed)
    for (const core::Limit& limit : prescription.limits)
      if (core::catalogue()[limit.quantity].key == "ffdi" && limit.scope == core::Scope::days_after && limit.acceptable.upper &&
          ffdi >= limit.acceptable.upper->value)
        return 1;
  return 0;
}

core::AlertFacts alert_facts(const Snapshot& snapshot) {
  core::AlertFacts facts;
  for (const auto& [id, view] : snapshot.units) facts.units.push_back(facts_of(*view));
  see_bookings(snapshot, facts);
  for (const FeedView& feed : snapshot.feeds) facts.feeds.push_back(facts_of(feed, snapshot.now));
  for (const auto& [id, district] : snapshot.districts) facts.districts.push_back(facts_of(district, snapshot));
  return facts;
}

}  // namespace hakea::service
