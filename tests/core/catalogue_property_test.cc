// What holds for every row of the catalogue, whatever it computes: over the fuel types and seeded weather.
#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <random>
#include <set>
#include <tuple>

#include "core/base/words.h"
#include "core/catalogue/carry.h"
#include "service/input/fuel_table.h"
#include "tests/core/unit_hours_builder.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

const LocalDate kDay = date(2027, 3, 30);
constexpr std::size_t kHours = 12 * 24;

// A fuel type of the table for each way of computing, on a slope, with what a unit would say of its fuel.
const std::vector<UnitTraits>& units() {
  static const std::vector<UnitTraits> all = [] {
    std::vector<UnitTraits> made;
    std::set<std::tuple<bool, MoistureModel, SpreadModel, bool>> seen;
    for (const auto& [type, fuel] : service::built_in_fuels().by_type) {
      if (!seen.emplace(fuel.is_forest, fuel.moisture_model, fuel.spread_model, fuel.bed && fuel.bed->is_dynamic).second)
        continue;
      UnitTraits unit = forest_unit();
      unit.fuel = fuel;
      if (unit.fuel.load.is_missing()) unit.fuel.load = TonnesPerHectare(9);
      if (unit.fuel.curing.is_missing()) unit.fuel.curing = Percent(90);
      if (unit.fuel.height.is_missing()) unit.fuel.height = Metres(0.3);
      if (unit.fuel.canopy_height.is_missing()) unit.fuel.canopy_height = Metres(18);
      if (std::isnan(unit.fuel.age_years)) unit.fuel.age_years = 12;
      made.push_back(unit);
    }
    return made;
  }();
  return all;
}

// Hours from 09:00 with a state before them, in weather that wanders over what the models know; the same for every seed.
UnitHours wandering(const UnitTraits& unit, unsigned seed, std::size_t count = kHours) {
  std::mt19937 random(seed);  // the same everywhere, unlike the standard distributions
  const auto uniform = [&](double low, double high) {
    return low + (high - low) * (static_cast<double>(random()) / 4294967296.0);
  };
  UnitHours hours(unit, nine_on(unit, kDay), count);
  enter_state(hours, kDay);
  double warmth = uniform(2, 28), moist = uniform(10, 90), wind = uniform(0, 40), from = uniform(0, 360), spell = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const double sun =
        std::sin(2 * 3.14159265358979 * (static_cast<double>((hours.first + static_cast<int>(i)).count % 24) - 19) / 24);
    warmth = std::clamp(warmth + uniform(-1, 1), 2.0, 30.0);
    moist = std::clamp(moist + uniform(-4, 4), 12.0, 95.0);
    wind = std::clamp(wind + uniform(-3, 3), 0.0, 60.0);
    from = std::fmod(from + uniform(-20, 20) + 360, 360);
    spell = spell > 0 ? spell - 1 : uniform(0, 1) < 0.02 ? std::floor(uniform(1, 12)) : 0;
    const double air = warmth + 7 * sun, humidity = std::clamp(moist - 20 * sun, 6.0, 100.0);
    hours["air_temperature"].set(i, air);
    hours["relative_humidity"].set(i, humidity);
    hours["wind_speed"].set(i, wind);
    hours["wind_from_direction"].set(i, from);
    hours["wind_gust"].set(i, 1.5 * wind);
    hours["precipitation_amount"].set(i, spell > 0 ? uniform(0, 4) : 0);
    hours["shortwave_radiation"].set(i, std::max(0.0, 800 * sun));
    hours["cloud_area_fraction"].set(i, uniform(0, 100));
    hours["surface_pressure"].set(i, 990);
    hours["mixing_height"].set(i, 150 + 1200 * std::max(0.0, sun));
  }
  return hours;
}

UnitHours computed(UnitHours hours) {
  compute_all(hours);
  return hours;
}

std::string name_of(const UnitTraits& unit, const QuantityRow& row) { return unit.fuel.type + ": " + std::string(row.key); }

bool is_same(const Column& a, std::size_t i, const Column& b, std::size_t k) {
  return std::bit_cast<std::uint32_t>(a[i]) == std::bit_cast<std::uint32_t>(b[k]) && a.flags(i) == b.flags(k) &&
         a.why(i) == b.why(k);
}
bool is_same(const Column& a, const Column& b) {
  for (std::size_t i = 0; i < a.size(); ++i)
    if (!is_same(a, i, b, i)) return false;
  return a.size() == b.size();
}

