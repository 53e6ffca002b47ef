#include "tests/support/alert_script.h"

#include <algorithm>
#include <cstdio>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include "core/days/explain.h"
#include "tests/support/case_file.h"

namespace hakea::test {

using namespace core;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

int number_at(const std::string& text, std::size_t from, std::size_t count) { return std::stoi(text.substr(from, count)); }

LocalDate date_at(const std::string& text) {
  return LocalDate(std::chrono::sys_days(std::chrono::year(number_at(text, 0, 4)) / number_at(text, 5, 2) / number_at(text, 8, 2))
                       .time_since_epoch());
}

std::vector<std::string> pieces(const std::string& text) {
  std::istringstream in(text);
  std::vector<std::string> all;
  for (std::string piece; in >> piece;) all.push_back(piece);
  return all;
}

// The value of "name=value" among pieces, or nothing.
std::optional<double> value_of(const std::vector<std::string>& all, const std::string& name) {
  for (const std::string& piece : all)
    if (piece.starts_with(name + "=")) return std::stod(piece.substr(name.size() + 1));
  return std::nullopt;
}

Verdict verdict_at(const std::string& text) {
  for (const Verdict v : {Verdict::met, Verdict::unknown, Verdict::near_miss, Verdict::out, Verdict::blocked})
    if (word(v) == text) return v;
  throw std::runtime_error("no verdict: " + text);
}

// "10:00-16:00" on a date.
std::optional<TimeSpan> span_in(const std::vector<std::string>& all, LocalDate date) {
  for (const std::string& piece : all)
    if (piece.size() == 11 && piece[5] == '-' && piece[2] == ':') {
      const auto clock = [&](std::size_t at) { return hours(number_at(piece, at, 2)) + minutes(number_at(piece, at + 3, 2)); };
      const TimeZone zone = script_zone();
      return TimeSpan{zone.instant(date, clock(0)), zone.instant(date, clock(6))};
    }
  return std::nullopt;
}

std::string clock_text(UtcTime t) {
  const TimeZone zone = script_zone();
  const auto since = std::chrono::duration_cast<minutes>(zone.local(t) - zone.date(t)).count();
  char text[16];
  std::snprintf(text, sizeof text, "%02d:%02d", static_cast<int>(since / 60), static_cast<int>(since % 60));
  return text;
}

std::string time_text(UtcTime t) { return iso_date(script_zone().date(t)) + "T" + clock_text(t); }

std::string text_of(const AlertEvent& event) {
  std::string text = std::string(row_of(event.kind).type) + " " + event.thread;
  if (event.hours) text += " " + clock_text(event.hours->start) + "-" + clock_text(event.hours->end);
  return text;
}

}  // namespace

TimeZone script_zone() { return TimeZone::fixed("+10:00", hours(10)); }

UtcTime script_time(const std::string& text) {
  return script_zone().instant(date_at(text), hours(number_at(text, 11, 2)) + minutes(number_at(text, 14, 2)));
}

std::vector<ScriptRow> read_alert_script(const std::string& name) {
  const std::string path = tests_folder() + "/cases/" + name;
  std::ifstream in(path);
  if (!in) throw std::runtime_error("cannot read " + path);
  std::vector<ScriptRow> rows;
  std::string line;
  for (int number = 1; std::getline(in, line); ++number) {
    if (line.empty() || line[0] == '#' || line == "at,what,about,detail") continue;
    const auto fields = split_csv(line);
    if (fields.size() != 4) throw std::runtime_error(path + ":" + std::to_string(number) + ": not four fields");
    rows.push_back({number, script_time(fields[0]), fields[1], fields[2], fields[3]});
  }
  if (!std::is_sorted(rows.begin(), rows.end(), [](const ScriptRow& a, const ScriptRow& b) { return a.at < b.at; }))
    throw std::runtime_error(path + ": its rows are not in order of time");
  return rows;
}

std::vector<Subscription> script_subscriptions() {
  const auto subscription = [](const char* id, std::vector<std::string> events) {
    Subscription s;
    s.id = id;
    s.events = std::move(events);
    s.zone = script_zone();
    return s;
  };
  const QuietHours night{hours(21), hours(5) + minutes(30)};
  std::vector<Subscription> all;
  all.push_back(
      subscription("coordinator", {"window.*", "booking.*", "open_burn.*", "notice.*", "feed.*", "run.*", "district.*"}));
  all.back().quiet = night;
  all.push_back(subscription("duty", {"open_burn.*"}));
  all.back().is_escalation = true;
  all.push_back(subscription("officer", {"window.*", "booking.*", "open_burn.*", "notice.*"}));
  all.back().units = {"saddle-north"};
  all.back().quiet = night;
  all.push_back(subscription("operator", {"feed.*", "run.incomplete.v1"}));
  all.push_back(subscription("short-notice", {"window.*"}));
  all.back().lead_max = hours(48);
  return all;
}

namespace {

// The facts as the rows so far have them.
class ScriptedFacts {
 public:
  ScriptedFacts();
  ScriptedFacts(const ScriptedFacts&) = delete;
  ScriptedFacts& operator=(const ScriptedFacts&) = delete;
  void take(const ScriptRow& row);
  const AlertFacts& facts() const { return facts_; }

