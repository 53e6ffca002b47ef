// A script of what pictures say over days (tests/cases/alerts_*.csv), played against the alerts.
#pragma once

#include <functional>
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

// The facts as the rows so far have them.
class ScriptedFacts {
 public:
  ScriptedFacts();
  ScriptedFacts(const ScriptedFacts&) = delete;
  ScriptedFacts& operator=(const ScriptedFacts&) = delete;
  void take(const ScriptRow& row);
  const core::AlertFacts& facts() const { return facts_; }

 private:
  core::UnitFacts& unit(const std::string& id);
  core::BookingFacts& booking(const ScriptRow& row);
  TimeZone zone_;
  std::string run_;
  bool is_complete_ = true;
  core::AlertFacts facts_;
};

// "2027-05-03T05:30 officer window.opened.v1 UNIT/DATE 10:00-16:00 + …", as rows "tell" have it.
struct Told {
  std::string at, whom, what;
  std::string line() const { return at + " " + whom + ": " + what; }
};
std::vector<Told> expected_of(const std::vector<ScriptRow>& rows);

// A look at the facts at one time: what was told by it. Called every half hour, and at every time of the script.
using Look = std::function<std::vector<Told>(const core::AlertFacts& facts, UtcTime now, bool acknowledge)>;
std::vector<Told> play(const std::vector<ScriptRow>& rows, const Look& look);

// An event as a script writes it.
std::string script_text(const core::AlertEvent& event);

}  // namespace hakea::test
