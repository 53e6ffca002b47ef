#include "ingest/run/hourly.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>

#include "core/base/zone.h"
#include "core/weather/humidity.h"
#include "core/weather/sun.h"
#include "core/weather/wind.h"
#include "ingest/run/accumulation.h"

namespace hakea::ingest {

// Members of HourTurner::Steps, which has a name outside this file: so do these.

// The steps around an instant: both the same where it is a step.
struct StepsAround {
  std::size_t before, after;
  double share_after;
};

// When a run has one quantity, put together from however many files hold it: the same for all points and members.
struct StepsOfFed {
  struct Place {
    std::size_t field, step;
  };
  std::vector<Place> places;
  std::vector<UtcTime> at;
  std::vector<StepTime> interval;
  Accumulation counted = Accumulation::none;
  std::vector<std::optional<StepsAround>> around;  // by hour; none where the gap is too long
  bool of_intervals() const {
    return counted != Accumulation::none ||
           std::any_of(interval.begin(), interval.end(), [](const StepTime& t) { return t.begin < t.end; });
  }
};

namespace {

using namespace core;
using std::chrono::seconds;

constexpr seconds kLongestStep = std::chrono::hours(6);  // longer gaps are unknown
constexpr double kPackingNoise = 0.05;                   // mm, atmosphere.md 7.3

StepsOfFed steps_of(const RunPlan& run, RunHours hours, Fed fed) {
  StepsOfFed s;
  for (std::size_t step = 0; step < run.steps.size(); ++step)
    for (std::size_t f = 0; f < run.fields.size(); ++f) {
      if (run.fields[f].fed != fed || run.field_times[f][step].end == UtcTime::min()) continue;
      s.places.push_back({f, step});
      s.at.push_back(run.steps[step]);
      s.interval.push_back(run.field_times[f][step]);
      s.counted = run.accumulation[f];
      break;
    }
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcTime t = (hours.first + static_cast<int>(i)).start();
    std::optional<StepsAround>& around = s.around.emplace_back();
    const auto after = static_cast<std::size_t>(std::lower_bound(s.at.begin(), s.at.end(), t) - s.at.begin());
    if (after < s.at.size() && s.at[after] == t)
      around = {after, after, 0};
    else if (after > 0 && after < s.at.size() && s.at[after] - s.at[after - 1] <= kLongestStep)
      around = {
          after - 1, after,
          static_cast<double>((t - s.at[after - 1]).count()) / static_cast<double>((s.at[after] - s.at[after - 1]).count())};
  }
  return s;
}

// One quantity of a point and member. A step the quantity does not have is skipped over; a step it has with a missing value is
// missing, and nothing is interpolated across it.
struct FedSeries {
  const StepsOfFed* steps = nullptr;
  std::vector<double> value;
  bool empty() const { return value.empty(); }
};

double mix(double before, double after, double share) { return before + (after - before) * share; }

std::uint8_t mark(const StepsAround& a) { return a.before == a.after ? std::uint8_t{0} : flag::kInterpolated; }

class HourlyColumns {
 public:
  explicit HourlyColumns(RunHours hours) : hours_(hours) {}
  UtcTime at(std::size_t i) const { return (hours_.first + static_cast<int>(i)).start(); }
  std::size_t size() const { return hours_.hours; }
  Column column() const { return Column(hours_.hours, Reason::gap); }

  Column linear(const FedSeries& s) const {
    if (s.empty()) return {};
    Column c = column();
    for (std::size_t i = 0; i < size(); ++i)
      if (const auto& a = s.steps->around[i])
        c.set(i, mix(s.value[a->before], s.value[a->after], a->share_after), mark(*a), Reason::gap);
    return c;
  }

  // Held over the interval it belongs to, as a bound; between instants the larger of the two.
  Column held(const FedSeries& s) const {
    if (s.empty()) return {};
    Column c = column();
    if (!s.steps->of_intervals()) {
      for (std::size_t i = 0; i < size(); ++i)
        if (const auto& a = s.steps->around[i]) {
          const double x = s.value[a->before], y = s.value[a->after];
          c.set(i, std::isnan(x) || std::isnan(y) ? std::nan("") : std::max(x, y), mark(*a), Reason::gap);
        }
      return c;
    }
    for (std::size_t i = 0; i < size(); ++i) {
      double highest = -1;
      seconds covered{0};
      bool long_interval = false;
      for (std::size_t k = 0; k < s.value.size(); ++k) {
        const StepTime& interval = s.steps->interval[k];
        const seconds part = std::min(interval.end, at(i) + std::chrono::hours(1)) - std::max(interval.begin, at(i));
        if (part <= seconds(0) || std::isnan(s.value[k]) || interval.end - interval.begin > kLongestStep) continue;
        covered += part;
        highest = std::max(highest, s.value[k]);
        long_interval = long_interval || interval.end - interval.begin > std::chrono::hours(1);
      }
      if (covered >= std::chrono::hours(1)) c.set(i, highest, long_interval ? flag::kInterpolated : std::uint8_t{0});
    }
    return c;
  }

