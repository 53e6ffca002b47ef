#include "service/tell/calendars.h"

#include <fmt/format.h>

#include <algorithm>

#include "service/output/cautions.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

// "Monday 29 March 23:00 +11:00".
std::string at_text(UtcTime t, const TimeZone& zone) {
  return fmt::format("{} {} {}", spoken_date(zone.date(t)), clock_text(t, zone), offset_text(t, zone));
}

std::string run_words(const UnitView& view) {
  std::string text = fmt::format("Run {}; prescription revision {}.", view.run->id, view.prescription_revision);
  if (view.run->state != "complete") text += " The run lacks something.";
  if (view.freshness != Freshness::current) text += fmt::format(" The forecast is {}.", word(view.freshness));
  return text;
}

std::string age_words(const UnitView& view, UtcTime now) {
  const TimeZone& zone = view.unit.traits.zone;
  const auto age = std::chrono::floor<std::chrono::hours>(std::max(now - view.run->reference_time, std::chrono::seconds(0)));
  return fmt::format("Forecast made {}, {} old when this was written, {}.", at_text(view.run->reference_time, zone),
                     counted(static_cast<std::size_t>(age.count()), "hour", "hours"), at_text(now, zone));
}

std::string window_words(const core::Day& day, const core::Window& best, const TimeZone& zone) {
  std::string text = capital(day.why) + ".";
  if (day.fit) text += fmt::format("\nFit {}, {}.", *day.fit, core::word(day.confidence));
  text += fmt::format("\nLight up by {}.", spoken_time(best.latest_light_up, zone));
  std::vector<std::string> others;
  for (const core::Window& window : day.windows)
    if (&window != &best && !window.unconfirmed) others.push_back(spoken_span(window.start.start(), window.end.start(), zone));
  if (!others.empty()) text += fmt::format("\nOther {}: {}.", others.size() == 1 ? "window" : "windows", listed(others));
  if (!day.flags.empty()) text += fmt::format("\nDoubtful: {}.", fmt::join(day.flags, "; "));
  return text;
}

// Why there is no window.
std::string loss_words(const core::Day& day) {
  if (day.draft) return "The prescription is not confirmed.";
  std::vector<std::string> by;
  for (const core::Blocked& blocked : day.blocked_by)
    by.push_back(blocked.why.empty() ? blocked.kind : fmt::format("{} ({})", blocked.kind, blocked.why));
  if (!by.empty()) return "Blocked by " + listed(by) + ".";
  return fmt::format("The day is {}: {}.", spoken(day.verdict), day.why);
}

std::string calendar_cautions(const Snapshot& picture, const std::string& district) {
  std::string text = fmt::format("\n{}\n{}", kGuidance, kAskAboutBans);
  if (const auto found = picture.districts.find(district); found != picture.districts.end())
    for (const std::string& line : found->second.caution) text += "\n" + line;
  return text;
}

std::string centre_text(const Unit& unit) {
  const Position centre = unit.geometry.centroid();
  return fmt::format("{:.4f};{:.4f}", centre.latitude_deg, centre.longitude_deg);
}

CalendarStore& calendars_in(Store& store) {
  HAKEA_EXPECT(store.calendars() != nullptr);
  return *store.calendars();
}

// Adds what a step changed.
void note_step(const CalendarEntryRow* before, std::optional<core::CalendarEntry> after, const std::string& unit,
               const std::string& district, CalendarCommit& commit) {
  if (!after && before) commit.shown_no_more.emplace_back(unit, before->entry.date);
  if (!after || (before && before->entry == *after && before->district == district)) return;
  commit.entries.push_back({unit, district, *std::move(after), 0});
}

}  // namespace

Calendars::Calendars(Store& store) : calendars_(calendars_in(store)) {}

void Calendars::begin_again() {
  const std::lock_guard lock(looking_);
  picture_.reset();
}

Calendars::BookedUnits Calendars::booked_in(const Snapshot& picture) {
  BookedUnits booked;
  for (const auto& [id, district] : picture.districts)
    for (const Booking& booking : district.district.bookings) {
      Booked& date = booked[booking.unit][booking.date];
      date.is_committed = date.is_committed || booking.state == "committed";
      date.is_lit = date.is_lit || is_open_burn(booking) || booking.state == "closed";
    }
  return booked;
}

