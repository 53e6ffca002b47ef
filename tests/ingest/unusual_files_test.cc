// Files that are unusual and yet follow the conventions (CF 1.11, NetCDF User's Guide appendix A), each written small: what they
// say is read, and only what they say.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <string_view>
#include <tuple>

#include "core/base/numbers.h"
#include "ingest/cf/time_axis.h"
#include "ingest/grid/projection.h"
#include "ingest/inspect.h"
#include "tests/support/netcdf_writer.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {
namespace {

using test::check_netcdf;
using test::NetcdfWriter;

const PointOfInterest kPlace{-36.5, 145};  // half way between the rows, on the first column

class UnusualFile : public ::testing::Test {
 protected:
  // Two hours over two rows and three columns; `more` adds what the test is about, and writes it.
  struct Axes {
    int time, lat, lon;
  };
  std::string written(const std::function<void(const NetcdfWriter&, const Axes&)>& more, int mode = NC_NETCDF4) {
    const std::string path = (folder_.path() / "unusual.nc").string();
    const NetcdfWriter nc(path, mode);
    const Axes axes{nc.dimension("time", 2), nc.dimension("lat", 2), nc.dimension("lon", 3)};
    const int t = nc.variable("time", NC_DOUBLE, {axes.time}), y = nc.variable("lat", NC_DOUBLE, {axes.lat}),
              x = nc.variable("lon", NC_DOUBLE, {axes.lon});
    nc.text(t, "units", "hours since 2027-03-30 00:00");
    nc.text(y, "units", "degrees_north");
    nc.text(x, "units", "degrees_east");
    nc.write(t, {0}, {2}, {0, 1});
    nc.write(y, {0}, {2}, {-36, -37});
    nc.write(x, {0}, {3}, {145, 146, 147});
    more(nc, axes);
    return path;
  }
  static int field(const NetcdfWriter& nc, const std::vector<int>& dimensions, const std::string& name,
                   const std::string& standard_name, const std::string& unit, nc_type type = NC_FLOAT) {
    nc_redef(nc.file());
    const int v = nc.variable(name, type, dimensions);
    if (!standard_name.empty()) nc.text(v, "standard_name", standard_name);
    nc.text(v, "units", unit);
    return v;
  }
  static void put(const NetcdfWriter& nc, int variable, const std::vector<double>& values) {
    nc_enddef(nc.file());
    check_netcdf(nc_put_var_double(nc.file(), variable, values.data()));
  }
  static Inspection look(const std::string& path, PointOfInterest at = kPlace, const Feed& feed = {}) {
    return inspect(feed, path, at, {});
  }
  // At the hour of the file, where it has the quantity.
  static double value(const Inspection& i, const std::string& key, std::size_t hour = 0) {
    if (!i.at || !i.at->values.contains(key) || hour >= i.at->values.at(key).size()) return std::nan("");
    return static_cast<double>(i.at->values.at(key)[hour]);
  }
  static std::string told(const Inspection& i) {
    std::string text;
    for (const Refusal& r : i.refused) text += r.variable + ": " + r.why + "; " + r.hint + "\n";
    return text;
  }
  test::TempDir folder_;
};

TEST_F(UnusualFile, UnsignedNumbersInSignedStorageAreReadAsSuchHoweverTheyAreStored) {
  for (const int mode : {0, NC_64BIT_OFFSET, NC_NETCDF4})
    for (const auto& [type, span] : {std::pair(NC_BYTE, 256.0), std::pair(NC_SHORT, 65536.0)}) {
      for (const bool is_chunked : {false, true}) {
        if (is_chunked && mode != NC_NETCDF4) continue;
        const Inspection i = look(written(
            [&](const NetcdfWriter& nc, const Axes& a) {
              nc_redef(nc.file());
              const int v = is_chunked ? nc.variable("clouds", type, {a.time, a.lat, a.lon}, {{1, 2, 3}, true, false, 1})
                                       : nc.variable("clouds", type, {a.time, a.lat, a.lon});
              nc.text(v, "standard_name", "cloud_area_fraction");
              nc.text(v, "units", "%");
              nc.text(v, "_Unsigned", "true");
              nc.number(v, "scale_factor", 100 / (span - 6));
              const signed char none = -1;
              const short no_short = -1;
              check_netcdf(type == NC_BYTE ? nc_put_att_schar(nc.file(), v, "_FillValue", NC_BYTE, 1, &none)
                                           : nc_put_att_short(nc.file(), v, "_FillValue", NC_SHORT, 1, &no_short));
              // Both rows of the first column: 100 % in the first hour; in the second one of them is missing.
              const double full = span - 6 - span;
              put(nc, v, {full, 0, 0, full, 0, 0, full, 0, 0, -1, 0, 0});
            },
            mode));
        SCOPED_TRACE(std::to_string(mode) + " " + std::to_string(span) + (is_chunked ? " chunked" : ""));
        EXPECT_NEAR(value(i, "cloud_area_fraction"), 100, 1e-4) << told(i);
        const auto v = std::find_if(i.variables.begin(), i.variables.end(), [](const auto& w) { return w.name == "clouds"; });
        ASSERT_NE(v, i.variables.end());
        EXPECT_NEAR(v->max.value_or(-1), 100, 1e-4);
        EXPECT_EQ(v->missing, 1u);
      }
    }
}

TEST_F(UnusualFile, AValidRangeOfPackedNumbersIsPackedOrUnpackedByItsType) {
  for (const bool is_unpacked : {false, true})
    for (const double scale : {0.01, -0.01}) {
      const Inspection i = look(written([&](const NetcdfWriter& nc, const Axes& a) {
        const int v = field(nc, {a.time, a.lat, a.lon}, "t2m", "air_temperature", "K", NC_SHORT);
        nc.number(v, "scale_factor", scale);
        nc.number(v, "add_offset", 280);
        const std::vector<double> kelvin{270, 290};
        const std::vector<short> packed{-1000, 1000};
        check_netcdf(is_unpacked ? nc_put_att_double(nc.file(), v, "valid_range", NC_DOUBLE, 2, kelvin.data())
                                 : nc_put_att_short(nc.file(), v, "valid_range", NC_SHORT, 2, packed.data()));
        // 285 K, then 295 K, out of the range.
        std::vector<double> raw(6, 5 / scale);
        raw.resize(12, 15 / scale);
        put(nc, v, raw);
      }));
      EXPECT_NEAR(value(i, "air_temperature"), 11.85, 1e-4) << is_unpacked << ' ' << scale << ' ' << told(i);
      EXPECT_TRUE(std::isnan(value(i, "air_temperature", 1))) << is_unpacked << ' ' << scale;
    }
}

TEST_F(UnusualFile, SeveralMissingValuesAreAllMissingAndAPackingThatIsTextIsRefused) {
  const Inspection several = look(written([&](const NetcdfWriter& nc, const Axes& a) {
    const int v = field(nc, {a.time, a.lat, a.lon}, "t2m", "air_temperature", "degC", NC_SHORT);
    const std::vector<short> none{50, 51};
    check_netcdf(nc_put_att_short(nc.file(), v, "missing_value", NC_SHORT, 2, none.data()));
    put(nc, v, {20, 20, 20, 51, 50, 20, 50, 20, 20, 51, 50, 20});
  }));
  EXPECT_NEAR(value(several, "air_temperature"), 20, 1e-5);
  EXPECT_TRUE(std::isnan(value(several, "air_temperature", 1)));
  const Inspection text = look(written([&](const NetcdfWriter& nc, const Axes& a) {
    const int v = field(nc, {a.time, a.lat, a.lon}, "t2m", "air_temperature", "degC", NC_SHORT);
    nc.text(v, "scale_factor", "0.1");
    put(nc, v, std::vector<double>(12, 20));
  }));
  EXPECT_FALSE(text.accepted);
  EXPECT_NE(told(text).find("scale_factor \"0.1\", which is no number"), std::string::npos) << told(text);
}

// A pressure level of other variables, or their height, is not that of one which has none.
TEST_F(UnusualFile, ALevelOfOtherVariablesIsNotThatOfAll) {
  const Inspection dimension = look(written([&](const NetcdfWriter& nc, const Axes& a) {
    nc_redef(nc.file());
    const int plev = nc.dimension("plev", 1), p = nc.variable("plev", NC_DOUBLE, {plev});
    nc.text(p, "standard_name", "air_pressure");
    nc.text(p, "units", "Pa");
    put(nc, p, {50000});
    put(nc, field(nc, {a.time, plev, a.lat, a.lon}, "zg", "geopotential_height", "m"), std::vector<double>(12, 5500));
    put(nc, field(nc, {a.time, a.lat, a.lon}, "tas", "air_temperature", "degC"), std::vector<double>(12, 20));
  }));
  EXPECT_NEAR(value(dimension, "air_temperature"), 20, 1e-5) << told(dimension);
  const Inspection scalar = look(written([&](const NetcdfWriter& nc, const Axes& a) {
    nc_redef(nc.file());
    const int height = nc.variable("height", NC_DOUBLE, {});
    nc.text(height, "standard_name", "height");
    nc.text(height, "units", "m");
    put(nc, height, {10});
    const int wind = field(nc, {a.time, a.lat, a.lon}, "ff", "wind_speed", "m s-1");
    nc.text(wind, "coordinates", "height");
    put(nc, wind, std::vector<double>(12, 5));
    put(nc, field(nc, {a.time, a.lat, a.lon}, "tt", "air_temperature", "degC"), std::vector<double>(12, 20));
  }));
  EXPECT_NEAR(value(scalar, "air_temperature"), 20, 1e-5) << told(scalar);
  EXPECT_NEAR(value(scalar, "wind_speed"), 18, 1e-4) << told(scalar);
}

TEST_F(UnusualFile, PressureLevelsMayBeInMillibarsByTheirShortName) {
  const std::string path = written([&](const NetcdfWriter& nc, const Axes& a) {
    nc_redef(nc.file());
    const int level = nc.dimension("lev", 2), p = nc.variable("lev", NC_DOUBLE, {level});
    nc.text(p, "standard_name", "air_pressure");
    nc.text(p, "units", "mb");
    put(nc, p, {850, 700});
    put(nc, field(nc, {a.time, level, a.lat, a.lon}, "ta", "air_temperature", "degC"), std::vector<double>(24, 5));
  });
  const auto plan = plan_run({}, {path}, {kPlace});
  ASSERT_TRUE(plan && plan->fields.size() == 1) << told(look(path));
  EXPECT_EQ(plan->levels_hpa, (std::vector<double>{850, 700}));
}

// CF appendix H.2.1, with heights of the instruments and of the ground.
TEST_F(UnusualFile, StationsMaySayHowHighTheyStand) {
  const std::string path = (folder_.path() / "stations.nc").string();
  {
    const NetcdfWriter nc(path, 0);
    const int station = nc.dimension("station", 3), time = nc.dimension("time", NC_UNLIMITED), strlen = nc.dimension("strlen", 8);
    const auto along = [&](const char* name, const char* standard_name, const char* unit) {
      const int v = nc.variable(name, NC_FLOAT, {station});
      nc.text(v, "standard_name", standard_name);
      nc.text(v, "units", unit);
      return v;
    };
    const int t = nc.variable("time", NC_DOUBLE, {time}), lat = along("lat", "latitude", "degrees_north"),
              lon = along("lon", "longitude", "degrees_east"), alt = along("alt", "height", "m"),
              ground = along("ground", "surface_altitude", "m"), v = nc.variable("warmth", NC_FLOAT, {time, station}),
              name = nc.variable("station_name", NC_CHAR, {station, strlen});
    nc.text(NC_GLOBAL, "featureType", "timeSeries");
    nc.text(t, "standard_name", "time");
    nc.text(t, "units", "days since 1970-01-01 00:00:00");
    nc.text(alt, "positive", "up");
    nc.text(alt, "axis", "Z");
    nc.text(name, "cf_role", "timeseries_id");
    nc.text(v, "standard_name", "air_temperature");
    nc.text(v, "units", "degC");
    nc.text(v, "coordinates", "lat lon alt ground station_name");
    nc.letters(name, {"hut", "tarn", "top"}, 8);
    nc.write(t, {0}, {2}, {20907, 20907.0416666666});
    nc.write(lat, {0}, {3}, {-36.5, -36.6, -36.7});
    nc.write(lon, {0}, {3}, {145, 145, 145});
    nc.write(alt, {0}, {3}, {2, 2, 10});
    nc.write(ground, {0}, {3}, {300, 400, 500});
    nc.write(v, {0, 0}, {2, 3}, {20, 19, 18, 21, 20, 19});
  }
  const Inspection i = look(path);
  EXPECT_NEAR(value(i, "air_temperature"), 20, 1e-5) << told(i);
  EXPECT_NEAR(value(i, "air_temperature", 1), 21, 1e-5);
  ASSERT_TRUE(i.times.last);
  EXPECT_EQ(utc_text(*i.times.last), "2027-03-30T01:00:00Z");
  // At 10 m and at 80 m there is no air of 2 m, unless the feed says so.
  {
    int file = -1, alt = -1;
    check_netcdf(nc_open(path.c_str(), NC_WRITE, &file));
    check_netcdf(nc_inq_varid(file, "alt", &alt));
    const std::vector<float> heights{10, 10, 80};
    check_netcdf(nc_put_var_float(file, alt, heights.data()));
    check_netcdf(nc_close(file));
  }
  EXPECT_NE(told(look(path)).find("stands 10 m above the ground"), std::string::npos) << told(look(path));
  Feed feed;
  feed.aliases = {{"warmth", "air_temperature"}};
  EXPECT_NEAR(value(look(path, kPlace, feed), "air_temperature"), 20, 1e-5);
  const auto plan = plan_run(feed, {path}, {{-36.6, 145, 400}});
  ASSERT_TRUE(plan);
  ASSERT_EQ(plan->model_elevation_m.size(), 1u);
  EXPECT_EQ(plan->model_elevation_m[0], 400) << "the ground is an auxiliary coordinate of the temperature";
}

TEST_F(UnusualFile, TimesMayBeWords) {
  for (const bool are_strings : {true, false})
    for (const char* name : {"time", "valid_time", "Times"}) {
      const std::string path = (folder_.path() / "words.nc").string();
      {
        const NetcdfWriter nc(path, NC_NETCDF4);
        const int time = nc.dimension("when", 2), letters = nc.dimension("letters", 20);
        const int t = are_strings ? nc.variable(name, NC_STRING, {time}) : nc.variable(name, NC_CHAR, {time, letters});
        const int lat = nc.variable("lat", NC_DOUBLE, {}), lon = nc.variable("lon", NC_DOUBLE, {});
        nc.text(lat, "units", "degrees_north");
        nc.text(lon, "units", "degrees_east");
        put(nc, lat, {-36.5});
        put(nc, lon, {145});
        std::vector<const char*> texts{"2027-03-30T00:00:00Z", "2027-03-30T03:00:00Z"};
        if (are_strings)
          check_netcdf(nc_put_var_string(nc.file(), t, texts.data()));
        else
          nc.letters(t, {texts[0], texts[1]}, 20);
        put(nc, field(nc, {time}, "t2m", "air_temperature", "degC"), {20, 23});
      }
      const Inspection i = look(path);
      SCOPED_TRACE(std::string(name) + (are_strings ? " of strings" : " of letters"));
      EXPECT_EQ(i.times.count, 2u) << told(i);
      EXPECT_NEAR(value(i, "air_temperature", 1), 23, 1e-5);
      ASSERT_TRUE(i.times.last);
      EXPECT_EQ(utc_text(*i.times.last), "2027-03-30T03:00:00Z");
    }
}

TEST_F(UnusualFile, RowsAndColumnsThatAreNumberedHaveTheirLatitudesAndLongitudesBeside) {
  const std::string path = (folder_.path() / "numbered.nc").string();
  {
    const NetcdfWriter nc(path, NC_NETCDF4);
    const int time = nc.dimension("time", 1), y = nc.dimension("y", 3), x = nc.dimension("x", 2);
    const int t = nc.variable("time", NC_DOUBLE, {time}), lat = nc.variable("lat", NC_SHORT, {y}),
              lon = nc.variable("lon", NC_SHORT, {x});
    nc.text(t, "units", "Hours Since 2027-03-30 00:00");
    for (const auto& [name, dimension, length] : {std::tuple("y", y, 3), std::tuple("x", x, 2)}) {
      const int v = nc.variable(name, NC_INT, {dimension});
      std::vector<double> numbers;
      for (int i = 0; i < length; ++i) numbers.push_back(i);
      put(nc, v, numbers);
      nc_redef(nc.file());
    }
    nc.text(lat, "units", "degrees_north");
    nc.text(lon, "units", "degrees_east");
    // Coordinates may be packed too; these longitudes as unsigned ones up to 360 degrees.
    for (const int v : {lat, lon}) nc.number(v, "scale_factor", 0.01);
    nc.text(lon, "_Unsigned", "true");
    put(nc, t, {0});
    put(nc, lat, {-3600, -3650, -3700});
    put(nc, lon, {35900 - 65536, 36000 - 65536});
    const int v = field(nc, {time, y, x}, "t2m", "air_temperature", "degC");
    nc.text(v, "coordinates", "lat lon");
    put(nc, v, {10, 11, 20, 21, 30, 31});
  }
  const Inspection i = look(path, {-36.5, -1});
  EXPECT_NEAR(value(i, "air_temperature"), 20, 1e-4) << told(i);
  EXPECT_EQ(i.grid->kind, "latitude_longitude");
}

TEST_F(UnusualFile, PlacesMayBeInRadians) {
  const std::string path = (folder_.path() / "cells.nc").string();
  {
    const NetcdfWriter nc(path, NC_NETCDF4);
    const int time = nc.dimension("time", 1), cell = nc.dimension("cell", 2);
    const int t = nc.variable("time", NC_DOUBLE, {time}), lat = nc.variable("clat", NC_DOUBLE, {cell}),
              lon = nc.variable("clon", NC_DOUBLE, {cell}), v = nc.variable("t2m", NC_FLOAT, {time, cell});
    nc.text(t, "units", "hours since 2027-03-30 00:00");
    nc.text(lat, "standard_name", "latitude");
    nc.text(lon, "standard_name", "longitude");
    for (const int c : {lat, lon}) nc.text(c, "units", "radian");
    nc.text(v, "units", "degC");
    nc.text(v, "coordinates", "clat clon");
    put(nc, t, {0});
    put(nc, lat, {-36.5 * kDegree, -37 * kDegree});
    put(nc, lon, {145 * kDegree, 145 * kDegree});
    put(nc, v, {20, 30});
  }
  EXPECT_NEAR(value(look(path), "air_temperature"), 20, 1e-5);
}

TEST_F(UnusualFile, DimensionsMayStandInAnyOrderAndBeOfLengthOne) {
  std::vector<std::string> order{"lon", "height", "lat", "realization", "time"};
  std::sort(order.begin(), order.end());
  do {
    const std::string path = (folder_.path() / "order.nc").string();
    {
      const NetcdfWriter nc(path, 0);
      std::vector<int> dimensions;
      std::map<std::string, std::size_t> length{{"lon", 3}, {"height", 1}, {"lat", 2}, {"realization", 1}, {"time", 2}};
      const std::map<std::string, std::vector<double>> values{
          {"lon", {145, 146, 147}}, {"height", {2}}, {"lat", {-36, -37}}, {"realization", {7}}, {"time", {0, 1}}};
      const std::map<std::string, std::string> units{{"lon", "degrees_east"},
                                                     {"height", "m"},
                                                     {"lat", "degrees_north"},
                                                     {"realization", "1"},
                                                     {"time", "hours since 2027-03-30 00:00"}};
      for (const std::string& name : order) {
        nc_redef(nc.file());
        dimensions.push_back(nc.dimension(name, length.at(name)));
        const int v = nc.variable(name, NC_DOUBLE, {dimensions.back()});
        nc.text(v, "units", units.at(name));
        put(nc, v, values.at(name));
      }
      // Ten degrees an hour, one a column, a tenth a row.
      std::vector<double> all(12);
      std::size_t stride = 12;
      const std::map<std::string, double> step{{"time", 10}, {"lon", 1}, {"lat", 0.1}};
      for (const std::string& name : order) {
        stride /= length.at(name);
        for (std::size_t i = 0; i < all.size(); ++i)
          if (step.contains(name)) all[i] += step.at(name) * static_cast<double>(i / stride % length.at(name));
      }
      put(nc, field(nc, dimensions, "tas", "air_temperature", "degC"), all);
    }
    const Inspection i = look(path, {-36.5, 146.5});
    std::string named;
    for (const std::string& name : order) named += name + " ";
    EXPECT_NEAR(value(i, "air_temperature", 1), 11.55, 1e-4) << named << told(i);
  } while (std::next_permutation(order.begin(), order.end()));
}

TEST_F(UnusualFile, APlaceThatIsStatedForEachTimeIsOneWhereItDoesNotMove) {
  for (const bool moves : {false, true}) {
    const std::string path = (folder_.path() / "mast.nc").string();
    {
      const NetcdfWriter nc(path, 0);
      const int time = nc.dimension("time", 3);
      const int t = nc.variable("time", NC_DOUBLE, {time}), lat = nc.variable("lat", NC_FLOAT, {time}),
                lon = nc.variable("lon", NC_FLOAT, {time}), alt = nc.variable("alt", NC_FLOAT, {time}),
                v = nc.variable("t2m", NC_FLOAT, {time});
      nc.text(t, "units", "hours since 2027-03-30 00:00");
      nc.text(lat, "units", "degrees_north");
      nc.text(lon, "units", "degrees_east");
      nc.text(alt, "positive", "up");
      nc.text(alt, "units", "m");
      nc.text(v, "units", "degC");
      nc.text(v, "coordinates", "time lat lon alt");
      nc.write(t, {0}, {3}, {0, 1, 2});
      nc.write(lat, {0}, {3}, {-36.5, -36.5001, moves ? -36.6 : -36.5});
      nc.write(lon, {0}, {3}, {145, 145, 145});
      nc.write(alt, {0}, {3}, {120, 120, 120});
      nc.write(v, {0}, {3}, {20, 21, 22});
    }
    const Inspection i = look(path);
    EXPECT_EQ(i.accepted, !moves) << told(i);
    if (moves)
      EXPECT_NE(told(i).find("changes its place"), std::string::npos) << told(i);
    else
      EXPECT_NEAR(value(i, "air_temperature", 2), 22, 1e-5);
  }
}

TEST_F(UnusualFile, BoundsOfCoordinatesAndQualityOfValuesAreNoWeather) {
  const Inspection i = look(written([&](const NetcdfWriter& nc, const Axes& a) {
    nc_redef(nc.file());
    const int two = nc.dimension("two", 2);
    for (const auto& [name, dimension, unit, values] :
         {std::tuple("lat", a.lat, "degrees_north", std::vector<double>{-35.5, -36.5, -36.5, -37.5}),
          std::tuple("lon", a.lon, "degrees_east", std::vector<double>{144.5, 145.5, 145.5, 146.5, 146.5, 147.5}),
          std::tuple("time", a.time, "hours since 2027-03-30 00:00", std::vector<double>{-1, 0, 0, 1})}) {
      int owner = -1;
      check_netcdf(nc_inq_varid(nc.file(), name, &owner));
      const std::string bounds = std::string(name) + "_bnds";
      nc_redef(nc.file());
      nc.text(owner, "bounds", bounds);
      const int b = nc.variable(bounds, NC_DOUBLE, {dimension, two});
      nc.text(b, "units", unit);
      put(nc, b, values);
    }
    put(nc, field(nc, {a.time, a.lat, a.lon}, "t2m_error", "air_temperature standard_error", "degC"),
        std::vector<double>(12, 0.5));
    put(nc, field(nc, {a.time, a.lat, a.lon}, "n", "air_temperature number_of_observations", "1"), std::vector<double>(12, 3));
    const int v = field(nc, {a.time, a.lat, a.lon}, "warmth", "air_temperature", "degC");
    nc.text(v, "ancillary_variables", "t2m_error n");
    put(nc, v, std::vector<double>(12, 20));
    put(nc, field(nc, {a.time, a.lat, a.lon}, "pr", "precipitation_amount", "kg m-2"), std::vector<double>(12, 0.5));
  }));
  EXPECT_NEAR(value(i, "air_temperature"), 20, 1e-5) << told(i);
  EXPECT_EQ(std::count_if(i.variables.begin(), i.variables.end(), [](const auto& v) { return !v.quantity.empty(); }), 2);
  EXPECT_EQ(i.times.count, 2u);
}

TEST_F(UnusualFile, AnInstantStaysOneWhereSumsShareItsTimeAndItsBounds) {
  const std::string path = written([&](const NetcdfWriter& nc, const Axes& a) {
    int time = -1;
    check_netcdf(nc_inq_varid(nc.file(), "time", &time));
    nc_redef(nc.file());
    nc.text(time, "bounds", "time_bnds");
    put(nc, nc.variable("time_bnds", NC_DOUBLE, {a.time, nc.dimension("two", 2)}), {-1, 0, 0, 1});
    for (const char* method : {"time: point", "time: mean"}) {
      const int v = field(nc, {a.time, a.lat, a.lon}, "sun" + std::string(method + 6),
                          "surface_downwelling_shortwave_flux_in_air", "W m-2");
      nc.text(v, "cell_methods", method);
      put(nc, v, std::vector<double>(12, 300));
    }
  });
  for (const bool is_point : {true, false}) {
    Feed feed;
    feed.aliases = {{is_point ? "sunpoint" : "sunmean", "shortwave_radiation"}};
    const auto plan = plan_run(feed, {path}, {kPlace});
    ASSERT_TRUE(plan && plan->fields.size() == 1);
    const StepTime last = plan->field_times[0].back();
    EXPECT_EQ(last.begin == last.end, is_point);
  }
}

TEST_F(UnusualFile, ARateOfAnInstantIsNoAmountOfAnHour) {
  for (const char* method : {"time: point", "time: mean"}) {
    const Inspection i = look(written([&](const NetcdfWriter& nc, const Axes& a) {
      const int v = field(nc, {a.time, a.lat, a.lon}, "pr", "precipitation_flux", "kg m-2 s-1");
      nc.text(v, "cell_methods", method);
      put(nc, v, std::vector<double>(12, 1e-4));
    }));
    EXPECT_EQ(i.accepted, std::string_view(method) == "time: mean") << told(i);
    if (!i.accepted) {
      EXPECT_NE(told(i).find("a rate at instants"), std::string::npos) << told(i);
    }
  }
}

TEST_F(UnusualFile, CalendarsWithoutRealDatesAreRefusedHoweverTheyAreSpelled) {
  const auto with = [&](const char* calendar) {
    return look(written([&](const NetcdfWriter& nc, const Axes& a) {
      nc_redef(nc.file());
      int time = -1;
      check_netcdf(nc_inq_varid(nc.file(), "time", &time));
      nc.text(time, "calendar", calendar);
      put(nc, field(nc, {a.time, a.lat, a.lon}, "t2m", "air_temperature", "degC"), std::vector<double>(12, 20));
    }));
  };
  for (const char* calendar : {"standard", "Gregorian ", "proleptic_gregorian"}) EXPECT_TRUE(with(calendar).accepted) << calendar;
  for (const char* calendar : {"noleap", "365_day", "NOLEAP", "all_leap", "360_day", "julian", "none"}) {
    const Inspection i = with(calendar);
    EXPECT_FALSE(i.accepted) << calendar;
    EXPECT_NE(told(i).find("uses the calendar \"" + std::string(calendar) + "\""), std::string::npos) << told(i);
  }
}

TEST_F(UnusualFile, MembersMayBeNumberedAlongADimensionThatIsNumberedItself) {
  const Inspection i = look(written([&](const NetcdfWriter& nc, const Axes& a) {
    nc_redef(nc.file());
    const int ens = nc.dimension("ens1", 4);
    put(nc, field(nc, {a.time, ens, a.lat, a.lon}, "t2m", "air_temperature", "degC"), std::vector<double>(48, 20));
  }));
  EXPECT_TRUE(i.accepted) << told(i);
  EXPECT_EQ(i.members, 4u);
}

// The pole of a polar grid that does not name it lies on the side of its standard parallel.
TEST_F(UnusualFile, APolarGridOfTheSouthIsKnownByItsParallel) {
  Variable mapping;
  mapping.attributes = {{"grid_mapping_name", true, "polar_stereographic", {}},
                        {"straight_vertical_longitude_from_pole", false, "", {140}},
                        {"standard_parallel", false, "", {-70}}};
  const auto p = Projection::of(mapping);
  ASSERT_TRUE(p);
  const PlanePosition pole = p->forward({-90, 0});
  EXPECT_NEAR(pole.x, 0, 1e-3);
  EXPECT_NEAR(pole.y, 0, 1e-3);
}

}  // namespace
}  // namespace hakea::ingest
