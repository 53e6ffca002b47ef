// A script of what pictures say over days (tests/cases/alerts_*.csv), played against the alerts.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "core/alert/route.h"
#include "core/alert/watch.h"

namespace hakea::test {

struct ScriptRow {
  int line = 0;
  UtcTime at{};
  std::string what, about, detail;
};

// Throws with file and line when a row is wrong.
std::vector<ScriptRow> read_alert_script(const std::string& name);

TimeZone script_zone();  // +10:00
UtcTime script_time(const std::string& text);
// The recipients that the script names.
std::vector<core::Subscription> script_subscriptions();

// "2027-05-03T05:30 officer window.opened.v1 UNIT/DATE 10:00-16:00 + …", as rows "tell" have it.
struct Told {
  std::string at, whom, what;
  std::string line() const { return at + " " + whom + ": " + what; }
};
std::vector<Told> expected_of(const std::vector<ScriptRow>& rows);

// A look at the facts at one time: what was told by it. Called every half hour.
using Look = std::function<std::vector<Told>(const core::AlertFacts& facts, UtcTime now, bool acknowledge)>;
std::vector<Told> play(const std::vector<ScriptRow>& rows, const Look& look);

// What a message tells whom, as a script writes it; `events` are those it may name, by id.
Told told_by(const core::AlertMessage& message, const std::map<std::string, core::AlertEvent>& events);

}  // namespace hakea::test
