// A calendar as iCalendar (RFC 5545, with RFC 7986): one event a unit and date. libical folds and escapes.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "core/alert/calendar.h"

namespace hakea::service {

struct CalendarHead {
  std::string id, name;
  std::string name_space;  // the UUID from which those of the calendar and of its events are made
  std::string origin;  // of our pages, such as https://burns.example; empty where none is configured: then nothing is linked to
  std::string link;    // the calendar's own, below the origin
  UtcTime made_at{};
};

struct CalendarEvent {
  std::string unit;
  core::CalendarEntry entry;
};

std::string calendar_text(const CalendarHead& head, std::span<const CalendarEvent> events);

// The UUID, version 5 (RFC 9562 §5.5), of a name; empty where `name_space` is no UUID.
std::string uuid_of(std::string_view name_space, std::string_view name);

}  // namespace hakea::service