 private:
  UnitFacts& unit(const std::string& id);
  BookingFacts& booking(const ScriptRow& row);
  TimeZone zone_;
  std::string run_;
  bool is_complete_ = true;
  AlertFacts facts_;
};

ScriptedFacts::ScriptedFacts() : zone_(script_zone()) {}

UnitFacts& ScriptedFacts::unit(const std::string& id) {
  auto found = std::lower_bound(facts_.units.begin(), facts_.units.end(), id,
                                [](const UnitFacts& u, const std::string& i) { return u.id < i; });
  if (found != facts_.units.end() && found->id == id) return *found;
  UnitFacts fresh;
  fresh.id = id;
  fresh.district = "tallow";
  fresh.zone = &zone_;
  fresh.is_confirmed = true;
  return *facts_.units.insert(found, fresh);
}

BookingFacts& ScriptedFacts::booking(const ScriptRow& row) {
  for (BookingFacts& booking : facts_.bookings)
    if (booking.id == row.about) return booking;
  throw std::runtime_error("line " + std::to_string(row.line) + ": no booking " + row.about);
}

void ScriptedFacts::take(const ScriptRow& row) {
  const auto detail = pieces(row.detail), about = pieces(row.about);
  if (row.what == "unit") {
    UnitFacts& u = unit(row.about);
    u.is_confirmed = row.detail != "unconfirmed";
    u.crews = static_cast<int>(value_of(detail, "crews").value_or(0));
    u.notice_days = static_cast<int>(value_of(detail, "notice").value_or(0));
  } else if (row.what == "run") {
    run_ = row.about;
    is_complete_ = row.detail == "complete";
    for (UnitFacts& u : facts_.units) u.run = run_, u.is_run_complete = is_complete_;
    if (facts_.feeds.empty()) facts_.feeds.push_back({"fine", false, "", ""});
    (is_complete_ ? facts_.feeds.front().published : facts_.feeds.front().incomplete_run) = run_;
    if (is_complete_) facts_.feeds.front().incomplete_run.clear();
  } else if (row.what == "day") {
    UnitFacts& u = unit(about.at(0));
    const LocalDate date = date_at(about.at(1));
    std::erase_if(u.days, [&](const DayFacts& day) { return day.date == date; });
    DayFacts day;
    day.date = date;
    day.verdict = verdict_at(detail.at(0));
    day.window = span_in(detail, date);
    day.is_tail_out = row.detail.find("tail=out") != std::string::npos;
    day.smallest_margin = value_of(detail, "margin").value_or(0);
    u.days.push_back(day);
  } else if (row.what == "book") {
    BookingFacts booking;
    booking.id = row.about;
    booking.unit = detail.at(0);
    booking.date = date_at(detail.at(1));
    booking.was_met = detail.at(2) == "met";
    booking.briefed = span_in(detail, booking.date);
    facts_.bookings.push_back(booking);
  } else if (row.what == "shift") {
    booking(row).turn =
        WindTurn{script_time(detail.at(0)), value_of(detail, "turn").value(), value_of(detail, "wind").value(), -1};
  } else if (row.what == "smoke") {
    booking(row).smoky_night_hours = std::stoi(row.detail);
  } else if (row.what == "rain") {
    booking(row).rain_mm = std::stod(detail.at(0));
    booking(row).rain_limit_mm = value_of(detail, "limit").value();
  } else if (row.what == "danger") {
    if (facts_.burns.empty()) facts_.burns.push_back({"b-9", row.about, "tallow", {}});
    facts_.burns.front().spells.clear();
    if (row.detail != "none")
      facts_.burns.front().spells.push_back(
          {{script_time(detail.at(0)), script_time(detail.at(1))}, static_cast<int>(value_of(detail, "class").value())});
  } else if (row.what == "feed") {
    if (facts_.feeds.empty()) facts_.feeds.push_back({row.about, false, "", ""});
    facts_.feeds.front().is_late = row.detail == "late";
  } else if (row.what == "crews") {
    facts_.districts = {{row.about, std::stoi(row.detail)}};
  } else if (row.what != "ack" && row.what != "tell") {
    throw std::runtime_error("line " + std::to_string(row.line) + ": \"" + row.what + "\" is no kind of row");
  }
}

}  // namespace

std::vector<Told> expected_of(const std::vector<ScriptRow>& rows) {
  std::vector<Told> told;
  for (const ScriptRow& row : rows)
    if (row.what == "tell") told.push_back({time_text(row.at), row.about, row.detail});
  std::stable_sort(told.begin(), told.end(),
                   [](const Told& a, const Told& b) { return std::tie(a.at, a.whom) < std::tie(b.at, b.whom); });
  return told;
}

std::vector<Told> play(const std::vector<ScriptRow>& rows, const Look& look) {
  ScriptedFacts scripted;
  std::vector<Told> all;
  auto next = rows.begin();
  for (UtcTime now = rows.front().at; now <= rows.back().at; now += minutes(30)) {
    bool acknowledge = false;
    for (; next != rows.end() && next->at <= now; ++next) {
      if (next->at != now) throw std::runtime_error("line " + std::to_string(next->line) + ": not on the half hour");
      scripted.take(*next);
      acknowledge = acknowledge || next->what == "ack";
    }
    for (Told& told : look(scripted.facts(), now, acknowledge)) {
      told.at = time_text(now);
      all.push_back(std::move(told));
    }
  }
  return all;
}

Told told_by(const AlertMessage& message, const std::map<std::string, AlertEvent>& events) {
  std::string what;
  for (const std::string& id : message.events) what += (what.empty() ? "" : " + ") + text_of(events.at(id));
  return {"", message.subscription, what};
}

}  // namespace hakea::test