// The rows that a row says it is computed from and that stand before it.
std::vector<std::size_t> inputs_of(std::size_t q) {
  std::vector<std::size_t> found;
  for (const std::string_view word : words(catalogue()[q].inputs))
    if (const auto input = find_quantity(word); input && *input < q) found.push_back(*input);
  return found;
}

// Of a daily quantity the last hour speaks: a lack takes days to tell.
bool is_daily(const QuantityRow& row) { return row.nature == Nature::daily || row.nature == Nature::daily_noon; }

// Adds a step to a column where it has values, kept inside its range.
void add(UnitHours& hours, std::size_t q, double step) {
  Column& column = hours.columns[q];
  const QuantityRow& row = catalogue()[q];
  for (std::size_t i = 0; i < hours.hours; ++i)
    if (!column.is_missing(i))
      column.set(i, std::clamp(static_cast<double>(column[i]) + step, row.lowest, row.highest), column.flags(i));
}

// Runs the rows between two that `to` needs.
void recompute(UnitHours& hours, std::size_t from, std::size_t to) {
  const Rows needed = with_inputs(Rows().set(to));
  for (std::size_t r = from + 1; r <= to; ++r)
    if (needed[r] && catalogue()[r].compute && with_inputs(Rows().set(r))[from]) catalogue()[r].compute(hours);
}

TEST(EveryRow, IsMissingWithAReasonWhereNothingIsKnown) {
  const std::set<std::string_view> of_the_place{"solar_elevation"};
  for (const UnitTraits& unit : units()) {
    const UnitHours hours = computed(UnitHours(unit, nine_on(unit, kDay), 48));
    for (std::size_t q = 0; q < catalogue().size(); ++q) {
      const QuantityRow& row = catalogue()[q];
      if (of_the_place.contains(row.key)) continue;
      for (std::size_t i = 0; i < hours.hours; ++i) {
        const Column& column = hours.columns[q];
        if (row.key == "hours_since_rain" || row.key == "days_since_rain") {
          EXPECT_TRUE(column.is_missing(i) || (column.flags(i) & flag::kAtLeast)) << name_of(unit, row) << i;
          continue;
        }
        ASSERT_TRUE(column.is_missing(i)) << name_of(unit, row) << i;
        EXPECT_NE(column.why(i), Reason::none) << name_of(unit, row) << i;
        EXPECT_NE(column.why(i), Reason::not_finite) << name_of(unit, row) << i;
      }
    }
  }
}

// Inputs that a row can do without, and how. A state goes on for some hours without weather, flagged spin_up.
const std::set<std::pair<std::string_view, std::string_view>> kDispensable{
    {"dew_point_temperature", "relative_humidity"},         // kept where it is fed
    {"litter_moisture", "shortwave_radiation"},             // as if the sky were clear
    {"litter_moisture", "cloud_area_fraction"},             // as if the sky were clear
    {"litter_moisture_sheltered", "shortwave_radiation"},   // as if the sky were clear
    {"litter_moisture_sheltered", "cloud_area_fraction"},   // as if the sky were clear
    {"litter_moisture_regression", "shortwave_radiation"},  // as if the sky were clear
    {"heath_moisture", "shortwave_radiation"},              // as if the sky were clear
    {"mallee_heath_moisture", "shortwave_radiation"},       // as if the sky were clear
    {"stability_class", "shortwave_radiation"},             // by another way
    {"stability_class", "near_ground_gradient"},            // by another way
    {"stability_class", "cloud_area_fraction"},             // by another way
};

TEST(EveryRow, WithoutAnInputThatItNeedsIsMissingWithAReason) {
  for (const UnitTraits& unit : units()) {
    const UnitHours whole = computed(wandering(unit, 1));
    for (std::size_t q = 0; q < catalogue().size(); ++q) {
      const QuantityRow& row = catalogue()[q];
      if (!row.compute) continue;
      for (const std::size_t p : inputs_of(q)) {
        UnitHours hours = whole;
        for (std::size_t i = 0; i < hours.hours; ++i) hours.columns[p].set_missing(i, Reason::gap);
        recompute(hours, p, q);
        const bool may_do_without = kDispensable.contains({row.key, catalogue()[p].key});
        for (std::size_t i = is_daily(row) ? hours.hours - 1 : 0; i < hours.hours; ++i) {
          const Column& column = hours.columns[q];
          if (column.is_missing(i)) {
            EXPECT_NE(column.why(i), Reason::none) << name_of(unit, row) << " without " << catalogue()[p].key;
            EXPECT_NE(column.why(i), Reason::not_finite) << name_of(unit, row) << " without " << catalogue()[p].key;
          } else if (!may_do_without && !(column.flags(i) & (flag::kSpinUp | flag::kAtLeast)) &&
                     column[i] != whole.columns[q][i]) {
            ADD_FAILURE() << name_of(unit, row) << " makes something of nothing without " << catalogue()[p].key << " in hour "
                          << i;
            break;
          }
        }
      }
    }
  }
}

