// The unit day sheet (JOB §6.2): what the crew leader of one unit takes along on one day, on one A4 page in black and white.
// What is known of the window, hour by hour and limit by limit, and blanks for what is measured, checked and signed there.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/prescription/hour_fit.h"
#include "service/engine/snapshot.h"

namespace hakea::service {

struct SheetColumn {
  std::string name, unit;
  std::size_t quantity = 0;  // catalogue index
};

struct SheetCell {
  std::string value;             // "–" where it is missing
  std::optional<core::Fit> fit;  // against the hourly limits of its quantity; none where it has none
};

struct SheetHour {
  std::string name;  // "14:00"; with the day where it is the next, with the offset where the clock changes
  bool is_in_window = false;
  std::vector<SheetCell> cells;        // by column
  core::Fit all = core::Fit::unknown;  // against all hourly limits
};

struct SheetLimit {
  std::string name;  // "Calculated FFDI in the 2 days after"
  core::Kind kind = core::Kind::hard;
  std::string acceptable;  // "9 to 16 %"
  std::string forecast;    // its values where it is asked, or why they are not known
  core::Fit fit = core::Fit::unknown;
  bool is_measured = false;  // on the ground: it has room for readings
};

struct SheetFact {
  std::string name, value;  // an empty value is a line to write on
};

struct DaySheet {
  std::string unit, name, district, date, about;
  std::string forecast, printed, void_after, guidance, missing;
  std::string verdict;           // "Forecast within prescription 10:00 to 17:00"
  std::vector<SheetFact> facts;  // of the window
  std::vector<std::string> why;
  std::vector<std::string> wind_change, after;
  std::string map;  // SVG
  std::vector<std::string> map_key;
  std::vector<SheetColumn> columns;
  std::vector<SheetHour> hours;
  std::string limits_asked_of;     // "in the window"
  std::vector<SheetLimit> limits;  // those that are measured first
  std::vector<std::string> triggers;
  std::vector<SheetFact> behaviour;
  std::vector<std::string> cautions;
};

// `day` is one of the unit's days. Texts are plain, but for the map.
DaySheet make_day_sheet(const Snapshot& snapshot, const UnitView& view, const core::Day& day, UtcTime now);

// One page of HTML: no script, nothing loaded, everything in it.
std::string day_sheet_html(const DaySheet& sheet);
// The Content-Security-Policy under which it is shown: its own style and nothing else.
const std::string& day_sheet_policy();

}  // namespace hakea::service
