// The one list of quantities.
//
// Everything that exists hourly or daily - fed, derived, fire, smoke - is one row: key, unit, range, model, publication,
// inputs and the function that fills its column. Feeds map onto it, prescriptions limit it, the program lists it, the
// tests sweep it. To add a quantity, write one row and its function in the rows file of its room (rows_<room>.cc).
#pragma once

#include <bitset>
#include <cstdint>
#include <optional>
#include <set>
#include <span>
#include <string_view>

#include "core/base/status.h"
#include "core/catalogue/unit_hours.h"

namespace hakea::core {

enum class Origin : std::uint8_t { feed, derived };

// How a quantity behaves over time and under readings.
enum class Nature : std::uint8_t {
  instant,     // a value at the start of the hour
  amount,      // an amount of the hour: summed over day and tail scopes
  extreme,     // the hour's extreme
  daily,       // stands from 09:00 local standard time until the next
  daily_noon,  // stands from noon local standard time until the next
  state,       // hourly and carried on: a reading replaces it and the model goes on from there
};

struct QuantityRow {
  std::string_view key;
  std::string_view title;
  std::string_view unit;             // UCUM; "1" for pure numbers
  double lowest = 0, highest = 0;    // plausible range
  std::string_view standard_name{};  // CF, or empty
  Origin origin = Origin::derived;
  Nature nature = Nature::instant;
  std::string_view model{};
  std::string_view source{};  // publication, or "common practice, no source"
  std::string_view equation{};
  std::string_view domain{};   // what the publication covers
  std::string_view inputs{};   // keys of the catalogue or of levels, unit properties; separated by blanks
  double near = 0;             // how far a limit may yield for a near miss; 0 = never
  bool near_is_share = false;  // near and forecast_error are shares of the bound
  double forecast_error = 0;   // for margins in error units; 0 = none
  Status status = Status::firm;
  bool is_direction = false;  // degrees on a circle
  void (*compute)(UnitHours&) =
      nullptr;  // fills the row's column from columns filled before it; null = filled before any is computed
};

std::span<const QuantityRow> catalogue();
std::optional<std::size_t> find_quantity(std::string_view key);
std::size_t quantity_index(std::string_view key);  // the key must exist

// Rows by catalogue index.
inline constexpr std::size_t kMostRows = 128;
using Rows = std::bitset<kMostRows>;

// The rows and all rows that they are computed from, as their `inputs` say.
Rows with_inputs(const Rows& rows);
// Those, and what they read as it was given although its own row is computed later: the dew point that a humidity is made of.
Rows with_all_inputs(const Rows& rows);

// What the rows rest on, by the names in `inputs`, their own keys among them: of what is fed, too, how it was made - where it was
// made of levels; a run that has none brings it as it is.
std::set<std::string_view> names_behind(const Rows& rows, bool has_levels);

// Runs every row in order. Readings of quantities that are not states stand for their hour.
void compute_all(UnitHours& hours);
// The same for what `wanted` needs only: the wanted columns come out as compute_all would make them, the others may be left
// as they were.
void compute_all(UnitHours& hours, const Rows& wanted);

// Rows by room, in the order they are computed.
std::span<const QuantityRow> weather_rows();
std::span<const QuantityRow> wetness_rows();
std::span<const QuantityRow> equilibrium_rows();
std::span<const QuantityRow> moisture_rows();
std::span<const QuantityRow> danger_rows();
std::span<const QuantityRow> fire_rows();
std::span<const QuantityRow> air_rows();
std::span<const QuantityRow> smoke_rows();

}  // namespace hakea::core