TEST(EveryRow, IsFiniteAndInsideItsDomainPlausibleInWanderingWeather) {
  // Without a value in frost, and where the index that they divide by is 0.
  const std::set<std::string_view> has_poles{"mcarthur_litter_moisture", "simple_fire_danger_index", "gfdi_mark5"};
  for (const UnitTraits& unit : units())
    for (unsigned seed = 1; seed <= 8; ++seed) {
      const UnitHours hours = computed(wandering(unit, seed));
      for (std::size_t q = 0; q < catalogue().size(); ++q) {
        const QuantityRow& row = catalogue()[q];
        const Column& column = hours.columns[q];
        for (std::size_t i = 0; i < hours.hours; ++i) {
          if (column.is_missing(i)) {
            ASSERT_NE(column.why(i), Reason::none) << name_of(unit, row) << i;
            ASSERT_TRUE(column.why(i) != Reason::not_finite || has_poles.contains(row.key)) << name_of(unit, row) << i;
            continue;
          }
          if (column.flags(i) & flag::kOutOfDomain) continue;
          ASSERT_GE(column[i], static_cast<float>(row.lowest)) << name_of(unit, row) << i;
          ASSERT_LE(column[i], static_cast<float>(row.highest)) << name_of(unit, row) << i;
        }
      }
    }
}

TEST(EveryRow, LeavesTheColumnsBeforeItAlone) {
  for (const UnitTraits& unit : units()) {
    UnitHours hours = wandering(unit, 2);
    for (std::size_t q = 0; q < catalogue().size(); ++q) {
      if (!catalogue()[q].compute) continue;
      const std::vector<Column> before(hours.columns.begin(), hours.columns.begin() + static_cast<std::ptrdiff_t>(q));
      catalogue()[q].compute(hours);
      for (std::size_t p = 0; p < q; ++p)
        EXPECT_TRUE(is_same(hours.columns[p], before[p])) << name_of(unit, catalogue()[q]) << " changed " << catalogue()[p].key;
    }
  }
}

// Where an input changes a value, its flag reaches the value too.
TEST(EveryRow, OutOfDomainIsInheritedFromWhateverAValueDependsOn) {
  for (const UnitTraits& unit : units()) {
    const UnitHours whole = computed(wandering(unit, 3));
    for (std::size_t q = 0; q < catalogue().size(); ++q) {
      const QuantityRow& row = catalogue()[q];
      if (!row.compute || row.nature != Nature::instant) continue;  // a state is flagged by the weather of its own hour
      for (const std::size_t p : inputs_of(q)) {
        if (catalogue()[p].origin == Origin::feed) continue;  // has no model and no domain
        UnitHours moved = whole, flagged = whole;
        add(moved, p, 0.01 * (std::abs(static_cast<double>(whole.columns[p][0])) + 1));
        for (std::size_t i = 0; i < whole.hours; ++i)
          if (!whole.columns[p].is_missing(i)) flagged.columns[p].add_flags(i, flag::kOutOfDomain);
        recompute(moved, p, q);
        recompute(flagged, p, q);
        for (std::size_t i = 0; i < whole.hours; ++i) {
          if (flagged.columns[q].is_missing(i) || moved.columns[q].is_missing(i) || moved.columns[q][i] == whole.columns[q][i])
            continue;
          ASSERT_TRUE(flagged.columns[q].flags(i) & flag::kOutOfDomain)
              << name_of(unit, row) << " forgets that " << catalogue()[p].key << " is outside its domain, hour " << i;
        }
      }
    }
  }
}

