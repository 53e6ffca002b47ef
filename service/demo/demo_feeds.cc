#include "service/demo/demo_feeds.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/base/numbers.h"
#include "core/weather/sun.h"
#include "ingest/format/netcdf_output.h"
#include "service/demo/level_air.h"

namespace hakea::service {
namespace {

using std::chrono::hours;

struct Axis {
  double first, step;
  std::size_t count;
  double at(std::size_t i) const { return first + step * static_cast<double>(i); }
};

struct Model {
  const char* id;
  const char* title;
  Telling telling;
  Axis latitude, longitude;
  int last_lead_h, step_h, cycle_h, delay_h;
  double smoothing_km;  // 0: the ground as it is
};

// The grids cover the district with a margin of at least a cell.
constexpr Model kFine{"fine", "Demo fine model", Telling::fine, {-38.05, 0.05, 15}, {152.15, 0.05, 19}, 90, 1, 6, 1, 0};
constexpr Model kCoarse{"coarse", "Demo coarse model", Telling::coarse, {-38.07, 0.125, 7}, {152.05, 0.125, 9}, 240, 3, 12, 6,
                        35};

constexpr std::array<double, 14> kLevels{1000, 975, 950, 925, 900, 875, 850, 825, 800, 775, 750, 700, 600, 500};

constexpr UtcTime kFirstRun = std::chrono::sys_days(std::chrono::year(2027) / 3 / 29) + hours(12);
constexpr UtcTime kRunWithGap = kFirstRun + hours(6);
constexpr int kGapFirst = 31, kGapLast = 34;

const Model& model_of(const std::string& feed) { return feed == kCoarse.id ? kCoarse : kFine; }

std::vector<int> leads_of(const Model& model, UtcTime reference) {
  std::vector<int> leads;
  for (int lead = 0; lead <= model.last_lead_h; lead += model.step_h)
    if (&model != &kFine || reference != kRunWithGap || lead < kGapFirst || lead > kGapLast) leads.push_back(lead);
  return leads;
}

// What a cell of a model knows of the country.
struct Cell {
  Place place;
  Metres ground;
  ZoneShares zones;
};

std::vector<Cell> cells_of(const Model& model) {
  static const DemoCountry country;
  std::vector<Cell> cells;
  for (std::size_t y = 0; y < model.latitude.count; ++y)
    for (std::size_t x = 0; x < model.longitude.count; ++x) {
      const Place place{model.latitude.at(y), model.longitude.at(x)};
      const double ground =
          model.smoothing_km > 0 ? country.smoothed_elevation_m(place, model.smoothing_km) : country.elevation_m(place);
      cells.push_back({place, Metres(std::round(ground)), country.zones(place)});
    }
  return cells;
}

// The error of a run at a lead: up to 0.4 degC ten days ahead, of either sign.
double temperature_error(UtcTime reference, int lead_h) {
  const auto run = static_cast<double>((reference - kFirstRun) / hours(6));
  return 0.4 * std::sin(2.4 * run) * lead_h / 240;
}

struct FieldRow {
  const char* name;
  const char* standard_name;
  const char* unit;
  const char* cell_methods;
  const char* long_name;
  double height_m;  // above the ground, 0: none
  double scale, offset;
  bool on_levels;
};

enum Field : std::size_t {
  kTemperature,
  kDewPoint,
  kEastward,
  kNorthward,
  kGust,
  kRain,
  kRadiation,
  kCloud,
  kPressure,
  kLevelTemperature,
  kLevelHumidity,
  kLevelEastward,
  kLevelNorthward,
  kLevelHeight,
  kFieldCount
};

constexpr std::array<FieldRow, kFieldCount> kFields{{
    {"air_temperature_2m", "air_temperature", "K", "time: point", "", 2, 0.005, 290, false},
    {"dew_point_temperature_2m", "dew_point_temperature", "K", "time: point", "", 2, 0.005, 290, false},
    {"eastward_wind_10m", "eastward_wind", "m s-1", "time: point", "", 10, 0.005, 0, false},
    {"northward_wind_10m", "northward_wind", "m s-1", "time: point", "", 10, 0.005, 0, false},
    {"wind_gust_10m", "wind_speed_of_gust", "m s-1", "time: maximum", "strongest gust since the step before", 10, 0.005, 0,
     false},
    {"precipitation", "precipitation_amount", "kg m-2", "time: sum", "precipitation accumulated since forecast_reference_time", 0,
     0.01, 0, false},
    {"shortwave", "surface_downwelling_shortwave_flux_in_air", "W m-2", "time: mean", "mean since the step before", 0, 0.1, 0,
     false},
    {"cloud", "cloud_area_fraction", "1", "time: point", "", 0, 0.001, 0, false},
    {"surface_pressure", "surface_air_pressure", "Pa", "time: point", "", 0, 1, 95000, false},
    {"air_temperature", "air_temperature", "K", "time: point", "", 0, 0.005, 270, true},
    {"relative_humidity", "relative_humidity", "%", "time: point", "", 0, 0.01, 0, true},
    {"eastward_wind", "eastward_wind", "m s-1", "time: point", "", 0, 0.005, 0, true},
    {"northward_wind", "northward_wind", "m s-1", "time: point", "", 0, 0.005, 0, true},
    {"geopotential_height", "geopotential_height", "m", "time: point", "", 0, 0.25, 3000, true},
}};

// All values of a run, by field: [(step * levels + level) * cells + cell].
using Fields = std::array<std::vector<double>, kFieldCount>;

Fields fields_of(const Model& model, UtcTime reference, const std::vector<int>& leads, const std::vector<Cell>& cells) {
  static const WeatherStory story;
  Fields fields;
  for (std::size_t f = 0; f < kFieldCount; ++f)
    fields[f].resize(leads.size() * (kFields[f].on_levels ? kLevels.size() : 1) * cells.size());
  std::array<LevelAir, kLevels.size()> levels;
  double rain = 0;
  for (std::size_t s = 0; s < leads.size(); ++s) {
    const UtcTime time = reference + hours(leads[s]), before = s > 0 ? reference + hours(leads[s - 1]) : time;
    for (UtcTime t = before; t < time; t += hours(1)) rain += story.rain_mm(UtcHour::of(t), model.telling);
    const double error = temperature_error(reference, leads[s]);
    for (std::size_t c = 0; c < cells.size(); ++c) {
      const Cell& cell = cells[c];
      StoryAir air = story.at(cell.zones, cell.ground, time);
      air.temperature = Celsius(air.temperature.value() + error);
      if (air.dew_point > air.temperature) air.dew_point = air.temperature;
      KilometresPerHour gust = air.gust;  // an hour's gust belongs to the hour that ends at the step
      if (time > before) {
        gust = KilometresPerHour(0);
        for (UtcTime t = before; t < time; t += hours(1)) gust = std::max(gust, story.at(cell.zones, cell.ground, t).gust);
      }
      const core::WindVector wind = core::components(air.wind);
      const auto put = [&](Field f, double value) { fields[f][s * cells.size() + c] = value; };
      put(kTemperature, to<Kelvin>(air.temperature).value());
      put(kDewPoint, to<Kelvin>(air.dew_point).value());
      put(kEastward, wind.eastward.value() / 3.6);
      put(kNorthward, wind.northward.value() / 3.6);
      put(kGust, gust.value() / 3.6);
      put(kRain, rain);
      put(kRadiation, story.shortwave(cell.place, before, time).value());
      put(kCloud, air.cloud);
      put(kPressure, to<Pascals>(air.pressure).value());
      levels_above(air, cell.ground, core::sun_position(time, cell.place.latitude_deg, cell.place.longitude_deg).elevation,
                   kLevels, levels);
      for (std::size_t l = 0; l < kLevels.size(); ++l) {
        const std::size_t at = (s * kLevels.size() + l) * cells.size() + c;
        fields[kLevelTemperature][at] = levels[l].temperature_c + kFreezing;
        fields[kLevelHumidity][at] = levels[l].relative_humidity;
        fields[kLevelEastward][at] = levels[l].eastward_kmh / 3.6;
        fields[kLevelNorthward][at] = levels[l].northward_kmh / 3.6;
        fields[kLevelHeight][at] = levels[l].geopotential_height_m;
      }
    }
  }
  return fields;
}

std::string time_text(UtcTime t, const char* layout) {
  const auto day = std::chrono::floor<std::chrono::days>(t);
  const std::chrono::year_month_day date(day);
  return fmt::format(fmt::runtime(layout), int(date.year()), unsigned(date.month()), unsigned(date.day()), (t - day) / hours(1));
}

struct Dimensions {
  int time, pressure, latitude, longitude;
};

// A variable that is defined, and what it is to hold: all are defined before the first is written.
struct Filled {
  int variable;
  std::vector<double> values;
};

std::vector<Filled> define_coordinates(ingest::NetcdfOutput& file, const Model& model, const std::vector<int>& leads,
                                       const std::vector<Cell>& cells, UtcTime reference, const Dimensions& dimensions) {
  using Attributes = ingest::NetcdfOutput::Attributes;
  const std::string since = time_text(reference, "hours since {:04}-{:02}-{:02} {:02}:00:00");
  std::vector<Filled> all;
  const auto define = [&](const std::string& name, const std::vector<int>& of, const Attributes& attributes,
                          std::vector<double> values) {
    all.push_back({file.variable(name, of, attributes), std::move(values)});
  };
  const auto along = [](const Axis& axis) {
    std::vector<double> values;
    for (std::size_t i = 0; i < axis.count; ++i) values.push_back(axis.at(i));
    return values;
  };
  std::vector<double> ground;
  for (const Cell& cell : cells) ground.push_back(cell.ground.value());

  define("time", {dimensions.time}, {{"standard_name", "time"}, {"units", since}, {"calendar", "standard"}, {"axis", "T"}},
         {leads.begin(), leads.end()});
  define("pressure", {dimensions.pressure},
         {{"standard_name", "air_pressure"}, {"units", "hPa"}, {"positive", "down"}, {"axis", "Z"}},
         {kLevels.begin(), kLevels.end()});
  define("latitude", {dimensions.latitude}, {{"standard_name", "latitude"}, {"units", "degrees_north"}, {"axis", "Y"}},
         along(model.latitude));
  define("longitude", {dimensions.longitude}, {{"standard_name", "longitude"}, {"units", "degrees_east"}, {"axis", "X"}},
         along(model.longitude));
  define("forecast_reference_time", {},
         {{"standard_name", "forecast_reference_time"}, {"units", since}, {"calendar", "standard"}}, {0});
  for (const double height : {2.0, 10.0})
    define(fmt::format("height_{}m", height), {}, {{"standard_name", "height"}, {"units", "m"}, {"positive", "up"}}, {height});
  define("orography", {dimensions.latitude, dimensions.longitude},
         {{"standard_name", "surface_altitude"}, {"units", "m"}, {"long_name", "height of the model's ground"}},
         std::move(ground));
  return all;
}

std::array<int, kFieldCount> define_fields(ingest::NetcdfOutput& file, const Model& model, std::size_t steps,
                                           const Dimensions& d) {
  constexpr std::size_t kStepsOfProfiles = 13;  // in a chunk; surface fields have one chunk
  const std::size_t ny = model.latitude.count, nx = model.longitude.count;
  std::array<int, kFieldCount> variables{};
  for (std::size_t f = 0; f < kFieldCount; ++f) {
    const FieldRow& row = kFields[f];
    ingest::NetcdfOutput::Attributes attributes{
        {"standard_name", row.standard_name},
        {"units", row.unit},
        {"cell_methods", row.cell_methods},
        {"coordinates",
         row.height_m > 0 ? fmt::format("forecast_reference_time height_{}m", row.height_m) : "forecast_reference_time"}};
    if (*row.long_name) attributes.emplace_back("long_name", row.long_name);
    using Chunk = std::vector<std::size_t>;
    variables[f] = row.on_levels
                       ? file.variable(row.name, {d.time, d.pressure, d.latitude, d.longitude}, attributes,
                                       Chunk{std::min(steps, kStepsOfProfiles), kLevels.size(), ny, nx}, {row.scale, row.offset})
                       : file.variable(row.name, {d.time, d.latitude, d.longitude}, attributes, Chunk{steps, ny, nx},
                                       {row.scale, row.offset});
  }
  return variables;
}

}  // namespace

std::vector<DemoRun> demo_runs_due(UtcTime after, UtcTime up_to) {
  std::vector<DemoRun> runs;
  for (const Model* model : {&kCoarse, &kFine})
    for (UtcTime reference = kFirstRun; reference + hours(model->delay_h) <= up_to; reference += hours(model->cycle_h))
      if (const UtcTime due = reference + hours(model->delay_h); due > after) runs.push_back({model->id, reference, due});
  std::stable_sort(runs.begin(), runs.end(), [](const DemoRun& a, const DemoRun& b) { return a.due < b.due; });
  return runs;
}

Result<std::filesystem::path> write_demo_run(const std::filesystem::path& feed_folder, const DemoRun& run) {
  const Model& model = model_of(run.feed);
  const std::filesystem::path folder = feed_folder / run.feed;
  const std::filesystem::path path = folder / time_text(run.reference_time, "{:04}-{:02}-{:02}T{:02}Z.nc");
  std::error_code fault;
  std::filesystem::create_directories(folder, fault);
  if (fault)
    return Error{ErrorKind::failed, "unwritable", folder.string(), "cannot be made: " + fault.message(),
                 "give a folder in which the demo may write"};
  if (std::filesystem::exists(path, fault)) return path;
  const std::vector<int> leads = leads_of(model, run.reference_time);
  const std::vector<Cell> cells = cells_of(model);
  ingest::NetcdfOutput file(path);
  file.attribute("Conventions", "CF-1.8");
  file.attribute("title", model.title);
  file.attribute("source", "the demo of Hakea");
  file.attribute("comment", "Demo data. Fictional district, invented weather.");
  const Dimensions dimensions{file.dimension("time", leads.size()), file.dimension("pressure", kLevels.size()),
                              file.dimension("latitude", model.latitude.count),
                              file.dimension("longitude", model.longitude.count)};
  const std::vector<Filled> coordinates = define_coordinates(file, model, leads, cells, run.reference_time, dimensions);
  const auto variables = define_fields(file, model, leads.size(), dimensions);
  for (const Filled& coordinate : coordinates) file.write(coordinate.variable, coordinate.values);
  const Fields fields = fields_of(model, run.reference_time, leads, cells);
  for (std::size_t f = 0; f < kFieldCount; ++f) file.write(variables[f], fields[f]);
  return file.close();
}

Result<std::vector<std::filesystem::path>> write_demo_runs_due(const std::filesystem::path& feed_folder, UtcTime after,
                                                               UtcTime up_to) {
  std::vector<std::filesystem::path> written;
  for (const DemoRun& run : demo_runs_due(after, up_to)) {
    auto path = write_demo_run(feed_folder, run);
    if (!path) return path.errors();
    written.push_back(*std::move(path));
  }
  return written;
}

std::vector<ingest::Feed> demo_feed_configs(const std::filesystem::path& feed_folder) {
  std::vector<ingest::Feed> feeds;
  for (const Model* model : {&kFine, &kCoarse}) {
    ingest::Feed feed;
    feed.id = model->id;
    feed.path = (feed_folder / model->id).string();
    feed.pattern = "*.nc";
    feed.hours = ingest::LeadHours{0, model->last_lead_h, model->step_h};
    feed.quantities = {"air_temperature",   "dew_point_temperature",   "eastward_wind",       "northward_wind",
                       "wind_gust",         "precipitation_amount",    "shortwave_radiation", "surface_pressure",
                       "level_temperature", "level_relative_humidity", "level_eastward_wind", "level_northward_wind",
                       "level_height"};
    feed.late_after = fmt::format("{}h", model->delay_h + 3);
    feed.settle_s = 0;
    feeds.push_back(std::move(feed));
  }
  return feeds;
}

}  // namespace hakea::service
