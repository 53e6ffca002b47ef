#include "service/tell/alert_words.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/days/explain.h"
#include "core/days/open_burn.h"
#include "service/input/subscription_json.h"
#include "service/output/cautions.h"
#include "service/output/json_writer.h"
#include "service/tell/digest.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

using core::AlertEvent;
using core::AlertKind;
using core::TimeSpan;

struct Words {
  std::string title;
  std::vector<std::string> why;
  std::string clears;
};

const TimeZone& zone_of_event(const AlertEvent& event, const Snapshot& snapshot) {
  static const TimeZone kUtc;
  if (const UnitView* view = snapshot.unit_or_retired(event.unit)) return view->unit.traits.zone;
  if (const auto district = snapshot.districts.find(event.district); district != snapshot.districts.end())
    return zone_of(district->second);
  return snapshot.districts.size() == 1 ? zone_of(snapshot.districts.begin()->second) : kUtc;
}

// "Monday 5 April 10:00 to 16:00 +10:00"; where the clock changes the times have their offsets already.
std::string when(const TimeSpan& span, const TimeZone& zone) {
  const std::string times = spoken_span(span.start, span.end, zone), offset = offset_text(span.start, zone);
  return fmt::format("{} {}{}", spoken_date(zone.date(span.start)), times,
                     times.find(offset) == std::string::npos ? " " + offset : "");
}

// What limits a day, with its value and its limit; empty where nothing does.
std::string limiting_words(const UnitView& view, const core::Day& day) {
  if (!day.limiting || day.limiting->limit >= view.unit.prescription.limits.size()) return "";
  const core::Limit& limit = view.unit.prescription.limits[day.limiting->limit];
  std::string text = spoken(limit);
  if (day.limiting->value)
    text += " " + core::with_unit(static_cast<double>(*day.limiting->value), core::catalogue()[limit.quantity].unit);
  if (day.limiting->at) text += " " + spoken_time(day.limiting->at->start(), view.unit.traits.zone);
  return text + ", " + core::needs_text(limit);
}

std::string tail_words(const UnitView& view, const core::Day& day) {
  if (!day.tail.worst || day.tail.worst->limit >= view.unit.prescription.limits.size()) return "";
  const core::Limit& limit = view.unit.prescription.limits[day.tail.worst->limit];
  return fmt::format("{} {} {}, {}", spoken(limit),
                     core::with_unit(static_cast<double>(day.tail.worst->value), core::catalogue()[limit.quantity].unit),
                     spoken_time(day.tail.worst->at.start(), view.unit.traits.zone), core::needs_text(limit));
}

std::string blocked_words(const core::Day& day) {
  std::vector<std::string> by;
  for (const core::Blocked& blocked : day.blocked_by)
    by.push_back(blocked.why.empty() ? blocked.kind : fmt::format("{}: {}", blocked.kind, blocked.why));
  return by.empty() ? "" : "blocked by " + listed(by);
}

// Why a day is no longer met, and what would make it so again.
void say_loss(const UnitView& view, const core::Day& day, Words& words) {
  if (std::string blocked = blocked_words(day); !blocked.empty()) {
    words.why.push_back(std::move(blocked));
    words.clears = "the day is met again in two complete runs once nothing blocks it";
    return;
  }
  const std::string limiting = limiting_words(view, day);
  if (!limiting.empty()) words.why.push_back(limiting);
  words.why.push_back(fmt::format("the day is now {}: {}", spoken(day.verdict), day.why));
  words.clears = limiting.empty() ? "two complete runs in which the day is met"
                                  : fmt::format("two complete runs in which the day is met; what limits it is {}", limiting);
}

std::string wind_change_words(UtcTime at, double turn_deg, double wind_kmh, const TimeZone& zone) {
  return fmt::format("wind change {}: {:.0f}° at {:.0f} km/h", spoken_time(at, zone), turn_deg, wind_kmh);
}