// What physics says: raising the input by the step everywhere never moves the quantity the other way.
enum class Along : std::uint8_t { all_between, itself };  // what is computed again
struct Slope {
  std::string_view key, input;
  int sign;
  double step = 1;
  Along along = Along::all_between;
};
constexpr Slope kSlopes[] = {
    {"vapour_pressure_deficit", "air_temperature", +1},
    {"vapour_pressure_deficit", "relative_humidity", -1},
    {"in_forest_wind_speed", "wind_speed", +1},
    {"hours_since_rain", "precipitation_amount", -1},
    {"days_since_rain", "precipitation_amount", -1},
    {"kbdi", "air_temperature", +1},
    {"kbdi", "precipitation_amount", -1, 0.1},
    {"drought_factor", "kbdi", +1},  // not by the rain: a shower can join two events into an older one
    {"ffmc", "air_temperature", +1},
    {"ffmc", "relative_humidity", -1},
    {"dmc", "air_temperature", +1},
    {"dmc", "relative_humidity", -1},
    {"dc", "air_temperature", +1},
    {"dc", "precipitation_amount", -1, 0.1},
    {"isi", "wind_speed", +1},
    {"bui", "air_temperature", +1},
    {"fwi", "wind_speed", +1},
    {"fwi", "relative_humidity", -1},
    {"daily_severity_rating", "fwi", +1, 0.1},
    {"hourly_ffmc", "relative_humidity", -1},
    {"hourly_isi", "hourly_ffmc", +1, 0.1},
    {"hourly_fwi", "bui", +1},
    {"equilibrium_moisture_drying", "relative_humidity", +1},
    {"equilibrium_moisture_drying", "air_temperature", -1},
    {"equilibrium_moisture_wetting", "relative_humidity", +1},
    {"equilibrium_moisture_simard", "relative_humidity", +1},
    {"equilibrium_moisture_simard", "air_temperature", -1},
    {"equilibrium_moisture_nelson", "relative_humidity", +1},
    {"vpd_fuel_moisture", "vapour_pressure_deficit", -1},
    {"vpd_fuel_moisture_australia", "vapour_pressure_deficit", -1},
    {"fuel_moisture_index", "relative_humidity", +1},
    {"fuel_moisture_index", "air_temperature", -1},
    {"litter_moisture", "relative_humidity", +1},
    {"litter_moisture", "precipitation_amount", +1, 4},  // drizzle wets more slowly than moist air does
    {"litter_moisture_sheltered", "relative_humidity", +1},
    {"grass_moisture", "relative_humidity", +1},
    {"grass_moisture", "air_temperature", -1},
    {"heath_moisture", "relative_humidity", +1},
    {"heath_moisture", "air_temperature", -1},
    {"mallee_heath_moisture", "relative_humidity", +1},
    {"buttongrass_moisture", "relative_humidity", +1, 1},
    {"dead_fuel_moisture_1h", "relative_humidity", +1},
    {"dead_fuel_moisture_10h", "relative_humidity", +1},
    {"dead_fuel_moisture_10h", "precipitation_amount", +1, 4},
    {"dead_fuel_moisture_100h", "relative_humidity", +1},
    {"dead_fuel_moisture_100h", "precipitation_amount", +1, 4},
    {"ffdi", "drought_factor", +1, 0.2},
    {"ffdi", "air_temperature", +1},
    {"ffdi", "relative_humidity", -1},
    {"ffdi", "wind_speed", +1},
    {"gfdi", "air_temperature", +1},
    {"gfdi", "relative_humidity", -1},
    {"gfdi", "wind_speed", +1},
    {"gfdi_mark3", "wind_speed", +1},
    {"gfdi_mark5", "wind_speed", +1},
    {"fosberg_index", "wind_speed", +1},
    {"fosberg_index", "equilibrium_moisture_simard", -1, 0.1},
    {"rate_of_spread", "litter_moisture", -1},
    {"rate_of_spread", "in_forest_wind_speed", +1, 1, Along::itself},  // which also dries and wets the litter
    {"fireline_intensity", "rate_of_spread", +1},
    {"flame_length", "fireline_intensity", +1, 10},
    {"flame_height", "rate_of_spread", +1},
    {"scorch_height", "fireline_intensity", +1, 10},
    {"scorch_height", "air_temperature", +1, 1, Along::itself},
    {"ventilation_index", "mixing_height", +1, 10},
    {"ventilation_index", "transport_wind_speed", +1},
};

