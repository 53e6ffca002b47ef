// What a feed is: where its files lie, what a whole run of it holds, and what its odd names mean (INTERFACE §8).
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/base/result.h"
#include "core/weather/variables.h"

namespace hakea::ingest {

struct LeadHours {
  int first = 0, last = 0, step = 1;
};

// A grid that the files of a feed do not state.
struct StatedGrid {
  std::string projection;                                  // of PROJ: "+proj=lcc +lat_1=25 +lat_2=25 …"
  double first_latitude_deg = 0, first_longitude_deg = 0;  // of the cell that stands first in the file
  double x_step = 0, y_step = 0;  // from cell to cell, m, or degrees of a globe; negative where they run west or south
};

struct Feed {
  std::string id = "feed";
  std::string path, pattern;            // folder and file-name pattern of a watched feed
  std::optional<LeadHours> hours;       // what a complete run holds; without it, the files present
  std::vector<std::string> quantities;  // required, as catalogue or fed keys
  int members = 0;
  int lagged_runs = 1;  // so many of its newest runs are judged together, as members of one ensemble
  std::optional<std::string> late_after;
  std::map<std::string, std::string>
      aliases;  // variable name in the file -> fed key, optionally "key [unit]" where the file's unit is wrong or absent
  enum class Wind { by_name, earth, grid } wind = Wind::by_name;
  std::string time_unit;             // "hours since …", of times whose own unit is absent or none
  std::optional<StatedGrid> grid;    // of variables that say by no coordinate where their cells lie
  std::string orography, land_mask;  // companion files
  bool use_incomplete = false;
  int settle_s = 60;
  std::string set_aside;
  int keep = 0;
  bool observed = false;  // stations: what was, not what is foretold
};

// One feed from TOML text; all mistakes together, unknown keys refused with the nearest name.
Result<Feed> parse_feed(const std::string& toml, const std::string& name_for_messages);

}  // namespace hakea::ingest
