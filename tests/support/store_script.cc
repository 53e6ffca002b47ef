#include "tests/support/store_script.h"

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <sqlite3.h>

#include <filesystem>
#include <map>
#include <optional>

#include "tests/support/store_rows.h"
#include "tests/support/temp_dir.h"

namespace hakea::test {
namespace {

namespace fs = std::filesystem;
using namespace service;
using std::chrono::hours;

constexpr UtcTime kStart{std::chrono::seconds(1'806'300'000)};

Actor officer() { return actor_named("Officer"); }

template <class T>
Result<bool> done(const Result<T>& result) {
  if (!result) return result.errors();
  return true;
}

Step change(std::string name, std::vector<Change> changes, UtcTime now) {
  return {std::move(name), [changes, now](Store& store) { return done(store.write(officer(), now, changes)); }};
}

RunRow run_at(UtcTime reference, int revision, std::string hash) {
  return run_row("fine." + std::to_string(reference.time_since_epoch().count()), reference, revision, std::move(hash));
}

Step evaluation(RunRow run, int units, std::size_t bytes) {
  return {"evaluate " + run.id, [=](Store& store) -> Result<bool> {
            std::vector<SeriesBlob> blobs;
            for (int i = 0; i < units; ++i)
              blobs.push_back({fmt::format("u-{}", i), i % 2, 0, std::string(bytes, static_cast<char>('a' + run.revision))});
            if (auto put = store.put_series(run.id, run.revision, run.content_hash, at_once(std::move(blobs))); !put) return put;
            const LocalDate day(std::chrono::floor<std::chrono::days>(run.reference_time).time_since_epoch());
            const Publication publication{
                run,
                {{"fine", run.id + ".nc", 10, run.content_hash, run.received_at, "taken", run.id, "", ""}},
                {{"u-0", day, "state", "{}", false}, {"u-1", day, "state", "{}", false}}};
            return store.publish(publication);
          }};
}

CalendarRow calendar_of(const std::string& district) {
  CalendarRow calendar;
  calendar.name = "Burn windows";
  calendar.link_hash = std::string(64, 'b');
  calendar.owner = "Officer";
  calendar.district = district;
  calendar.made_at = kStart;
  calendar.ends_at = kStart + hours(1000);
  return calendar;
}

CalendarEntryRow window_of(const std::string& unit, int sequence = 0) {
  CalendarEntryRow row;
  row.unit = unit;
  row.district = "north";
  row.entry.date = LocalDate(std::chrono::floor<std::chrono::days>(kStart).time_since_epoch());
  row.entry.hours = {kStart, kStart + hours(5)};
  row.entry.sequence = sequence;
  row.entry.text = std::string(600, 't');
  return row;
}

template <class T>
T value(Result<T> result) {
  EXPECT_TRUE(result) << result.error().what;
  return result ? *std::move(result) : T();
}

std::string told(const Result<bool>& result) {
  return result ? "" : result.error().code + ": " + result.error().what + " (" + result.error().where + ")";
}

// What SQLite itself finds wrong.
std::string damage_of(const fs::path& database) {
  sqlite3* connection = nullptr;
  std::string found;
  if (sqlite3_open_v2(database.c_str(), &connection, SQLITE_OPEN_READWRITE, nullptr) != SQLITE_OK) found = "does not open";
  const auto add = [](void* to, int, char** values, char**) {
    *static_cast<std::string*>(to) += values[0];
    return 0;
  };
  if (found.empty() &&
      sqlite3_exec(connection, "PRAGMA integrity_check; PRAGMA foreign_key_check", add, &found, nullptr) != SQLITE_OK)
    found = sqlite3_errmsg(connection);
  sqlite3_close(connection);
  return found;
}

using Done = std::vector<bool>;

// Thousands of stores are opened, and no disk need turn for it.
fs::path in_memory() { return fs::is_directory("/dev/shm") ? fs::path("/dev/shm") : fs::temp_directory_path(); }

// What a healthy store holds after the steps that were done.
const std::string& expected_picture(const Script& script, const Done& steps_done, std::map<Done, std::string>& known) {
  std::string& picture = known[steps_done];
  if (picture.empty()) {
    const FaultyDisk healthy(Fault::none, 0);
    const TempDir folder(in_memory());
    auto store = Store::open(folder.path(), kStart);
    EXPECT_TRUE(store);
    for (std::size_t i = 0; i < steps_done.size(); ++i)
      EXPECT_EQ(steps_done[i] ? told(script[i].act(**store)) : "", "") << script[i].name << " on a healthy disk";
    picture = picture_of(**store);
  }
  return picture;
}

struct Expected {
  std::string picture;
  std::string or_else;  // where a step was in doubt
};

void expect_whole(const fs::path& folder, const Expected& expected, const std::string& where) {
  {
    const FaultyDisk healthy(Fault::none, 0);
    auto store = Store::open(folder, kStart);
    ASSERT_TRUE(store) << where << ": " << store.error().what;
    const std::string found = picture_of(**store);
    EXPECT_EQ(found, found == expected.or_else ? expected.or_else : expected.picture) << where;
    EXPECT_EQ((*store)->trouble(), "") << where;
    EXPECT_EQ(told((*store)->set_note("after", "all")), "") << where;
  }
  for (const char* database : {"state.db", "series.db"})
    EXPECT_EQ(damage_of(folder / database), "ok") << where << ", " << database;
}

// As SIGKILL leaves it: what was written is there, no lock is held.
void copy_as_killed(const fs::path& from, const fs::path& to) {
  fs::create_directories(to);
  for (const char* name : {"state.db", "state.db-wal", "series.db", "series.db-wal"})
    if (fs::exists(from / name)) fs::copy_file(from / name, to / name);
}

}  // namespace

Script a_day() {
  const std::string unit = R"({"type":"Feature"})";
  const UtcTime now = kStart + hours(8);
  Token token;
  token.id = "abcdefgh";
  token.name = "Officer";
  token.secret_hash = std::string(64, 'a');
  token.role = Role::officer;
  token.districts = {"north"};
  token.created_at = kStart;
  token.expires_at = kStart + hours(1000);
  return {
      {"make a token", [=](Store& store) { return store.add_token(officer(), kStart, token); }},
      change("enter units", {{EntryKind::unit, "u-0", unit, 0, "create", ""}, {EntryKind::unit, "u-1", unit, 0, "create", ""}},
             kStart),
      change("enter a prescription", {{EntryKind::prescription, "u-0/main", "{}", 0, "create", ""}}, kStart),
      evaluation(run_at(kStart, 1, "first"), 3, 900),
      evaluation(run_at(kStart + hours(6), 1, "second"), 3, 900),
      change("stop", {{EntryKind::stop, "", R"({"kind":"declared_ban"})", {}, "create", "ban"}}, now),
      change("lift", {{EntryKind::stop, "s-0001", {}, 1, "lift", "rain"}}, now),
      change("book", {{EntryKind::booking, "", R"({"unit":"u-0"})", {}, "create", ""}}, now),
      change("correct the unit", {{EntryKind::unit, "u-0", R"({"type":"Feature","id":"u-0"})", 1, "replace", ""}}, now),
      {"use the token", [=](Store& store) { return store.token_used("abcdefgh", now); }},
      evaluation(run_at(kStart + hours(6), 2, "second again"), 4, 900),
      {"forget", [](Store& store) { return store.forget_series(kStart + hours(1)); }},
      {"revoke the token", [=](Store& store) { return store.revoke_token(officer(), now, "abcdefgh"); }},
      {"note", [](Store& store) { return store.set_note("clock", "now"); }},
      {"make a calendar",
       [=](Store& store) { return done(store.calendars()->add_calendar(officer(), now, calendar_of("north"))); }},
      {"show windows",
       [=](Store& store) {
         return store.calendars()->commit_calendars({{window_of("u-0"), window_of("u-1")}, {}});
       }},
      {"show another",
       [=](Store& store) {
         return store.calendars()->commit_calendars({{window_of("u-1", 1)}, {{"u-0", window_of("u-0").entry.date}}});
       }},
      {"take the calendar back", [=](Store& store) { return store.calendars()->take_back_calendar(officer(), now, "c-0001"); }},
  };
}

Script a_month(int days) {
  Script script = a_day();
  for (int day = 1; day <= days; ++day) {
    const UtcTime reference = kStart + hours(24 * day);
    script.push_back(evaluation(run_at(reference, 1, "a"), 40, 20'000));
    script.push_back(change("observe", {{EntryKind::observation, "", std::string(3000, 'o'), {}, "create", ""}}, reference));
    script.push_back(evaluation(run_at(reference, 2, "b"), 40, 20'000));
    script.push_back({"forget", [=](Store& store) { return store.forget_series(reference - hours(24)); }});
  }
  return script;
}

std::string picture_of(Store& store) {
  std::string text;
  const auto add = [&]<class... T>(fmt::format_string<T...> format, T&&... values) {
    text += fmt::format(format, std::forward<T>(values)...) + '\n';
  };
  const auto seconds = [](UtcTime t) { return t.time_since_epoch().count(); };
  for (const EntryKind kind : {EntryKind::district, EntryKind::unit, EntryKind::prescription, EntryKind::booking, EntryKind::stop,
                               EntryKind::observation, EntryKind::outcome})
    for (const Entry& entry : value(store.entries(kind, true)))
      for (int revision = 1; revision <= entry.revision; ++revision) {
        const auto then = store.revision(kind, entry.id, revision);
        add("{} {} {} {} {} {} {}", word(kind), entry.id, revision, seconds((*then)->at), (*then)->by, (*then)->body,
            (*then)->is_withdrawn);
      }
  for (const AuditRow& row : value(store.audit(0, 100'000)))
    add("audit {} {} {} {} {} {} {} | {} | {}", row.seq, seconds(row.at), row.actor, row.token_id, row.action, row.object,
        row.reason, row.before, row.after);
  for (const Token& token : value(store.tokens()))
    add("token {} {} {} used {} revoked {}", token.id, token.name, word(token.role), token.last_used_at.has_value(),
        token.revoked_at.has_value());
  for (const CalendarRow& calendar : value(store.calendars()->all_calendars()))
    add("calendar {} {} taken back {}", calendar.id, calendar.link_hash, calendar.taken_back_at.has_value());
  for (const CalendarEntryRow& row : value(store.calendars()->calendar_entries(calendar_of("north"))))
    add("entry {} sequence {} change {}", row.unit, row.entry.sequence, row.change);
  for (const FileRow& file : value(store.files("fine"))) add("file {} {} {}", file.path, file.content_hash, file.run);
  for (const char* unit : {"u-0", "u-1"})
    for (const CarriedRow& row : value(store.carried(unit)))
      add("carried {} {}", row.unit, row.rain_day.time_since_epoch().count());
  for (const RunRow& run : value(store.runs())) {
    add("run {} {} {} {}", run.id, run.revision, run.content_hash, run.is_published);
    for (int i = 0; i < 40; ++i)
      for (const SeriesBlob& blob : value(store.series(run.id, fmt::format("u-{}", i))))
        add("series {} {} {} bytes {}", blob.unit, blob.point, blob.bytes.size(), blob.bytes.substr(0, 4));
  }
  for (const RunRow& run : value(store.runs_without_series())) add("without series {}", run.id);
  add("note {}", store.note("clock")->value_or("none"));
  return text;
}

int expect_nothing_lost(const Script& script, Fault fault, int stride) {
  std::map<Done, std::string> known;
  int tried = 0;
  for (int at = 1; !::testing::Test::HasFailure(); at += stride) {
    const TempDir folder(in_memory()), killed(in_memory());
    const fs::path data = folder.path() / "data", killed_data = killed.path() / "data";
    Done steps_done;
    std::optional<std::size_t> failed, in_doubt;  // the first of each
    {
      FaultyDisk disk(fault, at);
      if (auto store = Store::open(data, kStart)) {
        for (const Step& step : script) {
          const Result<bool> answer = step.act(**store);
          steps_done.push_back(static_cast<bool>(answer));
          if (answer || answer.error().kind != ErrorKind::failed) continue;
          EXPECT_TRUE(disk.has_struck()) << step.name << ": " << told(answer);
          EXPECT_NE((*store)->trouble(), "") << step.name;
          if (!in_doubt && answer.error().code == "in_doubt") in_doubt = steps_done.size() - 1;
          if (!failed && fault != Fault::power) {
            failed = steps_done.size() - 1;
            copy_as_killed(data, killed_data);
          }
        }
      } else {
        EXPECT_EQ(store.error().kind, ErrorKind::failed) << store.error().what;
      }
      if (!disk.has_struck()) break;
      disk.lose_what_was_not_synced();
    }
    ++tried;
    EXPECT_FALSE(in_doubt && (fault == Fault::once || fault == Fault::full)) << "a disk that writes again takes it back";
    const auto expect = [&](const fs::path& place, const std::string& where) {
      Expected expected{expected_picture(script, steps_done, known), ""};
      if (in_doubt && *in_doubt < steps_done.size()) {
        // Nothing was written after it, or it would have been struck out.
        Done or_else(steps_done.begin(), steps_done.begin() + static_cast<std::ptrdiff_t>(*in_doubt));
        or_else.push_back(true);
        expected.or_else = expected_picture(script, or_else, known);
      }
      expect_whole(place, expected, fmt::format("failing at operation {}{}", at, where));
    };
    expect(data, "");
    if (failed) {
      steps_done.resize(*failed + 1);
      expect(killed_data, " and killed at once");
    }
  }
  return tried;
}

}  // namespace hakea::test