TEST(EveryRow, RisesAndFallsAsPhysicsSays) {
  for (const Slope& slope : kSlopes) {
    const std::size_t q = quantity_index(slope.key), p = quantity_index(slope.input);
    std::size_t moved = 0, known = 0;
    for (const UnitTraits& unit : units())
      for (unsigned seed = 11; seed <= 12; ++seed) {
        const UnitHours before = computed(wandering(unit, seed));
        UnitHours after = before;
        add(after, p, slope.step);
        if (slope.along == Along::itself)
          catalogue()[q].compute(after);
        else
          recompute(after, p, q);
        for (std::size_t i = 0; i < before.hours; ++i) {
          if (before.columns[q].is_missing(i) || after.columns[q].is_missing(i)) continue;
          ++known;
          const float change = (after.columns[q][i] - before.columns[q][i]) * static_cast<float>(slope.sign);
          // A state passes on its rounding to float32.
          ASSERT_GE(change, -1e-5F * std::abs(before.columns[q][i]))
              << name_of(unit, catalogue()[q]) << " by " << slope.input << ", hour " << i << ": " << before.columns[q][i]
              << " to " << after.columns[q][i];
          moved += change > 0;
        }
      }
    EXPECT_GT(known, 0u) << slope.key << " has no value for any fuel";
    EXPECT_GT(moved, 0u) << slope.key << " does not heed " << slope.input;
  }
}

// The hours from `begin` on as they were given, nothing computed.
UnitHours piece_of(const UnitHours& given, std::size_t begin, std::size_t end) {
  UnitHours piece(*given.unit, given.first + static_cast<int>(begin), end - begin);
  for (std::size_t q = 0; q < catalogue().size(); ++q)
    for (std::size_t i = begin; i < end; ++i)
      if (!given.columns[q].is_missing(i)) piece.columns[q].set(i - begin, static_cast<double>(given.columns[q][i]));
  if (begin == 0) piece.initial_state = given.initial_state;
  return piece;
}

// A run cut at any rain day and taken up with the state carried to there gives, to the bit, what one run gives.
TEST(EveryRow, ComesOutTheSameInTwoPieces) {
  for (const UnitTraits& unit : units()) {
    const UnitHours given = wandering(unit, 4), whole = computed(given);
    for (const std::size_t cut : {24u, 72u, 168u}) {
      UnitHours first = computed(piece_of(given, 0, cut)), second = piece_of(given, cut, given.hours);
      second.initial_state = carried_state(first);
      ASSERT_TRUE(second.initial_state) << unit.fuel.type;
      compute_all(second);
      for (std::size_t q = 0; q < catalogue().size(); ++q) {
        const QuantityRow& row = catalogue()[q];
        if (row.key == "wind_shift") continue;  // looks back two hours, which are no state
        for (std::size_t i = 0; i < first.hours; ++i)
          ASSERT_TRUE(is_same(first.columns[q], i, whole.columns[q], i))
              << name_of(unit, row) << " of the first piece, hour " << i;
        for (std::size_t i = 0; i < second.hours; ++i)
          ASSERT_TRUE(is_same(second.columns[q], i, whole.columns[q], cut + i))
              << name_of(unit, row) << " cut at " << cut << ", hour " << i << ": " << second.columns[q][i] << ", at once "
              << whole.columns[q][cut + i];
      }
    }
  }
}

// What a run hands on rests on the rows of states alone: the next piece is the same to the bit.
TEST(EveryRow, StatesAreCarriedWithoutTheRowsThatAreNone) {
  for (const UnitTraits& unit : units()) {
    const UnitHours given = wandering(unit, 4);
    UnitHours all = computed(piece_of(given, 0, 72)), states = piece_of(given, 0, 72);
    compute_all(states, rows_of_states());
    UnitHours after_all = piece_of(given, 72, given.hours), after_states = after_all;
    after_all.initial_state = carried_state(all);
    after_states.initial_state = carried_state(states);
    ASSERT_TRUE(after_all.initial_state && after_states.initial_state) << unit.fuel.type;
    compute_all(after_all);
    compute_all(after_states);
    for (std::size_t q = 0; q < catalogue().size(); ++q)
      EXPECT_TRUE(is_same(after_all.columns[q], after_states.columns[q])) << name_of(unit, catalogue()[q]);
  }
}

}  // namespace
}  // namespace hakea::test
