// Numbers with their unit in the type.
//
// A quantity is made from a number in a named unit and read back in that unit; nothing mixes units silently and there is
// no dimensional algebra: the trade's equations are regressions between numbers in stated units, so a kernel takes the
// numbers out, writes the published form and puts the unit back. NaN inside a quantity means "missing" and is carried
// along by arithmetic; only core/prescription compares a value with a limit.
#pragma once

#include <cmath>
#include <compare>
#include <limits>
#include <string_view>
#include <type_traits>

namespace hakea {

enum class Dimension {
  temperature,
  ratio,
  speed,
  angle,
  length,
  water_depth,
  pressure,
  energy_flux,
  load,
  spread,
  intensity,
  ventilation,
  time,
  number
};

// `to_base` and `offset` lead to the dimension's base unit: base = value * to_base + offset.
namespace unit {
struct Celsius {
  static constexpr auto dimension = Dimension::temperature;
  static constexpr std::string_view symbol = "Cel";
  static constexpr double to_base = 1, offset = 273.15;
};
struct Kelvin {
  static constexpr auto dimension = Dimension::temperature;
  static constexpr std::string_view symbol = "K";
  static constexpr double to_base = 1, offset = 0;
};
struct Percent {
  static constexpr auto dimension = Dimension::ratio;
  static constexpr std::string_view symbol = "%";
  static constexpr double to_base = 0.01, offset = 0;
};
struct MetresPerSecond {
  static constexpr auto dimension = Dimension::speed;
  static constexpr std::string_view symbol = "m/s";
  static constexpr double to_base = 1, offset = 0;
};
struct KilometresPerHour {
  static constexpr auto dimension = Dimension::speed;
  static constexpr std::string_view symbol = "km/h";
  static constexpr double to_base = 1 / 3.6, offset = 0;
};
struct Degrees {
  static constexpr auto dimension = Dimension::angle;
  static constexpr std::string_view symbol = "deg";
  static constexpr double to_base = 1, offset = 0;
};
struct Metres {
  static constexpr auto dimension = Dimension::length;
  static constexpr std::string_view symbol = "m";
  static constexpr double to_base = 1, offset = 0;
};
struct Millimetres {
  static constexpr auto dimension = Dimension::water_depth;
  static constexpr std::string_view symbol = "mm";
  static constexpr double to_base = 1, offset = 0;
};
struct Pascals {
  static constexpr auto dimension = Dimension::pressure;
  static constexpr std::string_view symbol = "Pa";
  static constexpr double to_base = 1, offset = 0;
};
struct Hectopascals {
  static constexpr auto dimension = Dimension::pressure;
  static constexpr std::string_view symbol = "hPa";
  static constexpr double to_base = 100, offset = 0;
};
struct WattsPerSquareMetre {
  static constexpr auto dimension = Dimension::energy_flux;
  static constexpr std::string_view symbol = "W/m2";
  static constexpr double to_base = 1, offset = 0;
};
struct TonnesPerHectare {
  static constexpr auto dimension = Dimension::load;
  static constexpr std::string_view symbol = "t/ha";
  static constexpr double to_base = 1, offset = 0;
};
struct MetresPerHour {
  static constexpr auto dimension = Dimension::spread;
  static constexpr std::string_view symbol = "m/h";
  static constexpr double to_base = 1, offset = 0;
};
struct KilowattsPerMetre {
  static constexpr auto dimension = Dimension::intensity;
  static constexpr std::string_view symbol = "kW/m";
  static constexpr double to_base = 1, offset = 0;
};
struct SquareMetresPerSecond {
  static constexpr auto dimension = Dimension::ventilation;
  static constexpr std::string_view symbol = "m2/s";
  static constexpr double to_base = 1, offset = 0;
};
struct Hours {
  static constexpr auto dimension = Dimension::time;
  static constexpr std::string_view symbol = "h";
  static constexpr double to_base = 1, offset = 0;
};
struct Days {
  static constexpr auto dimension = Dimension::time;
  static constexpr std::string_view symbol = "d";
  static constexpr double to_base = 24, offset = 0;
};
struct One {
  static constexpr auto dimension = Dimension::number;
  static constexpr std::string_view symbol = "1";
  static constexpr double to_base = 1, offset = 0;
};
}  // namespace unit

template <class Unit>
inline constexpr bool is_affine = Unit::offset != 0;

template <class Unit>
class Quantity {
 public:
  using unit_type = Unit;

  constexpr Quantity() = default;
  constexpr explicit Quantity(double value) : value_(value) {}
  static constexpr Quantity missing() { return Quantity(std::numeric_limits<double>::quiet_NaN()); }

  constexpr double value() const { return value_; }
  bool is_missing() const { return std::isnan(value_); }

  friend constexpr auto operator<=>(Quantity, Quantity) = default;

  friend constexpr Quantity operator+(Quantity a, Quantity b) requires(!is_affine<Unit>) { return Quantity(a.value_ + b.value_); }
  friend constexpr Quantity operator-(Quantity a, Quantity b) requires(!is_affine<Unit>) { return Quantity(a.value_ - b.value_); }
  friend constexpr Quantity operator*(Quantity a, double k) requires(!is_affine<Unit>) { return Quantity(a.value_ * k); }
  friend constexpr double operator/(Quantity a, Quantity b) requires(!is_affine<Unit>) { return a.value_ / b.value_; }

 private:
  double value_ = std::numeric_limits<double>::quiet_NaN();
};

// The same amount in another unit of the same dimension.
template <class To, class From>
requires(To::unit_type::dimension == From::dimension) constexpr To to(Quantity<From> q) {
  using U = typename To::unit_type;
  return To((q.value() * From::to_base + From::offset - U::offset) / U::to_base);
}

using Celsius = Quantity<unit::Celsius>;
using Kelvin = Quantity<unit::Kelvin>;
using Percent = Quantity<unit::Percent>;
using MetresPerSecond = Quantity<unit::MetresPerSecond>;
using KilometresPerHour = Quantity<unit::KilometresPerHour>;
using Degrees = Quantity<unit::Degrees>;
using Metres = Quantity<unit::Metres>;
using Millimetres = Quantity<unit::Millimetres>;
using Pascals = Quantity<unit::Pascals>;
using Hectopascals = Quantity<unit::Hectopascals>;
using WattsPerSquareMetre = Quantity<unit::WattsPerSquareMetre>;
using TonnesPerHectare = Quantity<unit::TonnesPerHectare>;
using MetresPerHour = Quantity<unit::MetresPerHour>;
using KilowattsPerMetre = Quantity<unit::KilowattsPerMetre>;
using SquareMetresPerSecond = Quantity<unit::SquareMetresPerSecond>;
using Hours = Quantity<unit::Hours>;
using Days = Quantity<unit::Days>;
using One = Quantity<unit::One>;

static_assert(sizeof(Celsius) == sizeof(double) && std::is_trivially_copyable_v<Celsius>);

}  // namespace hakea