// The worst of the dangerous hours.
std::vector<std::string> danger_words(const UnitView& view, const TimeSpan& span) {
  std::vector<std::string> why;
  if (!view.weather) return why;
  const TimeZone& zone = view.unit.traits.zone;
  const core::BurnDay worst = core::worst_between(hours_of_all_feeds(view), UtcHour::of(span.start), UtcHour::of(span.end));
  const auto say = [&](std::string_view what, const std::optional<core::WorstHour>& value, std::string_view unit) {
    if (value) why.push_back(spoken(what, *value, unit, zone));
  };
  say("calculated FFDI up to", worst.ffdi, "1");
  say("gust up to", worst.gust, "km/h");
  say("relative humidity down to", worst.humidity, "%");
  if (const auto& change = worst.change)
    why.push_back(wind_change_words(change->at.start(), static_cast<double>(change->turn_deg),
                                    static_cast<double>(change->wind_kmh), zone));
  return why;
}

Words words_of(const AlertEvent& event, const Snapshot& snapshot) {
  Words words;
  const TimeZone& zone = zone_of_event(event, snapshot);
  const UnitView* view = snapshot.unit_or_retired(event.unit);
  const core::Day* day = view && event.date ? day_on(*view, *event.date) : nullptr;
  const std::string name = view ? view->unit.name : event.unit;
  const std::string span = event.hours ? when(*event.hours, zone) : event.date ? spoken_date(*event.date) : "";
  const std::string heading = std::string(core::row_of(event.kind).title) + ": ";
  const std::string of_unit = span.empty() ? name : name + " " + span;
  words.title = heading + of_unit;
  const std::string before = event.before ? "before: " + when(*event.before, zone) : "";
  switch (event.kind) {
    case AlertKind::open_burn_danger:
      if (view && event.hours) words.why = danger_words(*view, *event.hours);
      if (!before.empty()) words.why.push_back("it moved or grew; " + before);
      words.clears = "nothing clears it but the hours themselves, or the burn being closed";
      break;
    case AlertKind::window_opened:
      if (day) words.why.push_back(day->why);
      words.clears = "one complete run in which the day is out, a near miss or blocked";
      break;
    case AlertKind::window_changed:
      words.why.push_back(before);
      if (before.empty() && event.confidence)
        words.why.push_back(fmt::format("confidence is now {}", core::word(*event.confidence)));
      if (day) words.why.push_back(day->why);
      words.clears = "nothing: this is the window now";
      break;
    case AlertKind::window_lost:
    case AlertKind::booking_window_lost:
      if (view && day) say_loss(*view, *day, words);
      break;
    case AlertKind::booking_tail_fails:
      if (view && day) {
        if (std::string tail = tail_words(*view, *day); !tail.empty()) words.why.push_back(std::move(tail));
        words.why.push_back(day->why);
      }
      words.clears = "two complete runs in which the night and days after are in";
      break;
    case AlertKind::booking_wind_shift:
      if (event.turn && event.turn->from_deg >= 0)
        words.why.push_back(fmt::format("the wind leaves its sector {}: from {:.0f}° at {:.0f} km/h",
                                        spoken_time(event.turn->at, zone), event.turn->from_deg, event.turn->wind_kmh));
      else if (event.turn)
        words.why.push_back(wind_change_words(event.turn->at, event.turn->turn_deg, event.turn->wind_kmh, zone));
      words.clears = "told again only if it moves by three hours";
      break;
    case AlertKind::booking_closes_earlier:
      if (event.before && event.hours)
        words.why.push_back(
            fmt::format("it ends {} and not {}", spoken_time(event.hours->end, zone), spoken_time(event.before->end, zone)));
      if (day) words.why.push_back(day->why);
      words.clears = "nothing: brief the crew anew";
      break;
    case AlertKind::notice_due:
      words.why.push_back(fmt::format("notice is due by {} and none is entered", spoken_time(event.expires_at, zone)));
      words.clears = "a notice entered at the booking";
      break;
    case AlertKind::booking_night_smoke:
      words.why.push_back(fmt::format("{:.0f} hours of the night after are calm and closed in: smoke would stay where it is",
                                      event.amount.value_or(0)));
      words.clears = "told once";
      break;
    case AlertKind::booking_rain:
      words.why.push_back(fmt::format("rain {} in the 24 hours before the window, the unit's limit is {}",
                                      core::with_unit(event.amount.value_or(0), "mm"),
                                      core::with_unit(event.limit.value_or(0), "mm")));
      if (day) words.why.push_back(day->why);
      words.clears = "told once";
      break;
    case AlertKind::feed_late:
      words.title = fmt::format("{}{}", heading, event.feed);
      words.why.push_back(event.run.empty() ? "no run has come"
                                            : fmt::format("no complete run since {}; what is shown grows old", event.run));
      words.clears = "a complete run";
      break;
    case AlertKind::feed_recovered:
      words.title = fmt::format("{}{}", heading, event.feed);
      words.why.push_back("the newest complete run is " + event.run);
      break;
    case AlertKind::run_incomplete:
      words.title = fmt::format("{}{}", heading, event.run);
      words.why.emplace_back("it lacks hours or quantities; the last complete run goes on serving");
      words.clears = "the files that are missing";
      break;
    case AlertKind::run_published: words.title = fmt::format("{}{}", heading, event.run); break;
    case AlertKind::district_short_of_crews: {
      std::vector<std::string> names;
      for (const std::string& unit : event.units) {
        const UnitView* one = snapshot.unit(unit);
        names.push_back(one ? one->unit.name : unit);
      }
      words.title = fmt::format("{}{}", heading, event.date ? spoken_date(*event.date) : "");
      words.why.push_back(fmt::format("{} have windows, and together need {:.0f} crews; {:.0f} are free", listed(names),
                                      event.amount.value_or(0), event.limit.value_or(0)));
      words.clears = "told once for a date";
      break;
    }
    case AlertKind::window_rare:
      if (view)
        words.why.push_back(
            fmt::format("by past years the unit's limits are kept on {:.0f} days a year", met_days_a_year(*view).value_or(0)));
      if (day) words.why.push_back(day->why);
      words.clears = "told once for a date";
      break;
    case AlertKind::digest_daily:
    case AlertKind::subscription_failing:
    case AlertKind::subscription_test: break;
  }
  std::erase_if(words.why, [](const std::string& why) { return why.empty(); });
  return words;
}

