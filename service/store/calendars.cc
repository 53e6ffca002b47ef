#include "service/store/calendars.h"

#include <fmt/format.h>

#include "service/output/json_writer.h"
#include "service/output/time_text.h"
#include "service/store/entries.h"

namespace hakea::service {
namespace {

constexpr const char* kCalendarColumns =
    "number, name, link_hash, owner, token_id, district, units, made_at, ends_at, taken_back_at";
constexpr const char* kShownColumns =
    "unit, district, date, state, starts_at, ends_at, light_until, run_time, sequence, changed_at, title, text, as_of, place, "
    "change";

constexpr std::string_view kIdBegin = "c-";

std::string calendar_id(std::int64_t number) { return fmt::format("{}{:04}", kIdBegin, number); }

CalendarRow calendar_in(const Row& row) {
  CalendarRow calendar;
  calendar.id = calendar_id(row.number(0));
  calendar.name = row.text(1);
  calendar.link_hash = row.text(2);
  calendar.owner = row.text(3);
  calendar.token_id = row.text(4);
  calendar.district = row.text(5);
  calendar.units = row.lines(6);
  calendar.made_at = row.instant(7);
  calendar.ends_at = row.instant(8);
  calendar.taken_back_at = row.maybe_instant(9);
  return calendar;
}

CalendarEntryRow shown_entry_in(const Row& row) {
  CalendarEntryRow shown;
  shown.unit = row.text(0);
  shown.district = row.text(1);
  core::CalendarEntry& entry = shown.entry;
  entry.date = row.date(2);
  // A word of a newer program: whatever it means, it is no window.
  entry.state = core::calendar_state_of(row.text(3)).value_or(core::CalendarState::unknown);
  entry.hours = {row.instant(4), row.instant(5)};
  entry.light_until = row.instant(6);
  entry.run_time = row.instant(7);
  entry.sequence = static_cast<int>(row.number(8));
  entry.changed_at = row.instant(9);
  entry.title = row.text(10);
  entry.text = row.text(11);
  entry.as_of = row.text(12);
  entry.place = row.text(13);
  shown.change = row.number(14);
  return shown;
}

// As the audit has it: nothing of its link.
std::string audited_calendar(const CalendarRow& calendar) {
  JsonWriter out;
  out.begin_object().text("id", calendar.id).text("name", calendar.name).text("owner", calendar.owner);
  out.text("token", calendar.token_id).text_or_null("district", calendar.district).texts("units", calendar.units);
  out.text("ends_at", utc_text(calendar.ends_at));
  write_time(out, "taken_back_at", calendar.taken_back_at);
  return out.end_object().str();
}

const std::string& calendar_of_number() {
  static const std::string sql =
      fmt::format("SELECT {} FROM calendar WHERE '{}' || printf('%04d', number) = ?", kCalendarColumns, kIdBegin);
  return sql;
}

}  // namespace

CalendarRow add_calendar(Transaction& transaction, const Actor& actor, UtcTime now, CalendarRow calendar) {
  const std::string units = fmt::format("{}", fmt::join(calendar.units, "\n"));
  transaction.run(
      "INSERT INTO calendar (name, link_hash, owner, token_id, district, units, made_at, ends_at) VALUES (?, ?, ?, ?, ?, ?, ?, "
      "?)",
      {calendar.name, calendar.link_hash, calendar.owner, calendar.token_id, calendar.district, units, calendar.made_at,
       calendar.ends_at});
  calendar.id = calendar_id(transaction.last_row());
  const std::string object = "calendar/" + calendar.id, after = audited_calendar(calendar);
  add_audit(transaction, actor, now, {.action = "create", .object = object, .after = after});
  return calendar;
}

Result<std::vector<CalendarRow>> all_calendars(Database& state) {
  static const std::string kSql = fmt::format("SELECT {} FROM calendar ORDER BY number", kCalendarColumns);
  return state.rows(kSql, {}, calendar_in);
}

Result<std::optional<CalendarRow>> calendar(Database& state, std::string_view id) {
  return state.first(calendar_of_number(), {id}, calendar_in);
}

Result<std::optional<CalendarRow>> calendar_of_link(Database& state, std::string_view link_hash) {
  static const std::string kSql = fmt::format("SELECT {} FROM calendar WHERE link_hash = ?", kCalendarColumns);
  return state.first(kSql, {link_hash}, calendar_in);
}

void take_back_calendar(Transaction& transaction, const Actor& actor, UtcTime now, std::string_view id) {
  const auto standing = transaction.first(calendar_of_number(), {id}, calendar_in);
  const std::string object = fmt::format("calendar/{}", id);
  if (!transaction.has_failed() && (!standing || standing->taken_back_at))
    transaction.fail({ErrorKind::not_found, "not_found", object,
                      standing ? "this calendar was taken back already" : "there is no calendar with this id",
                      "name one of the calendars listed"});
  if (transaction.has_failed()) return;
  CalendarRow taken = *standing;
  taken.taken_back_at = now;
  transaction.run("UPDATE calendar SET taken_back_at = ? WHERE link_hash = ?", {now, standing->link_hash});
  const std::string before = audited_calendar(*standing), after = audited_calendar(taken);
  add_audit(transaction, actor, now, {.action = "take_back", .object = object, .before = before, .after = after});
}

Result<std::vector<CalendarEntryRow>> calendar_entries(Database& state, const CalendarRow& calendar) {
  static const std::string kSql = fmt::format(
      "SELECT {} FROM calendar_entry WHERE district = ?1 OR unit IN (SELECT value FROM json_each(?2)) ORDER BY date, unit",
      kShownColumns);
  JsonWriter units;
  units.begin_list();
  for (const std::string& unit : calendar.units) units.text(unit);
  const std::string chosen = units.end_list().str();
  // A unit of no district is in no district's calendar.
  const std::optional<std::string> district = calendar.district.empty() ? std::nullopt : std::optional(calendar.district);
  return state.rows(kSql, {district, chosen}, shown_entry_in);
}

Result<std::vector<CalendarEntryRow>> calendar_entries_of(Database& state, std::string_view unit) {
  static const std::string kSql = fmt::format("SELECT {} FROM calendar_entry WHERE unit = ? ORDER BY date", kShownColumns);
  return state.rows(kSql, {unit}, shown_entry_in);
}

Result<std::vector<std::string>> units_in_calendars(Database& state) {
  return state.rows("SELECT DISTINCT unit FROM calendar_entry ORDER BY unit", {}, [](const Row& row) { return row.text(0); });
}

void commit_calendars(Transaction& transaction, const CalendarCommit& commit) {
  std::int64_t change = transaction.number("SELECT change FROM calendar_change");
  for (const CalendarEntryRow& shown : commit.entries) {
    const core::CalendarEntry& entry = shown.entry;
    transaction.run(
        "INSERT OR REPLACE INTO calendar_entry (unit, district, date, state, starts_at, ends_at, light_until, run_time, sequence,"
        " changed_at, title, text, as_of, place, change) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        {shown.unit, shown.district, entry.date, word(entry.state), entry.hours.start, entry.hours.end, entry.light_until,
         entry.run_time, entry.sequence, entry.changed_at, entry.title, entry.text, entry.as_of, entry.place, ++change});
  }
  for (const auto& [unit, date] : commit.shown_no_more)
    transaction.run("DELETE FROM calendar_entry WHERE unit = ? AND date = ?", {unit, date});
  transaction.run("UPDATE calendar_change SET change = ?", {change});
}

}  // namespace hakea::service
