// Calendars in state.db: the links that people made, and what calendars show of each unit and date. Every function may be called
// from several threads; errors as in store.h.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/alert/calendar.h"
#include "core/base/result.h"
#include "core/base/time.h"
#include "service/access/actor.h"

namespace hakea::service {

// A calendar as somebody made it. Who has its link reads it; of the link only a hash is kept.
struct CalendarRow {
  std::string id;         // given by the store: c-0001
  std::string name;       // as calendar programs show it
  std::string link_hash;  // SHA-256 of the secret in the link, hex
  std::string owner, token_id;
  std::string district;            // all of its units; empty where units were chosen
  std::vector<std::string> units;  // these
  UtcTime made_at{}, ends_at{};
  std::optional<UtcTime> taken_back_at{};
};

// What every calendar shows of a unit on a date.
struct CalendarEntryRow {
  std::string unit, district;
  core::CalendarEntry entry;
  std::int64_t change = 0;  // rises with every change of any entry; given by the store
};

struct CalendarCommit {
  std::vector<CalendarEntryRow> entries;                         // put in place
  std::vector<std::pair<std::string, LocalDate>> shown_no_more;  // by unit and date
};

class CalendarStore {
 public:
  virtual ~CalendarStore() = default;

  // With its id, audited without its link's hash.
  virtual Result<CalendarRow> add_calendar(const Actor& actor, UtcTime now, CalendarRow calendar) = 0;
  virtual Result<std::vector<CalendarRow>> all_calendars() = 0;  // by id
  virtual Result<std::optional<CalendarRow>> calendar(std::string_view id) = 0;
  virtual Result<std::optional<CalendarRow>> calendar_of_link(std::string_view link_hash) = 0;
  // From now on its link has ended. Error also: `not_found`, for one that was taken back too.
  virtual Result<bool> take_back_calendar(const Actor& actor, UtcTime now, std::string_view id) = 0;

  virtual Result<std::vector<CalendarEntryRow>> calendar_entries(const CalendarRow& calendar) = 0;  // by date, then unit
  virtual Result<std::vector<CalendarEntryRow>> calendar_entries_of(std::string_view unit) = 0;     // by date
  virtual Result<std::vector<std::string>> units_in_calendars() = 0;                                // that have an entry
  // All of it or nothing.
  virtual Result<bool> commit_calendars(const CalendarCommit& commit) = 0;
};

// The note that holds the UUID from which those of entries are made. It came with the tables and never changes, since whoever
// merges calendars by UID would hold everything twice.
inline constexpr std::string_view kCalendarNamespaceNote = "calendar_namespace";

}  // namespace hakea::service