  // Amounts of intervals spread over the hours by `share(begin, end)`, keeping their sum; an hour that is not wholly
  // covered is unknown.
  template <class Share>
  Column spread(const std::vector<IntervalAmount>& amounts, Share share) const {
    Column c = column();
    std::vector<double> sum(size(), 0.0);
    std::vector<seconds> covered(size(), seconds(0));
    std::vector<std::uint8_t> flags(size(), 0);
    for (const IntervalAmount& a : amounts) {
      if (std::isnan(a.value) || a.begin >= a.end || a.end - a.begin > kLongestStep) continue;
      const double whole = share(a.begin, a.end);
      for (int h = std::max(0, UtcHour::of(a.begin) - hours_.first); h < static_cast<int>(size()); ++h) {
        const auto i = static_cast<std::size_t>(h);
        const UtcTime begin = std::max(a.begin, at(i)), end = std::min(a.end, at(i) + std::chrono::hours(1));
        if (begin >= end) break;
        const bool is_whole = begin == a.begin && end == a.end;  // then its share, hard-won from the sun, is known
        const double part = !(whole > 0) ? 0.0 : is_whole ? 1.0 : share(begin, end) / whole;
        sum[i] += a.value * part;
        covered[i] += end - begin;
        if (a.end - a.begin > std::chrono::hours(1)) flags[i] = flag::kInterpolated;
      }
    }
    for (std::size_t i = 0; i < size(); ++i)
      if (covered[i] >= std::chrono::hours(1)) c.set(i, sum[i], flags[i]);
    return c;
  }

