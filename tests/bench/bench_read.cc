// How long reading alone takes, on a cycle of tests/bench/run.
//
//   bench_read readall FOLDER          everything through NetCDF-C, one time step at a time: what a plain program does
//   bench_read tiles FOLDER COUNT      through NetCDF-C the chunks that COUNT points touch, each once: what a careful one does
//   bench_read points FOLDER COUNT     our reader for the same points, planned by hand
#include <fmt/core.h>
#include <netcdf.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <random>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "ingest/grid/sample.h"

namespace {

using namespace hakea;
using namespace hakea::ingest;

int stop(const std::string& why) {
  fmt::print(stderr, "bench_read: {}\n", why);
  return 1;
}

// The files of a cycle that are there: one made without levels has no levels.nc.
std::vector<std::string> files_of(const std::string& folder) {
  std::vector<std::string> files;
  for (const char* name : {"surface.nc", "levels.nc"})
    if (std::filesystem::exists(folder + "/" + name)) files.push_back(folder + "/" + name);
  return files;
}

// Calls use(file, variable, lengths of its dimensions) for every field of a file.
template <class Use>
int each_field(const std::string& path, const Use& use) {
  int file = -1, variables = 0, status = 0;
  if (nc_open(path.c_str(), NC_NOWRITE, &file) != NC_NOERR) return stop("cannot open " + path);
  nc_inq_nvars(file, &variables);
  for (int v = 0; v < variables && status == 0; ++v) {
    int rank = 0;
    nc_inq_varndims(file, v, &rank);
    if (rank < 3) continue;
    std::vector<int> ids(static_cast<std::size_t>(rank));
    nc_inq_vardimid(file, v, ids.data());
    std::vector<std::size_t> lengths(ids.size());
    for (std::size_t d = 0; d < ids.size(); ++d) nc_inq_dimlen(file, ids[d], &lengths[d]);
    status = use(file, v, lengths);
  }
  nc_close(file);
  return status;
}

// Reads blocks of one shape into one piece of memory.
class Blocks {
 public:
  bool read(int file, int variable, const std::vector<std::size_t>& start, const std::vector<std::size_t>& count) {
    std::size_t values = 1;
    for (const std::size_t n : count) values *= n;
    if (block_.size() < values) block_.resize(values);
    if (nc_get_vara_float(file, variable, start.data(), count.data(), block_.data()) != NC_NOERR) return false;
    check_ += static_cast<double>(block_[values / 2]);
    bytes_ += values * sizeof(float);
    return true;
  }
  void tell() const { fmt::print("{} MB, check {:.3f}\n", bytes_ / 1000000, check_); }

 private:
  std::vector<float> block_;
  double check_ = 0;
  std::size_t bytes_ = 0;
};

int read_all(const std::string& folder) {
  Blocks blocks;
  for (const std::string& path : files_of(folder)) {
    const int status = each_field(path, [&](int file, int variable, std::vector<std::size_t> count) {
      std::vector<std::size_t> start(count.size(), 0);
      const std::size_t steps = count.front();
      count.front() = 1;
      for (; start.front() < steps; ++start.front())
        if (!blocks.read(file, variable, start, count)) return stop("cannot read " + path);
      return 0;
    });
    if (status != 0) return status;
  }
  blocks.tell();
  return 0;
}

// The south-west cells of points spread over a grid, and how far from them the points lie.
struct Spread {
  std::int32_t y, x;
  float fy, fx;
};
std::vector<Spread> spread_points(std::size_t points, std::size_t rows, std::size_t columns) {
  std::mt19937 random(7);
  std::vector<Spread> spread;
  for (std::size_t p = 0; p < points; ++p) {
    const double y = static_cast<double>(random()) / 4294967296.0 * static_cast<double>(rows - 1),
                 x = static_cast<double>(random()) / 4294967296.0 * static_cast<double>(columns - 1);
    const auto low_y = static_cast<std::int32_t>(y), low_x = static_cast<std::int32_t>(x);
    spread.push_back({low_y, low_x, static_cast<float>(y - low_y), static_cast<float>(x - low_x)});
  }
  return spread;
}

int read_tiles(const std::string& folder, std::size_t points) {
  Blocks blocks;
  for (const std::string& path : files_of(folder)) {
    const int status = each_field(path, [&](int file, int variable, const std::vector<std::size_t>& lengths) {
      const std::size_t rank = lengths.size();
      std::vector<std::size_t> chunk(rank);
      int storage = NC_CONTIGUOUS;
      if (nc_inq_var_chunking(file, variable, &storage, chunk.data()) != NC_NOERR || storage != NC_CHUNKED)
        return stop(path + " is not chunked");
      std::set<std::pair<std::size_t, std::size_t>> tiles;
      for (const Spread& s : spread_points(points, lengths[rank - 2], lengths[rank - 1]))
        for (const int dy : {0, 1})
          for (const int dx : {0, 1})
            tiles.emplace(static_cast<std::size_t>(s.y + dy) / chunk[rank - 2],
                          static_cast<std::size_t>(s.x + dx) / chunk[rank - 1]);
      std::vector<std::size_t> start(rank, 0), count(rank);
      for (;;) {  // over the chunks of all dimensions but the last two
        for (const auto& [tile_y, tile_x] : tiles) {
          start[rank - 2] = tile_y * chunk[rank - 2];
          start[rank - 1] = tile_x * chunk[rank - 1];
          for (std::size_t d = 0; d < rank; ++d) count[d] = std::min(chunk[d], lengths[d] - start[d]);
          if (!blocks.read(file, variable, start, count)) return stop("cannot read " + path);
        }
        std::size_t d = rank - 2;
        while (d > 0 && (start[d - 1] += chunk[d - 1]) >= lengths[d - 1]) start[--d] = 0;
        if (d == 0) return 0;
      }
    });
    if (status != 0) return status;
  }
  blocks.tell();
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
  std::vector<std::vector<Stencil>> stencils(1);
  for (const auto& [y, x, fy, fx] : spread_points(points, shape[1], shape[2])) {
    stencils[0].push_back(
        {{y, y, y + 1, y + 1}, {x, x + 1, x, x + 1}, {(1 - fy) * (1 - fx), (1 - fy) * fx, fy * (1 - fx), fy * fx}, 4});
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
  else if (what == "tiles" && argc == 4)
    status = read_tiles(argv[2], static_cast<std::size_t>(std::atol(argv[3])));
  else if (what == "points" && argc == 4)
    status = read_points(argv[2], static_cast<std::size_t>(std::atol(argv[3])));
  else
    return stop("readall FOLDER | tiles FOLDER COUNT | points FOLDER COUNT");
  fmt::print("{:.2f} s\n", std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count());
  return status;
}
