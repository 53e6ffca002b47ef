// The tables of calendar_store.h. What each function does stands there; those with a Transaction leave their failure in it.
#pragma once

#include "service/store/calendar_store.h"
#include "service/store/sqlite.h"

namespace hakea::service {

CalendarRow add_calendar(Transaction& transaction, const Actor& actor, UtcTime now, CalendarRow calendar);
Result<std::vector<CalendarRow>> all_calendars(Database& state);
Result<std::optional<CalendarRow>> calendar(Database& state, std::string_view id);
Result<std::optional<CalendarRow>> calendar_of_link(Database& state, std::string_view link_hash);
void take_back_calendar(Transaction& transaction, const Actor& actor, UtcTime now, std::string_view id);
Result<std::vector<CalendarEntryRow>> calendar_entries(Database& state, const CalendarRow& calendar);
Result<std::vector<CalendarEntryRow>> calendar_entries_of(Database& state, std::string_view unit);
Result<std::vector<std::string>> units_in_calendars(Database& state);
void commit_calendars(Transaction& transaction, const CalendarCommit& commit);

}  // namespace hakea::service