 private:
  RunHours hours_;
};

// Numbers of intervals as amounts; what is counted since a start is differenced. Of means over intervals that begin together
// and grow (0-1 h, 0-2 h, …) each gives what it adds to the one before; `unit` is the time that a mean is per.
std::vector<IntervalAmount> amounts_of(const FedSeries& s, double noise, std::optional<seconds> unit) {
  const std::vector<StepTime>& intervals = s.steps->interval;
  if (s.steps->counted == Accumulation::since_start) return differences(intervals, s.value, noise);
  std::vector<IntervalAmount> amounts;
  std::size_t last = s.value.size();  // the last number known
  double before = 0;                  // its amount
  for (std::size_t k = 0; k < s.value.size(); ++k) {
    const StepTime& interval = intervals[k];
    double value = s.value[k];
    if (unit) value *= static_cast<double>((interval.end - interval.begin).count()) / static_cast<double>(unit->count());
    if (value < -noise) value = std::nan("");  // a fault of the data, not noise
    const bool grows = unit && last < k && intervals[last].begin == interval.begin && intervals[last].end < interval.end;
    const UtcTime begin = grows ? intervals[last].end : interval.begin;
    if (!std::isnan(value)) amounts.push_back({begin, interval.end, std::max(grows ? value - before : value, 0.0)});
    if (std::isnan(value)) continue;
    last = k;
    before = value;
  }
  return amounts;
}

std::optional<seconds> per_hour(const FedSeries& s) {
  return s.steps->counted == Accumulation::rate ? std::optional(seconds(3600)) : std::nullopt;
}

double length_of(UtcTime begin, UtcTime end) { return static_cast<double>((end - begin).count()); }

template <class Sky>
Column radiation(const HourlyColumns& hours, const FedSeries& s, Sky& sky) {
  if (s.empty()) return {};
  if (s.steps->of_intervals()) {
    const bool is_mean = s.steps->counted == Accumulation::none;  // W m-2, whose faults are out already
    constexpr double kNoise = 1000, kAny = 1e9;                   // J m-2
    const auto energy = is_mean ? amounts_of(s, kAny, seconds(1)) : amounts_of(s, kNoise, std::nullopt);
    Column c = hours.spread(energy, [&](UtcTime begin, UtcTime end) { return sky.energy(begin, end); });
    for (std::size_t i = 0; i < c.size(); ++i)
      if (!c.is_missing(i)) c.set(i, static_cast<double>(c[i]) / 3600, c.flags(i));
    return c;
  }
  // Instants: the share of the clear sky is what is interpolated.
  Column c = hours.column();
  for (std::size_t i = 0; i < hours.size(); ++i) {
    const auto& a = s.steps->around[i];
    if (!a) continue;
    const double before = s.value[a->before], after = s.value[a->after];
    if (a->before == a->after || std::isnan(before) || std::isnan(after)) {
      c.set(i, std::isnan(before) || std::isnan(after) ? std::nan("") : std::max(before, 0.0), mark(*a), Reason::gap);
      continue;
    }
    const double clear_before = sky.at(s.steps->at[a->before]), clear_after = sky.at(s.steps->at[a->after]);
    constexpr double kLow = 20;  // W/m2; a share of less sun than this says nothing
    const double r1 = clear_before > kLow ? before / clear_before : std::nan(""),
                 r2 = clear_after > kLow ? after / clear_after : std::nan("");
    const double share = std::isnan(r1) ? (std::isnan(r2) ? 1.0 : r2) : std::isnan(r2) ? r1 : mix(r1, r2, a->share_after);
    c.set(i, std::clamp(share, 0.0, 1.2) * sky.at(hours.at(i)), mark(*a));
  }
  return c;
}

std::optional<double> value_at(const FedSeries& s, UtcTime t) {
  if (s.empty()) return std::nullopt;
  const auto& at = s.steps->at;
  const auto found = std::lower_bound(at.begin(), at.end(), t);
  return found != at.end() && *found == t ? std::optional(s.value[static_cast<std::size_t>(found - at.begin())]) : std::nullopt;
}

// Dew points at the steps, from whatever the run holds: itself, relative humidity, or specific humidity under pressure.
template <class SeriesOf>
FedSeries dew_points(const SeriesOf& series, const FedSeries& temperature) {
  FedSeries own = series(Fed::dew_point_temperature);
  if (!own.empty()) return own;
  const FedSeries humidity = series(Fed::relative_humidity), specific = series(Fed::specific_humidity),
                  pressure = series(Fed::surface_pressure);
  const auto at = [](const FedSeries& s, UtcTime t) { return value_at(s, t).value_or(std::nan("")); };
  const FedSeries& given = !humidity.empty() ? humidity : specific;
  FedSeries dew = given;
  for (std::size_t k = 0; k < dew.value.size(); ++k) {
    const UtcTime t = dew.steps->at[k];
    if (!humidity.empty()) {
      const Percent rh = plausible_humidity(Percent(humidity.value[k]));
      dew.value[k] = dew_point(AirAndHumidity{Celsius(at(temperature, t)), rh}).value();
    } else {
      dew.value[k] =
          std::isnan(specific.value[k])
              ? std::nan("")
              : dew_point(vapour_pressure_of_specific_humidity(specific.value[k], Hectopascals(at(pressure, t)))).value();
    }
  }
  return dew;
}

// `along_grid_deg`: by how much the grid's own components are turned.
template <class SeriesOf>
void wind(const SeriesOf& series, double along_grid_deg, bool has_direction, const HourlyColumns& hours, PointHours& out) {
  FedSeries speed = series(Fed::wind_speed), from = series(Fed::wind_from_direction);
  FedSeries east = series(Fed::eastward_wind), north = series(Fed::northward_wind);
  double rotation = 0;
  if (east.empty() || north.empty()) {
    east = series(Fed::x_wind);
    north = series(Fed::y_wind);
    rotation = along_grid_deg;
  }
  if (!east.empty() && !north.empty() && east.steps->at == north.steps->at) {
    FedSeries by_components = east, direction = east;
    for (std::size_t k = 0; k < east.value.size(); ++k) {
      const WindVector v{KilometresPerHour(east.value[k]), KilometresPerHour(north.value[k])};
      const Wind w = has_direction ? turned(wind_of(v), Degrees(rotation)) : Wind{speed_of(v), Degrees::missing()};
      by_components.value[k] = w.speed.value();
      direction.value[k] = w.from.value();
    }
    if (speed.empty()) speed = std::move(by_components);
    if (from.empty()) from = std::move(direction);
  }
  out.wind_speed = hours.linear(speed);
  if (from.empty() || !has_direction) return;
  // Directions turn by components, so that north is not lost between 350 and 10 degrees.
  out.wind_from_direction = hours.column();
  for (std::size_t i = 0; i < hours.size(); ++i) {
    const auto& a = from.steps->around[i];
    if (!a) continue;
    if (a->before == a->after) {
      double d = from.value[a->before];
      if (d < 0 || d > 360) d = std::fmod(d + 720.0, 360.0);
      out.wind_from_direction.set(i, d, 0, Reason::gap);
      continue;
    }
    const auto strength = [&](std::size_t k) { return value_at(speed, from.steps->at[k]).value_or(1.0); };
    const WindVector x = components({KilometresPerHour(strength(a->before)), Degrees(from.value[a->before])}),
                     y = components({KilometresPerHour(strength(a->after)), Degrees(from.value[a->after])});
    const Wind mean = wind_of({KilometresPerHour(mix(x.eastward.value(), y.eastward.value(), a->share_after)),
                               KilometresPerHour(mix(x.northward.value(), y.northward.value(), a->share_after))});
    // Opposite winds that cancel leave no direction; calm on both sides is calm.
    const bool cancelled = mean.from.value() == 0 && (wind_of(x).from.value() != 0 || wind_of(y).from.value() != 0);
    out.wind_from_direction.set(i, cancelled ? std::nan("") : mean.from.value(), flag::kInterpolated,
                                cancelled ? Reason::not_finite : Reason::gap);
  }
}

}  // namespace

