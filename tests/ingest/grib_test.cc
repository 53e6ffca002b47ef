// GRIB files of real producers, held against NetCDF cut from the same files, and against values printed by ecCodes' own
// tool (grib_get_data 2.28) where its pairing of points and values is right.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <set>
#include <tuple>
#include <utility>
#include <vector>

#include "ingest/format/netcdf_file.h"
#include "ingest/format/whole_file.h"
#include "ingest/inspect.h"
#include "tests/ingest/weather_files.h"
#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {
namespace {

class Grib : public WeatherFiles {
 protected:
  static Inspection look(const std::string& file, double latitude, double longitude, const Feed& feed = {}) {
    return inspect(feed, file, PointOfInterest{latitude, longitude}, {});
  }
  static double at(const Inspection& i, const std::string& quantity, std::size_t time = 0) {
    if (!i.at || !i.at->values.contains(quantity) || i.at->values.at(quantity).size() <= time) return std::nan("none");
    return static_cast<double>(i.at->values.at(quantity)[time]);
  }
};

TEST_F(Grib, ALambertRunOfManyMessagesEqualsTheNetcdfCutFromIt) {
  Feed along_grid;  // which the copy no longer says
  along_grid.wind = Feed::Wind::grid;
  const auto grib = look(path("d_grib/nam.t00z.awp21100.tm00.grib2"), 40.5, -105.2);
  const auto netcdf = look(path("derived/nam211_surface_lambert.nc"), 40.5, -105.2, along_grid);
  EXPECT_EQ(grib.format, "grib2");
  ASSERT_TRUE(grib.accepted);
  EXPECT_EQ(grib.reference_time, netcdf.reference_time);
  for (const char* key : {"air_temperature", "relative_humidity", "wind_speed", "wind_from_direction", "wind_gust"}) {
    ASSERT_FALSE(std::isnan(at(grib, key))) << key;
    EXPECT_NEAR(at(grib, key), at(netcdf, key), 2e-3 * std::max(1.0, std::abs(at(netcdf, key)))) << key;
  }
  // u and v share messages: 154 messages, 181 fields.
  for (const char* key : {"level_temperature", "level_relative_humidity", "level_height"}) {
    EXPECT_EQ(quantity(grib, key).levels, 19U) << key;
  }
  EXPECT_TRUE(has(grib, "level_x_wind"));
}

TEST_F(Grib, ARunInTwoFilesIsThatOfOne) {
  const std::string file = path("d_grib/nam.t00z.awp21100.tm00.grib2"), bytes = test::file_bytes(file);
  const std::size_t cut = bytes.find("7777GRIB", bytes.size() / 2) + 4;
  ASSERT_LT(cut, bytes.size());
  const test::TempDir folder;
  const std::string first = (folder.path() / "a.grib2").string(), second = (folder.path() / "b.grib2").string();
  std::ofstream(first, std::ios::binary) << bytes.substr(0, cut);
  std::ofstream(second, std::ios::binary) << bytes.substr(cut);
  const std::vector<PointOfInterest> place{{40.5, -105.2}};
  // What is given, and at which pressure.
  const auto given = [](const RunPlan& plan) {
    std::set<std::pair<core::Fed, double>> all;
    for (const FieldPlan& f : plan.fields) {
      if (!core::describe(f.fed).on_levels) all.emplace(f.fed, 0);
      for (const std::int32_t level : f.level_of)
        if (core::describe(f.fed).on_levels && level >= 0) all.emplace(f.fed, plan.levels_hpa[static_cast<std::size_t>(level)]);
    }
    return all;
  };
  const auto whole = plan_run({}, {file}, place), halves = plan_run({}, {second, first}, place),
             half = plan_run({}, {first}, place);
  ASSERT_TRUE(whole && halves && half);
  EXPECT_EQ(halves->reference_time, whole->reference_time);
  EXPECT_EQ(halves->steps, whole->steps);
  EXPECT_EQ(halves->stencils.size(), whole->stencils.size());
  EXPECT_EQ(given(*halves), given(*whole));
  EXPECT_LT(given(*half).size(), given(*whole).size());
}

TEST_F(Grib, ParametersUnknownToTheTablesAreNamedByTheFeedsAliases) {
  Feed feed;
  feed.aliases = {{"param_2_221", "mixing_height [m]"}, {"hpblsfc", "mixing_height [m]"}};
  const std::string file = path("d_grib/flxf2006040100.grb");
  const auto grib = look(file, -25.0, 140.0, feed),
             netcdf = look(path("derived/gfs_flux_surface_with_hpbl_2006040100.nc"), -25.0, 140.0, feed);
  EXPECT_EQ(grib.format, "grib1");
  // Far inland: near a coast the land mask, which only the GRIB file brings, has its say.
  for (const char* key : {"mixing_height", "air_temperature", "wind_speed", "surface_pressure"}) {
    ASSERT_FALSE(std::isnan(at(netcdf, key))) << key;
    EXPECT_NEAR(at(grib, key), at(netcdf, key), 1e-4 * std::abs(at(netcdf, key))) << key;
  }
  const auto without = look(file, -25.0, 140.0);
  EXPECT_TRUE(std::isnan(at(without, "mixing_height"))) << "a number means nothing by itself";
  EXPECT_TRUE(
      std::any_of(without.variables.begin(), without.variables.end(), [](const auto& v) { return v.name == "param_2_221"; }));
  // Ground, cloud and tropopause temperatures are none of the air at 2 m.
  for (const auto& v : without.variables)
    if (v.quantity == "air_temperature") {
      EXPECT_EQ(v.name, "2t");
    }
}

TEST_F(Grib, ARowThatRunsBackwardsIsTurned) {
  const auto i = look(path("d_grib/alternate-scanning.grib"), 50.9, 19.0);
  // grib_get_data prints the row of 50.9 N in the order of the file, which begins in the east: 293.28 K at 10 W.
  EXPECT_NEAR(at(i, "air_temperature"), 293.28295898 - 273.15, 1e-4);
  EXPECT_NEAR(at(look(path("d_grib/alternate-scanning.grib"), 51.0, -10.0), "air_temperature"), 289.28295898 - 273.15, 1e-4);
}

TEST_F(Grib, ABitmapsGapsAreMissing) {
  const auto i = look(path("d_grib/fields_with_missing_values.grib"), 89.0, 1.0);
  EXPECT_GT(quantity(i, "air_temperature").missing, 0U);
  EXPECT_TRUE(std::isnan(at(i, "air_temperature")));
}

TEST_F(Grib, CornersStandAgainstWrongIncrements) {
  const auto i = look(path("d_grib/regular_ll_wrong_increment.grib"), 90.0, 5.0);
  EXPECT_NEAR(at(i, "air_temperature"), 268.86639404 - 273.15, 1e-4);
}

TEST_F(Grib, AnEnsembleHasItsMembers) {
  const auto i = look(path("d_grib/ens_50.grib"), 40.0, 10.0);
  EXPECT_EQ(i.members, 51U);
  EXPECT_TRUE(has(i, "level_height")) << "geopotential on a level";
}

TEST_F(Grib, WindsAlongARotatedGridAreTurned) {
  const std::string file = path("d_grib/rotated_wind_20x20.grib");
  const auto i = look(file, 30.0, 140.0);
  EXPECT_TRUE(has(i, "x_wind")) << "uvRelativeToGrid is set";
  // Its rows lie about a pole at 20 N 140 E, 20 degrees apart. Components as grib_get_data prints them; the bearing of that pole
  // by spherical trigonometry.
  for (const auto& [latitude, longitude, from] :
       {std::tuple(33.95136, 61.170228, 183.96), {-30.0, 140.0, 122.90}, {-52.505524, 42.904032, 339.81}}) {
    const double ours = at(look(file, latitude, longitude), "wind_from_direction");
    EXPECT_LT(std::abs(std::remainder(ours - from, 360)), 0.05) << latitude << ' ' << ours;
  }
}

TEST_F(Grib, ACutFileIsRefusedAtWhateverByteItIsCut) {
  const std::string whole = test::file_bytes(path("d_grib/rotated_wind_20x20.grib"));
  const test::TempDir folder;
  const std::string file = (folder.path() / "cut.grib").string();
  int accepted = 0;
  for (std::size_t size = 0; size < whole.size(); size += 13) {
    std::ofstream(file, std::ios::binary) << whole.substr(0, size);
    const auto i = look(file, 30.0, 140.0);
    accepted += i.accepted;
    if (!i.accepted) {
      EXPECT_FALSE(i.refused.empty()) << size;
    }
  }
  EXPECT_LE(accepted, 1) << "at the end of the first of its two messages it is a whole file of one";
  for (const char* name : {"derived/truncated/trunc_nam.grib2", "g_nasty/era5-levels-corrupted.grib"}) {
    const auto i = look(path(name), 40, 0);
    EXPECT_FALSE(i.accepted) << name;
    ASSERT_FALSE(i.refused.empty()) << name;
    EXPECT_FALSE(i.refused.front().hint.empty()) << name;
  }
}

// Files of make_grib_steps.sh: air of 10 and 12 degrees Celsius, between them wind on a reduced Gaussian grid and waves.
TEST(GribGrid, FieldsThatDoNotStandInRowsArePassedOverByName) {
  const std::string file = test::tests_folder() + "/data/grib/other_grids.grib2";
  const Inspection i = inspect({}, file, PointOfInterest{30, 10}, {});
  ASSERT_TRUE(i.accepted);
  ASSERT_EQ(i.at->values.at("air_temperature").size(), 2U);
  EXPECT_NEAR(static_cast<double>(i.at->values.at("air_temperature")[0]), 10, 1e-4);
  EXPECT_NEAR(static_cast<double>(i.at->values.at("air_temperature")[1]), 12, 1e-4);
  ASSERT_EQ(i.refused.size(), 1U);
  EXPECT_EQ(i.refused[0].variable, "10u");
  EXPECT_NE(i.refused[0].why.find("field 2 stands on a grid of type reduced_gg"), std::string::npos) << i.refused[0].why;
  EXPECT_NE(i.refused[0].hint.find("regular_ll"), std::string::npos) << i.refused[0].hint;
  EXPECT_TRUE(std::any_of(i.notes.begin(), i.notes.end(), [](const std::string& n) {
    return n.find("t is passed over: field 3 stands on a grid of type sh") != std::string::npos;
  }));
  const Inspection alone = inspect({}, test::tests_folder() + "/data/grib/reduced_gaussian.grib2", {}, {});
  EXPECT_FALSE(alone.accepted);
  ASSERT_FALSE(alone.refused.empty());
  EXPECT_NE(alone.refused[0].why.find("reduced_gg"), std::string::npos) << alone.refused[0].why;
}

// Wind of 3 and 4 m/s along the axes of a grid whose north pole lies at 0 N 180 E, under numbers that no table knows. At
// 50 N 165 E the pole bears atan2(sin 15, -sin 50 cos 15) = 160.721 degrees, and (3, 4) comes from 216.870 by the grid.
TEST(GribGrid, NumberedParametersAlongTheGridAreTurned) {
  Feed feed;
  feed.aliases = {{"param_0_2_200", "eastward_wind [m s-1]"}, {"param_0_2_201", "northward_wind [m s-1]"}};
  const std::string file = test::tests_folder() + "/data/grib/along_grid.grib2";
  const Inspection i = inspect(feed, file, PointOfInterest{50, 165}, {});
  ASSERT_TRUE(i.accepted);
  ASSERT_TRUE(i.at->values.contains("wind_from_direction"));
  EXPECT_NEAR(static_cast<double>(i.at->values.at("wind_from_direction")[0]), 216.870 + 160.721 - 360, 0.05);
  EXPECT_NEAR(static_cast<double>(i.at->values.at("wind_speed")[0]), 18, 1e-4);
  feed.wind = Feed::Wind::earth;  // the feed's word goes before the file's
  const Inspection earth = inspect(feed, file, PointOfInterest{50, 165}, {});
  EXPECT_NEAR(static_cast<double>(earth.at->values.at("wind_from_direction")[0]), 216.870, 0.01);
}

TEST(GribHeaders, AreEnoughToTellTheReferenceTime) {
  const std::string file = test::tests_folder() + "/data/grib/steps_together.grib2";
  const auto headers = NetcdfFile::open(file, NetcdfFile::Need::headers);
  ASSERT_TRUE(headers);
  EXPECT_EQ(headers->read_all(*headers->find("2t"))->front(), 0) << "nothing was decoded";
  const auto reference = reference_time_of({}, file);
  ASSERT_TRUE(reference);
  EXPECT_EQ(*reference, std::chrono::sys_days(std::chrono::year(2027) / 3 / 29) + std::chrono::hours(12));
  const auto whole = NetcdfFile::open(file);
  ASSERT_TRUE(whole);
  EXPECT_NEAR(whole->read_all(*whole->find("2t"))->front(), 283.15, 1e-4);
}

// Length by 120 bytes: two of them, less the 20 that the fourth section states, plus 4 (as ecCodes reads it).
TEST(GribLength, OfLongMessagesOfEditionOneIsFoundThroughTheirFourthSection) {
  std::string message("GRIB\x80\x00\x02\x01", 8);
  std::string first(28, '\0');
  first[2] = 28;
  message += first + std::string("\x00\x00\x14", 3);
  message.resize(224, ' ');
  message.replace(220, 4, "7777");
  const test::TempDir folder;
  const auto refusal = [&](const std::string& bytes) {
    const int descriptor = ::open(folder.write("long.grib", bytes).c_str(), O_RDONLY | O_CLOEXEC);
    const auto kind = check_whole(descriptor, "long.grib");
    ::close(descriptor);
    return kind ? std::string("whole") : kind.error().code;
  };
  EXPECT_EQ(refusal(message), "whole");
  EXPECT_EQ(refusal(message.substr(0, 223)), "truncated");
  EXPECT_EQ(refusal(message + message), "whole");
  message[221] = ' ';
  EXPECT_EQ(refusal(message), "damaged");
}

}  // namespace
}  // namespace hakea::ingest