void write_span(JsonWriter& out, std::string_view name, const std::optional<TimeSpan>& span, const TimeZone& zone) {
  if (!span) return;
  out.key(name).begin_object().text("start", local_text(span->start, zone)).text("end", local_text(span->end, zone)).end_object();
}

std::string data_of(const AlertEvent& event, const Words& words, const Snapshot& snapshot) {
  const TimeZone& zone = zone_of_event(event, snapshot);
  const UnitView* view = snapshot.unit_or_retired(event.unit);
  JsonWriter out;
  out.begin_object().text("title", words.title);
  if (!event.unit.empty()) {
    out.key("unit").begin_object().text("id", event.unit);
    if (view) out.text("name", view->unit.name);
    out.end_object();
  }
  if (!event.district.empty()) out.text("district", event.district);
  if (!event.booking.empty()) out.text("booking", event.booking);
  if (!event.feed.empty()) out.text("feed", event.feed);
  if (event.date) out.text("date", date_text(*event.date));
  write_span(out, event.kind == AlertKind::open_burn_danger ? "hours" : "window", event.hours, zone);
  write_span(out, "previous", event.before, zone);
  if (event.hours) out.text("lead", duration_text(std::max(event.hours->start - event.at, std::chrono::seconds(0))));
  if (!event.says.empty()) out.text("state", event.says.substr(0, event.says.find(' ')));
  if (event.confidence) out.text("confidence", core::word(*event.confidence));
  if (!event.units.empty()) {
    out.key("units").begin_list();
    for (const std::string& unit : event.units) out.text(unit);
    out.end_list();
  }
  out.key("why").begin_list();
  for (const std::string& why : words.why) out.text(why);
  out.end_list();
  if (!words.clears.empty()) out.text("clears", words.clears);
  out.key("basis").begin_object().text("run", event.run);
  if (view) out.whole("prescription_revision", view->prescription_revision);
  out.end_object();
  out.text("expires_at", local_text(event.expires_at, zone)).text("caution", kGuidance);
  if (event.kind == AlertKind::open_burn_danger) out.text("rating", kNotOfficialRating);
  if (snapshot.is_demo) out.text("demo", kFictional);
  return out.end_object().str();
}

