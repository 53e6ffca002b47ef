// The weather service's official forecasts for a unit beside ours. They change no verdict; a difference beyond our forecast
// error is said.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "service/engine/snapshot.h"

namespace hakea::service {

struct OfficialValue {
  std::size_t quantity = 0;
  double official = 0;
  std::optional<double> ours{}, difference{};  // official minus ours; none where ours is not known; of a direction the turn
  bool differs = false;                        // by more than the forecast error
};

struct OfficialForecast {
  std::string id, by;  // of the observation that holds it
  UtcTime at{};
  std::vector<OfficialValue> values;
};

// Those for hours from `from` on, by time.
std::vector<OfficialForecast> official_forecasts(const Snapshot& snapshot, const UnitView& view, UtcTime from);

// {"official":[{"id","at","by","values":{key:{"value","unit","ours","difference","differs"}}}]}
std::string official_json(const UnitView& view, const std::vector<OfficialForecast>& forecasts);

// "the official forecast differs: relative humidity 38 % at 14:00, ours 52 %"; empty where nothing differs on the date.
std::string official_text(const UnitView& view, const std::vector<OfficialForecast>& forecasts, LocalDate date);

}  // namespace hakea::service