RunHours hours_of(const RunPlan& run) {
  if (run.steps.empty()) return {};
  UtcTime first = run.steps.front();
  for (const auto& times : run.field_times)
    for (const StepTime& t : times)
      if (t.end != UtcTime::min() && t.begin >= run.reference_time) first = std::min(first, t.begin);
  const UtcHour begin = first_hour_from(first), last = UtcHour::of(run.steps.back());
  return {begin, last < begin ? 0 : static_cast<std::size_t>(last - begin + 1)};
}

// The clear sky over a point.
class HourTurner::Sky {
 public:
  explicit Sky(PointOfInterest p) : sun_(p.latitude_deg, p.longitude_deg) {}
  // W m-2
  double at(UtcTime t) {
    const Degrees elevation = sun_.elevation_at(t);
    return elevation.value() <= 0 ? 0.0 : clear_sky_irradiance(elevation).value();
  }
  // Energy of a stretch, at ten-minute middles. J m-2
  double energy(UtcTime begin, UtcTime end) {
    const auto [known, is_new] = known_.try_emplace({begin, end}, 0.0);
    if (!is_new) return known->second;
    for (UtcTime t = begin; t < end; t += std::chrono::minutes(10)) {
      const UtcTime stop = std::min(end, t + std::chrono::minutes(10));
      known->second += at(t + (stop - t) / 2) * length_of(t, stop);
    }
    return known->second;
  }

 private:
  SunTrack sun_;
  std::map<std::pair<UtcTime, UtcTime>, double> known_;
};

struct HourTurner::Steps {
  std::array<StepsOfFed, core::kFedCount> of_fed;
};

HourTurner::HourTurner(const RunPlan& run, const LeftOut& left_out)
    : run_(run),
      has_direction_(!left_out.has(Fed::wind_from_direction, run)),
      hours_(hours_of(run)),
      steps_(std::make_unique<Steps>()) {
  for (std::size_t fed = 0; fed < core::kFedCount; ++fed)
    if (!left_out.has(static_cast<Fed>(fed), run)) steps_->of_fed[fed] = steps_of(run, hours_, static_cast<Fed>(fed));
}
HourTurner::~HourTurner() = default;

PointHours HourTurner::at_point(std::size_t point, const std::vector<std::vector<float>>& values) {
  const RunPlan& run = run_;
  if (!sky_ || point != point_) {
    sky_ = std::make_unique<Sky>(point < run.sampled_at.size() ? run.sampled_at[point] : PointOfInterest{});
    point_ = point;
  }
  const HourlyColumns hours(hours_);
  const auto series = [&](Fed fed) {
    FedSeries s{&steps_->of_fed[static_cast<std::size_t>(fed)], {}};
    s.value.reserve(s.steps->places.size());
    for (const auto& [field, step] : s.steps->places)
      if (values[field].size() == run.steps.size()) s.value.push_back(static_cast<double>(values[field][step]));
    if (s.value.size() != s.steps->places.size()) s.value.clear();
    return s;
  };
  PointHours out;
  const FedSeries temperature = series(Fed::air_temperature);
  out.air_temperature = hours.linear(temperature);
  out.dew_point_temperature = hours.linear(dew_points(series, temperature));
  // Interpolated separately, the dew point could pass the temperature.
  for (std::size_t i = 0; i < std::min(out.dew_point_temperature.size(), out.air_temperature.size()); ++i)
    if (out.dew_point_temperature[i] > out.air_temperature[i])
      out.dew_point_temperature.set(i, static_cast<double>(out.air_temperature[i]), out.dew_point_temperature.flags(i));
  const double along_grid_deg = point < run.wind_rotation_deg.size() ? static_cast<double>(run.wind_rotation_deg[point]) : 0;
  wind(series, along_grid_deg, has_direction_, hours, out);
  out.wind_gust = hours.held(series(Fed::wind_gust));
  if (const FedSeries rain = series(Fed::precipitation_amount); !rain.empty())
    out.precipitation_amount = hours.spread(amounts_of(rain, kPackingNoise, per_hour(rain)), length_of);
  out.shortwave_radiation = radiation(hours, series(Fed::shortwave_radiation), *sky_);
  out.cloud_area_fraction = hours.linear(series(Fed::cloud_area_fraction));
  out.surface_pressure = hours.linear(series(Fed::surface_pressure));
  out.mixing_height = hours.linear(series(Fed::mixing_height));
  return out;
}

}  // namespace hakea::ingest
