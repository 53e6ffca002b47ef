#include "service/input/zones.h"

#include <date/tz.h>
#include <fmt/format.h>

#include <map>
#include <mutex>

#include "core/base/nearest.h"

namespace hakea::service {
namespace {

using namespace std::chrono;

TimeZone table_of(const date::time_zone& zone) {
  struct Raw {
    UtcTime begin;
    seconds offset;
    bool is_saving;
  };
  std::vector<Raw> raw;
  const UtcTime first = sys_days(year(1970) / 1 / 1), last = sys_days(year(2100) / 1 / 1);
  for (UtcTime t = first; t < last;) {
    const date::sys_info info = zone.get_info(t);
    raw.push_back({raw.empty() ? UtcTime::min() : UtcTime(info.begin), info.offset, info.save != minutes(0)});
    if (info.end <= t) break;
    t = info.end;
  }
  // The database says that daylight saving is in force, not by how much: the standard offset of such a period is that of
  // the last one without it, or else of the next.
  std::vector<TimeZone::Period> periods;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    seconds standard = raw[i].offset;
    if (raw[i].is_saving) {
      std::size_t other = i;
      while (other > 0 && raw[other].is_saving) --other;
      while (other < raw.size() && raw[other].is_saving) ++other;
      if (other < raw.size()) standard = raw[other].offset;
    }
    periods.push_back({raw[i].begin, raw[i].offset, standard});
  }
  return TimeZone(zone.name(), std::move(periods));
}

}  // namespace

Result<TimeZone> time_zone(const std::string& name) {
  static std::mutex guard;
  static std::map<std::string, TimeZone> known;
  const std::lock_guard lock(guard);
  if (const auto found = known.find(name); found != known.end()) return found->second;
  try {
    const TimeZone zone = table_of(*date::locate_zone(name));
    return known.emplace(name, TimeZone(zone)).first->second;
  } catch (const std::exception&) {  // the library throws for an unknown name and for absent tables alike
    std::vector<std::string_view> names;
    try {
      for (const auto& zone : date::get_tzdb().zones) names.push_back(zone.name());
    } catch (const std::exception& failed) {
      return Error{ErrorKind::failed, "no_zone_database", name,
                   fmt::format("the system's time zones cannot be read: {}", failed.what()), "install the package tzdata"};
    }
    const std::string_view near = nearest(name, names);
    return Error{ErrorKind::invalid, "unknown_time_zone", name, fmt::format("\"{}\" is not a time zone", name),
                 near.empty() ? "write an IANA name such as Australia/Sydney" : fmt::format("did you mean {}?", near)};
  }
}

}  // namespace hakea::service
