#include "service/output/time_text.h"

#include <fmt/compile.h>
#include <fmt/format.h>

#include <array>

#include "service/output/json_writer.h"

namespace hakea::service {
namespace {

using namespace std::chrono;

constexpr std::array<std::string_view, 7> kDays{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
constexpr std::array<std::string_view, 12> kMonths{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                   "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

// An answer holds thousands of times: their forms are compiled.
std::string date_and_clock(LocalTime t, std::string_view offset) {
  const LocalDate date = floor<days>(t);
  const year_month_day d(date);
  const auto s = (t - date).count();
  return fmt::format(FMT_COMPILE("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}{}"), int(d.year()), unsigned(d.month()), unsigned(d.day()),
                     s / 3600, s / 60 % 60, s % 60, offset);
}

}  // namespace

std::string date_text(LocalDate date) {
  const year_month_day d(date);
  return fmt::format(FMT_COMPILE("{:04}-{:02}-{:02}"), int(d.year()), unsigned(d.month()), unsigned(d.day()));
}

std::string utc_text(UtcTime t) { return date_and_clock(LocalTime(t.time_since_epoch()), "Z"); }

std::string local_text(UtcTime t, const TimeZone& zone) { return date_and_clock(zone.local(t), offset_text(t, zone)); }

std::string offset_text(UtcTime t, const TimeZone& zone) {
  const auto offset = duration_cast<minutes>(zone.offset_at(t)).count();
  return fmt::format(FMT_COMPILE("{}{:02}:{:02}"), offset < 0 ? '-' : '+', std::abs(offset) / 60, std::abs(offset) % 60);
}

std::string clock_text(UtcTime t, const TimeZone& zone) {
  const auto minute = duration_cast<minutes>(zone.local(t) - floor<days>(zone.local(t))).count();
  return fmt::format(FMT_COMPILE("{:02}:{:02}"), minute / 60, minute % 60);
}

std::string day_name(LocalDate date) {
  const year_month_day d(date);
  return fmt::format("{} {} {}", kDays[weekday(date).c_encoding()], unsigned(d.day()), kMonths[unsigned(d.month()) - 1]);
}

std::string http_date(UtcTime t) {
  const auto midnight = floor<days>(t);
  const year_month_day d(midnight);
  const auto s = (t - midnight).count();
  return fmt::format("{}, {:02} {} {:04} {:02}:{:02}:{:02} GMT", kDays[weekday(midnight).c_encoding()], unsigned(d.day()),
                     kMonths[unsigned(d.month()) - 1], int(d.year()), s / 3600, s / 60 % 60, s % 60);
}

void write_time(JsonWriter& out, std::string_view name, const std::optional<UtcTime>& t) {
  out.text_or_null(name, t ? utc_text(*t) : "");
}

}  // namespace hakea::service
