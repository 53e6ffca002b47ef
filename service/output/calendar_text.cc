#include "service/output/calendar_text.h"

#include <fmt/format.h>
#include <libical/ical.h>

#include <algorithm>
#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/string_generator.hpp>
#include <boost/uuid/uuid_io.hpp>
#include <memory>
#include <stdexcept>

#include "service/output/cautions.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

using core::CalendarState;

constexpr int kRefreshHours = 1;  // how often a client is asked to look [our own default]

struct Release {
  void operator()(icalcomponent* component) const { icalcomponent_free(component); }
  void operator()(char* text) const { icalmemory_free_buffer(text); }
};
using Component = std::unique_ptr<icalcomponent, Release>;

icaltimetype ical_time(UtcTime t) {
  return icaltime_from_timet_with_zone(static_cast<time_t>(t.time_since_epoch().count()), 0, icaltimezone_get_utc_timezone());
}

// Goes over to the component.
void add(icalcomponent* to, icalproperty* property) { icalcomponent_add_property(to, property); }

void add_extension(icalcomponent* to, const char* name, const std::string& value) {
  icalproperty* property = icalproperty_new_x(value.c_str());
  icalproperty_set_x_name(property, name);
  add(to, property);
}

// What stands at the beginning of what people see: who reads no further must not take it for what it is not.
std::string event_summary(const core::CalendarEntry& entry) {
  switch (entry.state) {
    case CalendarState::window: return "Forecast window (not an approval): " + entry.title;
    case CalendarState::committed: return "Forecast window (not an approval), committed: " + entry.title;
    case CalendarState::lost: return "No window: " + entry.title;
    case CalendarState::unknown: break;
  }
  return "Not known: " + entry.title;
}

std::string event_description(const core::CalendarEntry& entry) {
  std::string text;
  if (entry.state == CalendarState::committed) text = "A booking is committed to this date.\n";
  if (entry.state == CalendarState::lost) text = "There was a forecast window, and there is none now.\n";
  if (entry.state == CalendarState::unknown) text = "There was a forecast window. Whether there is one now is not known.\n";
  text += entry.text;
  if (!entry.as_of.empty()) text += "\n" + entry.as_of;
  return text;
}

icalproperty_status event_status(CalendarState state) {
  if (is_cancelled(state)) return ICAL_STATUS_CANCELLED;
  return state == CalendarState::committed ? ICAL_STATUS_CONFIRMED : ICAL_STATUS_TENTATIVE;
}

icalcomponent* vevent_of(const CalendarHead& head, const CalendarEvent& shown) {
  const core::CalendarEntry& entry = shown.entry;
  const std::string date = date_text(entry.date);
  icalcomponent* event = icalcomponent_new(ICAL_VEVENT_COMPONENT);
  add(event, icalproperty_new_uid(uuid_of(head.name_space, fmt::format("{}|{}", shown.unit, date)).c_str()));
  add(event, icalproperty_new_dtstamp(ical_time(entry.changed_at)));
  add(event, icalproperty_new_lastmodified(ical_time(entry.changed_at)));
  add(event, icalproperty_new_sequence(entry.sequence));
  add(event, icalproperty_new_dtstart(ical_time(entry.hours.start)));
  add(event, icalproperty_new_dtend(ical_time(entry.hours.end)));
  add(event, icalproperty_new_summary(event_summary(entry).c_str()));
  add(event, icalproperty_new_status(event_status(entry.state)));
  // A committed burn takes its crew's time; a forecast takes nobody's.
  add(event, icalproperty_new_transp(entry.state == CalendarState::committed ? ICAL_TRANSP_OPAQUE : ICAL_TRANSP_TRANSPARENT));
  add(event, icalproperty_new_class(ICAL_CLASS_PUBLIC));
  add(event, icalproperty_new_categories("BURN-WINDOW"));
  if (!is_cancelled(entry.state))
    add(event, icalproperty_new_color(entry.state == CalendarState::committed ? "darkblue" : "darkgreen"));
  if (!entry.place.empty()) add(event, icalproperty_new_from_string(("GEO:" + entry.place).c_str()));
  if (!head.origin.empty())
    add(event, icalproperty_new_url(fmt::format("{}/#/unit/{}?day={}", head.origin, shown.unit, date).c_str()));
  add(event, icalproperty_new_description(event_description(entry).c_str()));
  return event;
}

}  // namespace

std::string uuid_of(std::string_view name_space, std::string_view name) {
  try {
    const boost::uuids::uuid space = boost::uuids::string_generator()(std::string(name_space));
    return boost::uuids::to_string(boost::uuids::name_generator_sha1(space)(std::string(name)));
  } catch (const std::runtime_error&) {
    return "";
  }
}

std::string calendar_text(const CalendarHead& head, std::span<const CalendarEvent> events) {
  UtcTime changed_at = head.made_at;
  for (const CalendarEvent& event : events) changed_at = std::max(changed_at, event.entry.changed_at);
  const Component calendar(icalcomponent_new(ICAL_VCALENDAR_COMPONENT));
  icalcomponent* const all = calendar.get();
  add(all, icalproperty_new_version("2.0"));
  add(all, icalproperty_new_prodid("-//Hakea//burn-window forecaster//EN"));
  add(all, icalproperty_new_calscale("GREGORIAN"));
  add(all, icalproperty_new_method(ICAL_METHOD_PUBLISH));
  add(all, icalproperty_new_uid(uuid_of(head.name_space, "calendar|" + head.id).c_str()));
  add(all, icalproperty_new_name(head.name.c_str()));
  add_extension(all, "X-WR-CALNAME", head.name);  // of programs that do not know the one of RFC 7986
  add(all, icalproperty_new_description(std::string(kGuidance).c_str()));
  add(all, icalproperty_new_lastmodified(ical_time(changed_at)));
  icaldurationtype refresh = icaldurationtype_null_duration();
  refresh.hours = kRefreshHours;
  icalproperty* interval = icalproperty_new_refreshinterval(refresh);
  icalproperty_set_parameter(interval, icalparameter_new_value(ICAL_VALUE_DURATION));  // RFC 7986 §5.7 wants it said
  add(all, interval);
  add_extension(all, "X-PUBLISHED-TTL", fmt::format("PT{}H", kRefreshHours));
  if (!head.origin.empty()) {
    icalproperty* source = icalproperty_new_source((head.origin + head.link).c_str());
    icalproperty_set_parameter(source, icalparameter_new_value(ICAL_VALUE_URI));
    add(all, source);
  }
  add(all, icalproperty_new_color("darkgreen"));
  for (const CalendarEvent& event : events) icalcomponent_add_component(all, vevent_of(head, event));
  const std::unique_ptr<char, Release> text(icalcomponent_as_ical_string_r(all));
  return text.get();
}

}  // namespace hakea::service
