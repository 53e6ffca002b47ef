// How long reading alone takes, on a cycle of tests/bench/run.
//
//   bench_read readall FOLDER          everything through NetCDF-C, one time step at a time: what a plain program does
//   bench_read points FOLDER COUNT     our reader for COUNT points spread over the grid, planned by hand
#include <fmt/core.h>
#include <netcdf.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <random>
#include <string>
#include <vector>

#include "ingest/grid/sample.h"

namespace {

using namespace hakea;
using namespace hakea::ingest;

int stop(const std::string& why) {
  fmt::print(stderr, "bench_read: {}\n", why);
  return 1;
}

int read_all(const std::string& folder) {
  std::size_t bytes = 0;
  double check = 0;
  for (const char* name : {"surface.nc", "levels.nc"}) {
    int file = -1, variables = 0;
    if (nc_open((folder + "/" + name).c_str(), NC_NOWRITE, &file) != NC_NOERR) return stop("cannot open " + folder + "/" + name);
    nc_inq_nvars(file, &variables);
    for (int v = 0; v < variables; ++v) {
      int rank = 0;
      nc_inq_varndims(file, v, &rank);
      if (rank < 3) continue;
      std::vector<int> ids(static_cast<std::size_t>(rank));
      nc_inq_vardimid(file, v, ids.data());
      std::vector<std::size_t> start(ids.size(), 0), count(ids.size());
      for (std::size_t d = 0; d < ids.size(); ++d) nc_inq_dimlen(file, ids[d], &count[d]);
      const std::size_t steps = count.at(0);
      count.at(0) = 1;
      std::size_t values = 1;
      for (const std::size_t n : count) values *= n;
      std::vector<float> field(values);
      for (std::size_t step = 0; step < steps; ++step) {
        start.at(0) = step;
        if (nc_get_vara_float(file, v, start.data(), count.data(), field.data()) != NC_NOERR) return stop("cannot read");
        check += static_cast<double>(field[values / 2]);
        bytes += values * sizeof(float);
      }
    }
    nc_close(file);
  }
  fmt::print("{} MB, check {:.3f}\n", bytes / 1000000, check);
  return 0;
}

int read_points(const std::string& folder, std::size_t points) {
  struct Known {
    const char* name;
    core::Fed fed;
  };
  constexpr Known surface[] = {{"t2m", core::Fed::air_temperature},      {"d2m", core::Fed::dew_point_temperature},
                               {"u10", core::Fed::eastward_wind},        {"v10", core::Fed::northward_wind},
                               {"gust10", core::Fed::wind_gust},         {"tp", core::Fed::precipitation_amount},
                               {"ssrd", core::Fed::shortwave_radiation}, {"sp", core::Fed::surface_pressure},
                               {"tcc", core::Fed::cloud_area_fraction}};
  constexpr Known levels[] = {{"t", core::Fed::level_temperature},
                              {"r", core::Fed::level_relative_humidity},
                              {"u", core::Fed::level_eastward_wind},
                              {"v", core::Fed::level_northward_wind},
                              {"z", core::Fed::level_height}};
  std::vector<NetcdfFile> open;
  for (const char* name : {"surface.nc", "levels.nc"}) {
    auto file = NetcdfFile::open(folder + "/" + name);
    if (!file) return stop(file.error().where + ": " + file.error().what);
    open.push_back(std::move(*file));
  }
  std::vector<FieldPlan> plans;
  std::vector<std::size_t> which;
  RunShape run;
  const auto plan = [&](const Known& known, std::size_t file) {
    FieldPlan field;
    field.fed = known.fed;
    field.file = file;
    field.variable = open[file].find(known.name).value();
    const auto shape = open[file].shape_of(field.variable);
    field.decoding.missing = {static_cast<double>(9.96921e36F)};
    field.decoding.lowest = -1e6;
    field.decoding.highest = 1e6;
    field.time_dim = 0;
    field.y_dim = static_cast<int>(shape.size()) - 2;
    field.x_dim = static_cast<int>(shape.size()) - 1;
    for (std::size_t t = 0; t < shape[0]; ++t) field.step_of_time.push_back(static_cast<std::int32_t>(file == 0 ? t : 3 * t));
    run.steps = std::max(run.steps, static_cast<std::size_t>(field.step_of_time.back()) + 1);
    if (file == 1) {
      field.level_dim = 1;
      run.levels = shape[1];
      for (std::size_t l = 0; l < shape[1]; ++l) field.level_of.push_back(static_cast<std::int32_t>(l));
    }
    which.push_back(plans.size());
    plans.push_back(std::move(field));
  };
  for (const Known& known : surface) plan(known, 0);
  for (const Known& known : levels) plan(known, 1);

  const auto shape = open[0].shape_of(plans[0].variable);
  std::mt19937 random(7);
  std::vector<std::vector<Stencil>> stencils(1);
  for (std::size_t p = 0; p < points; ++p) {
    const double y = static_cast<double>(random()) / 4294967296.0 * static_cast<double>(shape[1] - 1),
                 x = static_cast<double>(random()) / 4294967296.0 * static_cast<double>(shape[2] - 1);
    const auto low_y = static_cast<std::int32_t>(y), low_x = static_cast<std::int32_t>(x);
    const auto fy = static_cast<float>(y - low_y), fx = static_cast<float>(x - low_x);
    stencils[0].push_back({{low_y, low_y, low_y + 1, low_y + 1},
                           {low_x, low_x + 1, low_x, low_x + 1},
                           {(1 - fy) * (1 - fx), (1 - fy) * fx, fy * (1 - fx), fy * fx},
                           4});
  }
  std::size_t slabs = 0, values = 0;
  double check = 0;
  const auto read = read_fields({&open[0], &open[1]}, plans, which, stencils, run, [&](Slab&& slab) {
    ++slabs;
    values += slab.values.size();
    check += static_cast<double>(slab.values.front());
  });
  if (!read) return stop(read.error().where + ": " + read.error().what);
  std::size_t chunks = 0;
  for (const FieldQuality& q : *read) chunks += q.chunks;
  fmt::print("{} chunks, {} slabs, {} values, check {:.3f}\n", chunks, slabs, values, check);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string what = argc > 1 ? argv[1] : "";
  const auto begin = std::chrono::steady_clock::now();
  int status = 2;
  if (what == "readall" && argc == 3)
    status = read_all(argv[2]);
  else if (what == "points" && argc == 4)
    status = read_points(argv[2], static_cast<std::size_t>(std::atol(argv[3])));
  else
    return stop("readall FOLDER | points FOLDER COUNT");
  fmt::print("{:.2f} s\n", std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count());
  return status;
}
