// Files of real producers: each trap on the file that shows it, every file read without harm.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>

#include "ingest/cf/time_axis.h"
#include "ingest/inspect.h"
#include "ingest/run/hourly.h"
#include "tests/ingest/weather_files.h"
#include "tests/support/case_file.h"

namespace hakea::ingest {
namespace {

class RealFile : public WeatherFiles {
 protected:
  static Inspection look(const std::string& name, std::optional<PointOfInterest> at = {}, const Feed& feed = {}) {
    return inspect(feed, path(name), at, needs());
  }
  static std::vector<QuantityNeeds> needs() {
    return {{"mixing_height", {"mixing_height"}},
            {"ffdi", {"precipitation_amount", "air_temperature", "relative_humidity", "wind_speed"}},
            {"surface_pressure", {"surface_pressure"}}};
  }
  static double least(const Inspection& i, const std::string& key) { return quantity(i, key).min.value_or(std::nan("")); }
  static double most(const Inspection& i, const std::string& key) { return quantity(i, key).max.value_or(std::nan("")); }
  static std::string why(const Inspection& i, const std::string& variable) {
    for (const Refusal& r : i.refused)
      if (r.variable == variable) return r.why;
    return "not refused";
  }
  static bool says(const Inspection& i, const std::string& words) {
    return std::any_of(i.notes.begin(), i.notes.end(), [&](const std::string& n) { return n.find(words) != std::string::npos; });
  }
};

using Trap = RealFile;

TEST_F(Trap, OneCutFilesAreRefusedWhole) {
  for (const char* name :
       {"derived/truncated/trunc_64bit_offset_mslp.nc", "derived/truncated/trunc_classic_record_sonde.cdf",
        "derived/truncated/trunc_hdf5_era5.nc", "derived/truncated/html_error_page_saved_as.nc",
        "derived/truncated/gzipped_but_named.nc", "g_nasty/zeroLengthFile.nc", "derived/truncated/trunc_magic_only.nc"}) {
    const auto i = look(name);
    EXPECT_FALSE(i.accepted) << name;
    ASSERT_FALSE(i.refused.empty()) << name;
    EXPECT_FALSE(i.refused.front().hint.empty());
    EXPECT_FALSE(plan_run({}, {path(name)}, {})) << name;
  }
}

TEST_F(Trap, TwoTheTimeIsTheValidTime) {
  EXPECT_EQ(why(look("a_grid/3B42_Daily.19991231.7.test.nc"), "precipitation"), "has no time coordinate");
  EXPECT_EQ(utc_text(*look("b_projected/wrfout_cut_ci_test_file.nc").times.last), "2005-08-28T21:00:00Z");
  EXPECT_EQ(utc_text(*look("b_projected/wrfout_cut_ci_test_file.nc").reference_time), "2005-08-28T00:00:00Z");
  const auto single = look("a_grid/earthkit_test_single.nc");
  EXPECT_EQ(utc_text(*single.times.first), "2017-04-27T12:00:00Z");
  EXPECT_EQ(utc_text(*single.reference_time), "2017-04-27T12:00:00Z");
  const auto point = look("a_grid/era5_single_point.nc");
  EXPECT_TRUE(point.accepted);
  EXPECT_EQ(utc_text(*point.times.first), "2018-01-02T06:00:00Z");
  Feed feed;
  feed.aliases = {{"pm10_conc", "air_temperature [K]"}, {"temp_mean", "air_temperature"}};
  // The date is only in the long name, "ANALYSIS time from 20200101"; the number is 36 hours.
  EXPECT_EQ(utc_text(*look("a_grid/test_adaptor.cams_regional_fc.nc", {}, feed).times.first), "2020-01-02T12:00:00Z");
  EXPECT_EQ(utc_text(*look("g_nasty/sgpmet_no_time.nc", {}, feed).times.last), "2019-01-01T00:59:00Z");
  // Its time has no unit; time_offset, in minutes of the day, has.
  const auto without_unit = look("g_nasty/sgpmet_test_time.nc", {}, feed);
  EXPECT_EQ(without_unit.times.count, 60u);
  EXPECT_EQ(utc_text(*without_unit.times.last), "2019-01-01T00:59:00Z");
  feed.aliases = {{"air_temperature", "air_temperature"}, {"tas", "air_temperature"}};
  EXPECT_EQ(utc_text(*look("a_grid/gridmet_tmmx_20190121.nc", {}, feed).times.first), "2019-01-21T00:00:00Z");
  // A reference time and leads only.
  EXPECT_EQ(utc_text(*look("d_ensemble/label_and_climate_small_FC_167_mon_19601101.nc", {}, feed).times.last),
            "1960-12-16T12:00:00Z");
}

TEST_F(Trap, ThreeTimeUnitsCalendarsGapsAndRepeats) {
  EXPECT_NE(why(look("a_grid/A1B_north_america.nc"), "air_temperature").find("360_day"), std::string::npos);
  EXPECT_EQ(look("a_grid/era5_2022_2mtemp_spres_xyav.nc").times.count, 8040u);
  EXPECT_FALSE(look("a_grid/era5_2022_2mtemp_spres_xyav.nc").times.step_h);
  const auto repeats = look("g_nasty/testing_test_monotonic_coordinate.nc");
  EXPECT_TRUE(says(repeats, "come twice"));
  EXPECT_TRUE(says(repeats, "are missing and were left out"));
  const auto stations = look("f_fwi/fwi_reference_wDC.nc");
  EXPECT_TRUE(says(stations, "do not ascend"));
  EXPECT_EQ(stations.times.count, 2192u);
  EXPECT_EQ(utc_text(*look("b_projected/wcs_processed_8x7_uwcw_ha43_dini_5p5km_wind-speed-xy_20240905T00.nc").times.last),
            "2024-09-07T12:00:00Z");
}

TEST_F(Trap, FourNamesWithoutStandardNamesAndUpperAirNames) {
  EXPECT_TRUE(has(look("derived/nam211_surface_lambert.nc"), "wind_gust"));
  EXPECT_EQ(quantity(look("a_grid/era5_2022_2mtemp_spres_xyav.nc"), "air_temperature").name, "2T_GDS0_SFC");
  EXPECT_EQ(quantity(look("a_grid/era5_1995-07-14T12.nc"), "dew_point_temperature").name, "d2m");
  const auto levels = look("derived/nam211_pressure_levels_lambert.nc");
  EXPECT_EQ(quantity(levels, "level_temperature").levels, 19u);
  EXPECT_FALSE(has(levels, "air_temperature"));
  // Wind at 100 m is not wind at 10 m, whatever the feed's file is called.
  EXPECT_EQ(quantity(look("a_grid/era5_hourly_wind_rad_berlin.nc"), "eastward_wind").name, "u10");
  EXPECT_NE(why(look("derived/nyc_hourly_20130401_240h.nc"), "sp").find("mean_sea_level"), std::string::npos);
}

TEST_F(Trap, FiveUnitsThatLie) {
  EXPECT_NE(why(look("g_nasty/convert_units_data.nc"), "air-temperature").find("degree"), std::string::npos);
  EXPECT_NE(why(look("derived/gfs_flux_surface_with_hpbl_2006040100.nc"), "hpblsfc").find("no unit"), std::string::npos);
  Feed feed;
  feed.aliases = {{"hpblsfc", "mixing_height [m]"}, {"cube_1", "air_temperature"}, {"cube_0", "air_temperature"}};
  const auto gfs = look("derived/gfs_flux_surface_with_hpbl_2006040100.nc", {}, feed);
  EXPECT_NEAR(least(gfs, "mixing_height"), 17, 1);
  EXPECT_NEAR(most(gfs, "mixing_height"), 2288, 1);
  EXPECT_NE(why(look("g_nasty/testing_units.nc", {}, feed), "cube_1").find("kevin"), std::string::npos);
  EXPECT_NE(why(look("g_nasty/testing_units.nc", {}, feed), "cube_0").find("wibble"), std::string::npos);
  // Declared in kelvin, filled in degrees Celsius.
  EXPECT_NE(
      why(look("b_projected/HARM_N25_20171215090000_dimx16_dimy16_dimtime49_dimforecastreferencetime1_varairtemperatureat2m.nc"),
          "air_temperature__at_2m")
          .find("plausible"),
      std::string::npos);
  EXPECT_NEAR(least(look("derived/nam211_surface_lambert.nc"), "relative_humidity"), 5.25, 0.01);
}

TEST_F(Trap, SixRainMeansFiveThings) {
  EXPECT_TRUE(says(look("d_ensemble/geps_watershed_forecast.nc"), "counted since the start"));
  EXPECT_TRUE(says(look("derived/nyc_hourly_20130401_240h.nc"), "counted since the start"));
  EXPECT_NE(why(look("b_projected/lcc_km.nc"), "prcp").find("over days"), std::string::npos);
  EXPECT_NE(why(look("b_projected/wrfout_cut_ci_test_file.nc"), "RAINNC").find("part"), std::string::npos);
  const auto rate = plan_run({}, {path("derived/gfs_flux_surface_with_hpbl_2006040100.nc")}, {});
  ASSERT_TRUE(rate);
  EXPECT_NE(std::find(rate->accumulation.begin(), rate->accumulation.end(), Accumulation::rate), rate->accumulation.end());
}

TEST_F(Trap, SevenMissingValuesAndPacking) {
  const auto nan = look("a_grid/era5_surface_has_nan.nc");
  EXPECT_EQ(quantity(nan, "eastward_wind").missing, 1u);
  EXPECT_EQ(quantity(nan, "northward_wind").missing, 0u);
  Feed feed;
  feed.aliases = {{"air_temperature", "air_temperature"}};
  const auto unsigned_short = look("a_grid/gridmet_tmmx_20190121.nc", {}, feed);
  ASSERT_TRUE(has(unsigned_short, "air_temperature"));
  EXPECT_GT(least(unsigned_short, "air_temperature"), -40);
  EXPECT_LT(most(unsigned_short, "air_temperature"), 40);
  // valid_min and valid_max mask the poles of a coordinate, which is none of a coordinate's business.
  feed.aliases = {{"tas", "air_temperature"}};
  const auto poles = look("d_ensemble/label_and_climate_small_FC_167_mon_19601101.nc", PointOfInterest{89.9, 10}, feed);
  ASSERT_TRUE(poles.accepted && poles.at);
  EXPECT_EQ(poles.grid->south, -90);
  EXPECT_EQ(poles.grid->north, 90);
  EXPECT_TRUE(std::isfinite(poles.at->values.at("air_temperature").front()));
  // An offset without a scale; a missing value that is not the fill value.
  feed.aliases = {{"variableWithOffset", "eastward_wind [km/h]"},
                  {"variableWithoutOffset", "northward_wind [km/h]"},
                  {"temp_mean", "air_temperature"}};
  const auto offset = look("g_nasty/testOffset.nc", {}, feed);
  EXPECT_EQ(most(offset, "northward_wind"), 10);
  EXPECT_EQ(most(offset, "eastward_wind"), 10);  // stored as other numbers
  EXPECT_GT(least(look("g_nasty/sgpmet_no_time.nc", {}, feed), "air_temperature"), 0);
}

TEST_F(Trap, EightAxisOrderAndWrap) {
  const auto i = look("a_grid/earthkit_era5_2t_1.nc", PointOfInterest{0, -10});  // between 340 and 0
  EXPECT_TRUE(i.at->note.empty());
  EXPECT_TRUE(std::isfinite(i.at->values.at("air_temperature").front()));
  const auto polar = look("b_projected/xycomponents_all_north.nc", PointOfInterest{55, 10}, [] {
    Feed f;
    f.aliases = {{"xcomponent", "x_wind"}, {"ycomponent", "y_wind"}};
    return f;
  }());
  EXPECT_TRUE(polar.accepted);
  EXPECT_TRUE(polar.at->note.empty());
  EXPECT_EQ(polar.grid->nx, 75u);
  EXPECT_EQ(polar.grid->ny, 80u);
  const auto stage = look("g_nasty/test_stageiv_xyt_borked.nc", PointOfInterest{35, -78});
  EXPECT_TRUE(stage.at->note.empty());
  EXPECT_EQ(stage.grid->kind, "curvilinear");
  EXPECT_EQ(stage.grid->nx, 87u);
}

TEST_F(Trap, NineProjectionsAndWindsAlongTheGrid) {
  const auto rotated =
      look("b_projected/wcs_processed_8x7_uwcw_ha43_dini_5p5km_wind-speed-xy_20240905T00.nc", PointOfInterest{52, 5});
  EXPECT_EQ(rotated.grid->kind, "rotated_latitude_longitude");
  const float x = rotated.at->values.at("x_wind")[0], y = rotated.at->values.at("y_wind")[0];
  EXPECT_NEAR(static_cast<double>(rotated.at->values.at("wind_speed")[0]),
              std::hypot(static_cast<double>(x), static_cast<double>(y)), 1e-4);
  const double along_grid = std::fmod(std::atan2(-static_cast<double>(x), -static_cast<double>(y)) * 57.29577951 + 360, 360);
  EXPECT_GT(std::abs(std::remainder(static_cast<double>(rotated.at->values.at("wind_from_direction")[0]) - along_grid, 360)),
            1.0);
  EXPECT_EQ(look("d_ensemble/uwcw_ha43ens_nl_2km_wind-speed-hagl_geoweb_nc_20240605T03_5x5.nc").grid->kind, "mercator");
  EXPECT_EQ(look("b_projected/wrfout_cut_ci_test_file.nc").grid->kind, "curvilinear");
  EXPECT_TRUE(has(look("b_projected/wrfout_cut_ci_test_file.nc"), "x_wind"));
}

TEST_F(Trap, TenMembersSplitFilesAndGroups) {
  EXPECT_EQ(look("d_ensemble/geps_watershed_forecast.nc").members, 20u);
  EXPECT_EQ(look("d_ensemble/uwcw_ha43ens_nl_2km_wind-speed-hagl_geoweb_nc_20240605T03_5x5.nc").members, 5u);
  EXPECT_EQ(quantity(look("g_nasty/cfpython_grouped.nc"), "specific_humidity").name, "forecast/model/q");
  const auto levels = plan_run({}, {path("derived/nam211_pressure_levels_lambert.nc")}, {});
  ASSERT_TRUE(levels);
  ASSERT_EQ(levels->levels_hpa.size(), 19u);
  EXPECT_GT(levels->levels_hpa.front(), levels->levels_hpa.back());
  EXPECT_EQ(levels->levels_hpa.back(), 100);
  const auto joined = plan_run({}, {path("a_grid/earthkit_era5_2t_2.nc"), path("a_grid/earthkit_era5_2t_1.nc")}, {});
  ASSERT_TRUE(joined);
  ASSERT_EQ(joined->steps.size(), 2u);
  EXPECT_EQ(utc_text(joined->steps[0]), "2021-03-01T12:00:00Z");
  EXPECT_EQ(joined->stencils.size(), 1u);  // one grid
  Feed feed;
  feed.aliases = {{"tas", "air_temperature"}, {"uas", "eastward_wind"}, {"vas", "northward_wind"}};
  const auto variables = plan_run(feed,
                                  {path("a_grid/vas_rectilinear_grid_2D.nc"), path("a_grid/tas_rectilinear_grid_2D.nc"),
                                   path("a_grid/uas_rectilinear_grid_2D.nc")},
                                  {});
  ASSERT_TRUE(variables);
  EXPECT_EQ(variables->fields.size(), 3u);
  EXPECT_EQ(variables->steps.size(), 12u);
  EXPECT_EQ(variables->stencils.size(), 1u);
  EXPECT_TRUE(look("g_nasty/vlstr_type.nc").accepted);
}

TEST_F(RealFile, TheSameFileTwiceChangesNothing) {
  const std::string file = path("derived/nyc_hourly_20130401_240h.nc");
  const auto once = plan_run({}, {file}, {{40.6, -74.1}}), twice = plan_run({}, {file, file}, {{40.6, -74.1}});
  ASSERT_TRUE(once && twice);
  EXPECT_EQ(once->steps, twice->steps);
  EXPECT_EQ(twice->refusals.size(), 2 * once->refusals.size());             // what one copy refuses, the other does too
  for (std::size_t f = once->fields.size(); f < twice->fields.size(); ++f)  // those of the second file are left unread
    EXPECT_EQ(std::count(twice->fields[f].step_of_time.begin(), twice->fields[f].step_of_time.end(), -1), 240);
  const auto other = plan_run({}, {file, path("derived/nyc_hourly_20130402_240h.nc")}, {});
  ASSERT_TRUE(other);
  ASSERT_FALSE(other->refusals.empty());
  EXPECT_NE(other->refusals.front().why.find("belongs to the run of"), std::string::npos);
}

TEST_F(RealFile, TellsWhatItsQuantitiesLeaveUncomputable) {
  const auto i = look("derived/nyc_hourly_20130401_240h.nc");
  const auto find = [&](const std::string& key) {
    return std::find_if(i.missing_for.begin(), i.missing_for.end(), [&](const auto& m) { return m.quantity == key; });
  };
  ASSERT_NE(find("mixing_height"), i.missing_for.end());
  EXPECT_EQ(find("mixing_height")->needs, std::vector<std::string>{"mixing_height"});
  EXPECT_EQ(find("ffdi"), i.missing_for.end());
  EXPECT_NE(find("surface_pressure"), i.missing_for.end());
}

TEST_F(RealFile, EveryFileIsReadWithoutHarmAndNothingImplausibleIsAccepted) {
  int files = 0, accepted = 0;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(test::shared_folder() + "/feeds")) {
    if (!entry.is_regular_file()) continue;
    SCOPED_TRACE(entry.path().string());
    const auto i = inspect({}, entry.path().string(), PointOfInterest{40.7, -74}, {});
    ++files;
    accepted += i.accepted;
    EXPECT_EQ(i.accepted, std::any_of(i.variables.begin(), i.variables.end(), [](const auto& v) { return !v.quantity.empty(); }));
    EXPECT_TRUE(i.accepted || !i.refused.empty());
    for (const Refusal& r : i.refused) EXPECT_FALSE(r.why.empty() || r.hint.empty());
    for (const auto& v : i.variables) {
      const auto fed = core::fed_by_key(v.quantity);
      if (!fed || !v.min || v.unit == "J m-2") continue;
      EXPECT_GE(*v.min, core::describe(*fed).lowest) << v.name;
      EXPECT_LE(*v.max, core::describe(*fed).highest) << v.name;
    }
  }
  EXPECT_GE(files, 106);
  EXPECT_GE(accepted, 35);
}

}  // namespace
}  // namespace hakea::ingest