// About a subscription, for its owner.
EventRow own_event(AlertKind kind, const std::string& about, std::string title, const std::string& owner, UtcTime now) {
  EventRow row;
  row.type = core::row_of(kind).type;
  row.key = fmt::format("{} {} {}", row.type, about, now.time_since_epoch().count());
  row.id = core::event_id(now, row.key);
  row.thread = "subscription/" + about;
  row.at = now;
  row.expires_at = now + std::chrono::hours(24);
  row.title = std::move(title);
  JsonWriter out;
  out.begin_object().text("title", row.title).text("owner", owner).text("caution", kGuidance).end_object();
  row.data = out.str();
  return row;
}

// What a row takes over as it is.
EventRow bare_row(const AlertEvent& event) {
  EventRow row;
  row.id = event.id;
  row.key = event.key;
  row.type = core::row_of(event.kind).type;
  row.thread = event.thread;
  row.unit = event.unit;
  row.district = event.district;
  row.at = event.at;
  row.expires_at = event.expires_at;
  return row;
}

}  // namespace

EventRow event_row(const AlertEvent& event, const Snapshot& snapshot) {
  const Words words = words_of(event, snapshot);
  EventRow row = bare_row(event);
  row.title = words.title;
  row.data = data_of(event, words, snapshot);
  row.is_answerable = event.kind == AlertKind::open_burn_danger;
  return row;
}

EventRow digest_row(const AlertEvent& event, const Digest& digest, bool is_demo) {
  EventRow row = bare_row(event);
  row.title = fmt::format("{}: {}", core::row_of(event.kind).title, digest.title);
  JsonWriter out;
  out.begin_object().text("title", row.title).text("district", event.district).text("date", date_text(digest.date));
  out.texts("why", digest.head).key("digest").raw(digest_json(digest));
  out.text("expires_at", local_text(event.expires_at, digest.zone)).text("caution", kGuidance);
  if (is_demo) out.text("demo", kFictional);
  row.data = out.end_object().str();
  return row;
}

std::vector<std::string> whys_of(const json::value& data) {
  std::vector<std::string> whys;
  const json::object* object = data.if_object();
  const json::value* list = object ? object->if_contains("why") : nullptr;
  if (list && list->is_array())
    for (const json::value& why : list->as_array())
      if (why.is_string()) whys.emplace_back(why.as_string());
  return whys;
}

std::string page_of_unit(std::string_view origin, std::string_view unit, std::string_view date) {
  return fmt::format("{}/#/unit/{}{}{}", origin, unit, date.empty() ? "" : "?day=", date);
}

EventRow test_event(const std::string& about, const std::string& owner, UtcTime now) {
  return own_event(AlertKind::subscription_test, about, "Test message: this subscription is reached", owner, now);
}

EventRow failing_event(const std::string& about, const std::string& owner, const std::string& failure, UtcTime now) {
  return own_event(AlertKind::subscription_failing, about, fmt::format("Subscription {} cannot be reached: {}", about, failure),
                   owner, now);
}

}  // namespace hakea::service