core::CalendarDay Calendars::day_of(const Snapshot& picture, const UnitView& view, LocalDate date, const BookedDates& booked) {
  const TimeZone& zone = view.unit.traits.zone;
  core::CalendarDay said;
  said.date = date;
  if (const auto found = booked.find(date); found != booked.end()) {
    said.is_committed = found->second.is_committed;
    said.is_lit = found->second.is_lit;
  }
  said.title = fmt::format("{} {}", view.unit.name, view.unit.id);
  said.place = centre_text(view.unit);
  const core::Day* day = day_on(view, date);
  if (!view.run || (!day && date < zone.date(picture.now))) return said;  // nothing is said of a date that is over
  said.run_time = view.run->reference_time;
  said.is_run_complete = view.run->state == "complete";
  said.as_of = age_words(view, picture.now);
  std::string why = "The forecast does not reach that date.";
  if (day) {
    said.verdict = day->verdict;
    const core::Window* best = core::best_window(*day);
    if (day->verdict == core::Verdict::met && !day->draft && best && !best->unconfirmed) {
      said.window = core::TimeSpan{best->start.start(), best->end.start()};
      said.light_until = best->latest_light_up + std::chrono::hours(1);  // the hour may be begun as long as it is not over
      said.opens_now = best->opens.by == core::Edge::now;
      why = window_words(*day, *best, zone);
    } else {
      why = loss_words(*day);
    }
  }
  said.text = fmt::format("{}\n{}{}", why, run_words(view), calendar_cautions(picture, view.unit.district));
  return said;
}

Result<bool> Calendars::step(const Snapshot& picture, const UnitView& view, const BookedDates& booked,
                             CalendarCommit& commit) const {
  const auto rows = calendars_.calendar_entries_of(view.unit.id);
  if (!rows) return rows.errors();
  std::map<LocalDate, const CalendarEntryRow*> dates;
  for (const CalendarEntryRow& row : *rows) dates.emplace(row.entry.date, &row);
  for (const core::Day& day : view.days) dates.emplace(day.date, nullptr);
  const LocalDate today = view.unit.traits.zone.date(picture.now);
  for (const auto& [date, row] : dates) {
    const auto before = row ? std::optional(row->entry) : std::nullopt;
    note_step(row, core::next_entry(before, day_of(picture, view, date, booked), today, picture.now), view.unit.id,
              view.unit.district, commit);
  }
  return true;
}

// A unit that is no longer offered days.
Result<bool> Calendars::step_without(const Snapshot& picture, const std::string& unit, CalendarCommit& commit) const {
  const auto rows = calendars_.calendar_entries_of(unit);
  if (!rows) return rows.errors();
  const UnitView* retired = picture.unit_or_retired(unit);
  const TimeZone zone = retired ? retired->unit.traits.zone : TimeZone();
  for (const CalendarEntryRow& row : *rows) {
    core::CalendarDay gone;
    gone.date = row.entry.date;
    gone.verdict = core::Verdict::blocked;
    gone.title = row.entry.title;
    gone.place = row.entry.place;
    gone.text = fmt::format("The unit is retired.{}", calendar_cautions(picture, row.district));
    note_step(&row, core::next_entry(row.entry, gone, zone.date(picture.now), picture.now), unit, row.district, commit);
  }
  return true;
}

Result<bool> Calendars::look(std::shared_ptr<const Snapshot> picture) {
  if (!picture) return true;
  const std::lock_guard lock(looking_);
  if (picture_ && picture->number <= picture_->number) return true;
  BookedUnits booked = booked_in(*picture);
  CalendarCommit commit;
  const auto booked_of = [](const BookedUnits& of, const std::string& unit) {
    const auto found = of.find(unit);
    return found == of.end() ? BookedDates() : found->second;
  };
  // Units that may have entries and are no longer in the picture; all there are once an hour, since entries of theirs end too.
  std::vector<std::string> others;
  if (picture_ && UtcHour::of(picture_->now) == UtcHour::of(picture->now)) {
    for (const auto& [id, view] : picture_->units) others.push_back(id);
  } else {
    auto known = calendars_.units_in_calendars();
    if (!known) return known.errors();
    others = *std::move(known);
  }
  for (const auto& [id, view] : picture->units) {
    const BookedDates dates = booked_of(booked, id);
    if (picture_) {  // what was not judged again says what it said
      const auto last = picture_->units.find(id);
      if (last != picture_->units.end() && last->second == view && dates == booked_of(booked_, id)) continue;
    }
    if (const auto done = step(*picture, *view, dates, commit); !done) return done;
  }
  for (const std::string& id : others)
    if (!picture->units.contains(id))
      if (const auto done = step_without(*picture, id, commit); !done) return done;
  if (!commit.entries.empty() || !commit.shown_no_more.empty())
    if (const auto done = calendars_.commit_calendars(commit); !done) return done;
  picture_ = std::move(picture);
  booked_ = std::move(booked);
  return true;
}

}  // namespace hakea::service
