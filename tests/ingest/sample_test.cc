// Values at points against a plain reading of the whole variable, for every chunk shape; and how often chunks are read.
#include "ingest/grid/sample.h"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <limits>
#include <map>
#include <random>
#include <set>

#include "tests/support/netcdf_writer.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {
namespace {

using test::NetcdfWriter;
constexpr float kNone = std::numeric_limits<float>::quiet_NaN();

// Points anywhere, on the last row and column too, each between four cells.
std::vector<Stencil> stencils_on(std::size_t ny, std::size_t nx, std::size_t count) {
  std::mt19937 random(11);
  std::vector<Stencil> all;
  for (std::size_t p = 0; p < count; ++p) {
    const auto y = static_cast<std::int32_t>(random() % (ny - 1)), x = static_cast<std::int32_t>(random() % (nx - 1));
    const auto fy = static_cast<float>(random() % 17) / 16, fx = static_cast<float>(random() % 17) / 16;
    all.push_back({{y, y, y + 1, y + 1}, {x, x + 1, x, x + 1}, {(1 - fy) * (1 - fx), (1 - fy) * fx, fy * (1 - fx), fy * fx}, 4});
  }
  all.push_back({});  // outside the grid
  return all;
}

// A variable of five dimensions in any order, and what is expected of it.
struct Layout {
  const char* name;
  std::string order;  // of t, m, l, y, x
  std::map<char, std::size_t> chunk;
  bool through_library = false;  // with a filter that only it knows, which cuts chunks short at the edge
};
const std::map<char, std::size_t> kLength{{'t', 6}, {'m', 3}, {'l', 4}, {'y', 12}, {'x', 15}};

double value_of(std::size_t t, std::size_t m, std::size_t l, std::size_t y, std::size_t x) {
  if (t == 2 && y == 5 && x == 7) return -999;  // missing
  if (t == 3 && y == 2 && x == 2) return 5e8;   // implausible
  return static_cast<double>(t) * 100 + static_cast<double>(m) * 10 + static_cast<double>(l) + static_cast<double>(y * y) / 8 -
         static_cast<double>(x) / 4;
}

void PrintTo(const Layout& layout, std::ostream* out) { *out << layout.name; }

class Sampling : public testing::TestWithParam<Layout> {};

TEST_P(Sampling, EqualsAPlainReadingAndReadsEachChunkOnce) {
  const Layout& layout = GetParam();
  const test::TempDir folder;
  const std::string path = folder.path() / "file.nc";
  std::map<char, std::size_t> place;
  for (std::size_t i = 0; i < layout.order.size(); ++i) place[layout.order[i]] = i;
  std::vector<std::size_t> shape;
  for (const char d : layout.order) shape.push_back(kLength.at(d));
  {
    NetcdfWriter writer(path, NC_NETCDF4);
    std::vector<int> dimensions;
    NetcdfWriter::Storage storage{{}, true, layout.through_library, 1};
    for (const char d : layout.order) {
      dimensions.push_back(writer.dimension(std::string(1, d), kLength.at(d)));
      if (!layout.chunk.empty()) storage.chunk.push_back(layout.chunk.at(d));
    }
    const int v =
        layout.chunk.empty() ? writer.variable("v", NC_FLOAT, dimensions) : writer.variable("v", NC_FLOAT, dimensions, storage);
    std::vector<double> values;
    std::size_t size = 1;
    for (const std::size_t n : shape) size *= n;
    for (std::size_t i = 0; i < size; ++i) {
      std::map<char, std::size_t> at;
      std::size_t left = i;
      for (std::size_t d = shape.size(); d-- > 0; left /= shape[d]) at[layout.order[d]] = left % shape[d];
      values.push_back(value_of(at['t'], at['m'], at['l'], at['y'], at['x']));
    }
    writer.write(v, std::vector<std::size_t>(5, 0), shape, values);
  }
  const auto file = NetcdfFile::open(path);
  ASSERT_TRUE(file);
  FieldPlan plan;
  plan.fed = core::Fed::level_temperature;
  plan.variable = *file->find("v");
  plan.decoding = {.scale = 2,
                   .offset = 1,
                   .to_unit = 0.5,
                   .unit_offset = -3,
                   .missing = {-999},
                   .valid_min = {},
                   .valid_max = {},
                   .lowest = -1e4,
                   .highest = 1e4};
  plan.time_dim = static_cast<int>(place['t']);
  plan.member_dim = static_cast<int>(place['m']);
  plan.level_dim = static_cast<int>(place['l']);
  plan.y_dim = static_cast<int>(place['y']);
  plan.x_dim = static_cast<int>(place['x']);
  plan.step_of_time = {1, 3, 5, 6, -1, 7};  // of eight steps, one time not wanted
  plan.member_of = {2, 0, 1};
  plan.level_of = {3, -1, 1, 0};
  const RunShape run{8, 3, 5};
  const auto stencils = stencils_on(12, 15, 400);

  std::map<std::array<std::size_t, 4>, float> found;  // step, member, level, point
  std::vector<std::size_t> steps;
  const auto read = read_fields({&*file}, {plan}, {0}, {stencils}, run, [&](Slab&& slab) {
    ASSERT_EQ(slab.steps, 1U);
    ASSERT_EQ(slab.members, 3U);
    ASSERT_EQ(slab.levels, 5U);
    ASSERT_EQ(slab.values.size(), 3 * 5 * slab.points->size());
    steps.push_back(slab.first_step);
    std::size_t i = 0;
    for (std::size_t m = 0; m < 3; ++m) {
      for (std::size_t l = 0; l < 5; ++l) {
        for (const std::int32_t p : *slab.points) {
          EXPECT_TRUE(found.try_emplace({slab.first_step, m, l, static_cast<std::size_t>(p)}, slab.values[i++]).second)
              << "delivered twice";
        }
      }
    }
  });
  ASSERT_TRUE(read) << read.error().what;
  EXPECT_EQ(steps, (std::vector<std::size_t>{1, 3, 5, 6, 7}));
  EXPECT_EQ(found.size(), 5U * 3 * 5 * 401);

  std::set<std::vector<std::size_t>> chunks;
  std::size_t missing = 0, implausible = 0, patched = 0;
  for (std::size_t t = 0; t < 6; ++t) {
    if (plan.step_of_time[t] < 0) continue;
    for (std::size_t m = 0; m < 3; ++m) {
      for (std::size_t l = 0; l < 4; ++l) {
        if (plan.level_of[l] < 0) continue;
        for (std::size_t p = 0; p < stencils.size(); ++p) {
          double sum = 0, total = 0, kept = 0;
          bool is_missing = false, is_implausible = false;
          for (std::size_t c = 0; c < static_cast<std::size_t>(stencils[p].cells); ++c) {
            if (stencils[p].weight[c] == 0) continue;
            const auto y = static_cast<std::size_t>(stencils[p].y[c]), x = static_cast<std::size_t>(stencils[p].x[c]);
            const double raw = static_cast<double>(static_cast<float>(value_of(t, m, l, y, x)));
            const auto weight = static_cast<double>(stencils[p].weight[c]);
            is_missing |= raw == -999;
            is_implausible |= raw > 1e8;
            total += weight;
            if (raw == -999 || raw > 1e8) continue;
            kept += weight;
            sum += weight * ((raw * 2 + 1) * 0.5 - 3);
          }
          for (std::size_t c = 0; c < static_cast<std::size_t>(stencils[p].cells); ++c) {
            if (stencils[p].weight[c] == 0) continue;
            const auto y = static_cast<std::size_t>(stencils[p].y[c]), x = static_cast<std::size_t>(stencils[p].x[c]);
            if (!layout.chunk.empty()) {
              std::vector<std::size_t> chunk;
              const std::map<char, std::size_t> at{{'t', t}, {'m', m}, {'l', l}, {'y', y}, {'x', x}};
              for (const char d : layout.order) chunk.push_back(at.at(d) / layout.chunk.at(d));
              chunks.insert(chunk);
            }
          }
          const bool has_value = total > 0 && kept * 2 >= total;
          const float expected = has_value ? static_cast<float>(sum / kept) : kNone;
          const std::array<std::size_t, 4> key{static_cast<std::size_t>(plan.step_of_time[t]),
                                               static_cast<std::size_t>(plan.member_of[m]),
                                               static_cast<std::size_t>(plan.level_of[l]), p};
          const float value = found.at(key);
          if (std::isnan(expected))
            EXPECT_TRUE(std::isnan(value)) << t << ' ' << m << ' ' << l << ' ' << p;
          else
            EXPECT_FLOAT_EQ(value, expected) << t << ' ' << m << ' ' << l << ' ' << p;
          missing += is_missing && !has_value;
          implausible += is_implausible && !is_missing && !has_value;
          patched += has_value && kept < total;
        }
      }
    }
  }
  EXPECT_GT(missing, 0U);
  EXPECT_GT(patched, 0U);
  EXPECT_GT(implausible, 0U);
  const FieldQuality& quality = (*read)[0];
  EXPECT_EQ(quality.implausible, implausible);
  EXPECT_EQ(quality.values, found.size());
  float lowest = std::numeric_limits<float>::infinity(), highest = -lowest;
  std::size_t without = 0;
  for (const auto& [key, value] : found) {
    without += std::isnan(value);
    lowest = std::min(lowest, std::isnan(value) ? lowest : value);
    highest = std::max(highest, std::isnan(value) ? highest : value);
  }
  EXPECT_EQ(quality.missing, without);
  EXPECT_EQ(static_cast<float>(quality.lowest), lowest);
  EXPECT_EQ(static_cast<float>(quality.highest), highest);
  if (!layout.chunk.empty()) {
    EXPECT_EQ(quality.chunks, chunks.size());
  }
  for (std::size_t p = 0; p < stencils.size(); ++p)
    EXPECT_TRUE(std::isnan(found.at({1, 0, 2, p}))) << "a level that the file does not have";
}

INSTANTIATE_TEST_SUITE_P(
    Layouts, Sampling,
    testing::Values(Layout{"maps", "tmlyx", {{'t', 1}, {'m', 1}, {'l', 1}, {'y', 12}, {'x', 15}}},
                    Layout{"series", "tmlyx", {{'t', 6}, {'m', 1}, {'l', 1}, {'y', 5}, {'x', 4}}},
                    Layout{"profiles", "tmlyx", {{'t', 2}, {'m', 3}, {'l', 4}, {'y', 3}, {'x', 3}}},
                    Layout{"one chunk", "tmlyx", {{'t', 6}, {'m', 3}, {'l', 4}, {'y', 12}, {'x', 15}}},
                    Layout{"member first", "mtlyx", {{'t', 4}, {'m', 2}, {'l', 3}, {'y', 7}, {'x', 7}}},
                    Layout{"member last, x before y", "tlxym", {{'t', 1}, {'m', 3}, {'l', 1}, {'y', 4}, {'x', 4}}},
                    Layout{"cut short at the edge", "tlxym", {{'t', 1}, {'m', 2}, {'l', 1}, {'y', 5}, {'x', 4}}, true},
                    Layout{"contiguous", "tmlyx", {}}, Layout{"contiguous, time last", "xylmt", {}}),
    [](const auto& layout) {
      std::string name;
      for (const char c : std::string(layout.param.name))
        if (std::isalnum(static_cast<unsigned char>(c))) name += c;
      return name;
    });

// Sums that one chunk holds whole are not added up. Numbers and weights are such that no order of adding rounds.
TEST(ReadFields, OneChunkForAllPointsGivesTheBitsOfMany) {
  constexpr std::size_t kTimes = 3, kRows = 12, kColumns = 15;
  const test::TempDir folder;
  auto stencils = stencils_on(kRows, kColumns, 400);
  stencils.pop_back();  // all in the grid
  const auto expect_same = [](const std::vector<float>& a, const std::vector<float>& b) {
    for (std::size_t i = 0; i < a.size(); ++i)
      EXPECT_EQ(std::bit_cast<std::uint32_t>(a[i]), std::bit_cast<std::uint32_t>(b[i])) << i;
  };
  const auto read = [&](const std::string& name, const std::vector<std::size_t>& chunk, std::vector<float>& values) {
    const std::string path = folder.path() / name;
    {
      NetcdfWriter writer(path, NC_NETCDF4);
      const int t = writer.dimension("t", kTimes), y = writer.dimension("y", kRows), x = writer.dimension("x", kColumns);
      std::vector<double> numbers;
      for (std::size_t i = 0; i < kTimes * kRows * kColumns; ++i) numbers.push_back(static_cast<double>(i % 64) / 4 - 3);
      // in the last two steps only: the first has lost nothing
      numbers[kRows * kColumns + 40] = -999;
      numbers[kRows * kColumns + 90] = static_cast<double>(kNone);
      numbers[kRows * kColumns * 2 + 20] = 1e30;
      numbers[kRows * kColumns * 2 + 80] = -std::numeric_limits<double>::infinity();
      writer.write(writer.variable("t2m", NC_DOUBLE, {t, y, x}, {chunk, true, false, 1}), {0, 0, 0}, {kTimes, kRows, kColumns},
                   numbers);
    }
    const auto file = NetcdfFile::open(path);
    FieldPlan plan;
    plan.fed = core::Fed::air_temperature;
    plan.decoding.missing = {-999};
    plan.decoding.lowest = -3;  // held by cells, as the highest is
    plan.decoding.highest = 12.75;
    plan.time_dim = 0;
    plan.y_dim = 1;
    plan.x_dim = 2;
    plan.step_of_time = {0, 1, 2};
    values.assign(kTimes * stencils.size(), 0);
    const auto quality = read_fields({&*file}, {plan}, {0}, {stencils}, {kTimes, 1, 0}, [&](Slab&& slab) {
      for (std::size_t s = 0; s < slab.steps; ++s)
        for (std::size_t p = 0; p < slab.points->size(); ++p)
          values[(slab.first_step + s) * stencils.size() + static_cast<std::size_t>((*slab.points)[p])] =
              slab.values[s * slab.points->size() + p];
    });
    return (*quality)[0];
  };
  std::vector<float> whole, parts;
  const FieldQuality of_whole = read("whole.nc", {1, kRows, kColumns}, whole), of_parts = read("parts.nc", {2, 5, 4}, parts);
  EXPECT_EQ(of_whole.chunks, kTimes);
  expect_same(whole, parts);
  EXPECT_GT(of_whole.missing, of_whole.implausible);
  EXPECT_GT(of_whole.implausible, 0U);
  EXPECT_EQ(of_whole.values, whole.size());
  EXPECT_EQ(of_whole.missing, of_parts.missing);
  EXPECT_EQ(of_whole.implausible, of_parts.implausible);
  EXPECT_EQ(of_whole.lowest, of_parts.lowest);
  EXPECT_EQ(of_whole.highest, of_parts.highest);
  EXPECT_FALSE(std::isnan(whole.front()));

  // All between two columns of chunks: what the first gives is taken whole, and that of the second added.
  for (Stencil& stencil : stencils) stencil.x = {7, 8, 7, 8};
  std::vector<float> halves;
  read("whole between.nc", {1, kRows, kColumns}, whole);
  EXPECT_EQ(read("halves.nc", {1, kRows, 8}, halves).chunks, 2 * kTimes);
  expect_same(whole, halves);
}

// A field whose grid holds none of the points, read beside one whose grid holds them: it has nothing of the other's.
TEST(ReadFields, NothingIsGivenWhereNoPointLiesInTheGrid) {
  const test::TempDir folder;
  const std::string path = folder.path() / "file.nc";
  {
    NetcdfWriter writer(path, NC_NETCDF4);
    const std::vector<int> shape{writer.dimension("t", 2), writer.dimension("l", 1), writer.dimension("y", 3),
                                 writer.dimension("x", 3)};
    for (const char* name : {"t", "z"})
      writer.write(writer.variable(name, NC_FLOAT, shape), {0, 0, 0, 0}, {2, 1, 3, 3}, std::vector<double>(18, 7));
  }
  const auto file = NetcdfFile::open(path);
  ASSERT_TRUE(file);
  std::vector<FieldPlan> plans(2);
  for (std::size_t f = 0; f < 2; ++f) {
    plans[f].fed = f == 0 ? core::Fed::level_temperature : core::Fed::level_height;
    plans[f].variable = *file->find(f == 0 ? "t" : "z");
    plans[f].grid = f;
    plans[f].time_dim = 0;
    plans[f].level_dim = 1;
    plans[f].y_dim = 2;
    plans[f].x_dim = 3;
    plans[f].step_of_time = {0, 1};
    plans[f].level_of = {0};
  }
  const std::vector<Stencil> inside(5, {{1, 1, 2, 2}, {1, 2, 1, 2}, {0.25F, 0.25F, 0.25F, 0.25F}, 4}), outside(5);
  std::array<std::size_t, 2> given{};
  const auto read = read_fields({&*file}, plans, {0, 1}, {inside, outside}, {2, 1, 1}, [&](Slab&& slab) {
    for (const float value : slab.values) {
      EXPECT_EQ(std::isnan(value), slab.field == 1);
      ++given[slab.field];
    }
  });
  ASSERT_TRUE(read);
  EXPECT_EQ(given, (std::array<std::size_t, 2>{10, 10}));
  EXPECT_EQ((*read)[0].missing, 0U);
  EXPECT_EQ((*read)[1].missing, 10U);
}

// Two fields on levels of a file chunked along time, with so many points that they are divided into bands; and a surface
// field that must come first.
TEST(ReadFields, ProfilesAreCompleteStepByStepForFilesChunkedAlongTime) {
  const test::TempDir folder;
  const std::string path = folder.path() / "file.nc";
  const std::size_t steps = 50, levels = 10, ny = 20, nx = 20, points = 5000;
  {
    NetcdfWriter writer(path, NC_NETCDF4);
    const int t = writer.dimension("time", steps), l = writer.dimension("level", levels), y = writer.dimension("y", ny),
              x = writer.dimension("x", nx);
    std::vector<double> values;
    for (std::size_t i = 0; i < steps * levels * ny * nx; ++i) values.push_back(static_cast<double>(i % 1009));
    for (const char* name : {"t", "z"})
      writer.write(writer.variable(name, NC_FLOAT, {t, l, y, x}, {{steps, 1, 5, 5}, true, false, 1}), {0, 0, 0, 0},
                   {steps, levels, ny, nx}, values);
    values.resize(steps * ny * nx);
    writer.write(writer.variable("t2m", NC_FLOAT, {t, y, x}, {{steps, 5, 5}, true, false, 1}), {0, 0, 0}, {steps, ny, nx},
                 values);
  }
  const auto file = NetcdfFile::open(path);
  ASSERT_TRUE(file);
  std::vector<FieldPlan> plans;
  for (const auto& [name, fed] :
       {std::pair{"t", core::Fed::level_temperature}, {"z", core::Fed::level_height}, {"t2m", core::Fed::air_temperature}}) {
    FieldPlan plan;
    plan.fed = fed;
    plan.variable = *file->find(name);
    plan.time_dim = 0;
    plan.level_dim = fed == core::Fed::air_temperature ? -1 : 1;
    plan.y_dim = plan.level_dim + 1 > 0 ? plan.level_dim + 1 : 1;
    plan.x_dim = plan.y_dim + 1;
    for (std::size_t s = 0; s < steps; ++s) plan.step_of_time.push_back(static_cast<std::int32_t>(s));
    for (std::size_t l = 0; l < levels; ++l) plan.level_of.push_back(static_cast<std::int32_t>(l));
    plans.push_back(plan);
  }
  const auto stencils = stencils_on(ny, nx, points);
  bool levels_began = false;
  std::set<std::shared_ptr<const PointList>> lists;
  std::map<std::int32_t, std::size_t> next_step;
  std::size_t awaited = 0;
  Slab before;
  const auto read = read_fields({&*file}, plans, {0, 1, 2}, {stencils}, {steps, 1, levels}, [&](Slab&& slab) {
    if (slab.field == 2) {
      EXPECT_FALSE(levels_began) << "a surface field came after a field on levels";
      return;
    }
    levels_began = true;
    lists.insert(slab.points);
    ASSERT_EQ(slab.field, awaited);
    if (slab.field == 1) {
      EXPECT_EQ(slab.first_step, before.first_step);
      EXPECT_EQ(slab.points, before.points);
      EXPECT_EQ(slab.values.size(), before.values.size());
      for (std::size_t i = 0; i < slab.values.size(); ++i)
        ASSERT_TRUE(slab.values[i] == before.values[i] || std::isnan(slab.values[i]));
      for (const std::int32_t p : *slab.points) EXPECT_EQ(next_step[p]++, slab.first_step);
    }
    awaited = 1 - awaited;
    before = std::move(slab);
  });
  ASSERT_TRUE(read);
  EXPECT_GT(lists.size(), 1U) << "the points were not divided, so this test shows nothing";
  EXPECT_EQ(next_step.size(), points + 1);
  for (const auto& [point, step] : next_step) EXPECT_EQ(step, steps);
  EXPECT_EQ((*read)[0].chunks, 16 * levels);
  EXPECT_EQ((*read)[2].chunks, 16U);
}

// Four cells of 10, 20, 30 and 40 with weights 0.4, 0.1, 0.3 and 0.2, some of them missing (atmosphere.md 7.4).
struct Gap {
  const char* name;
  std::vector<std::size_t> missing;
  bool nearest;
  float expected;
};
void PrintTo(const Gap& gap, std::ostream* out) { *out << gap.name; }

class MissingCells : public testing::TestWithParam<Gap> {};

TEST_P(MissingCells, LeaveAValueWhileTheOthersHoldHalfOfTheWeight) {
  const test::TempDir folder;
  const std::string path = folder.path() / "file.nc";
  std::vector<double> cells{10, 20, 30, 40};
  for (const std::size_t c : GetParam().missing) cells[c] = c == 1 ? 1e6 : -999;  // implausible or said to be missing
  {
    NetcdfWriter writer(path, NC_NETCDF4);
    const int t = writer.dimension("time", 1), y = writer.dimension("y", 2), x = writer.dimension("x", 2);
    // each cell in a chunk of its own
    writer.write(writer.variable("t2m", NC_FLOAT, {t, y, x}, {{1, 1, 1}, true, false, 1}), {0, 0, 0}, {1, 2, 2}, cells);
  }
  const auto file = NetcdfFile::open(path);
  ASSERT_TRUE(file);
  FieldPlan plan;
  plan.fed = core::Fed::air_temperature;
  plan.decoding.missing = {-999};
  plan.decoding.lowest = -100;
  plan.decoding.highest = 100;
  plan.nearest = GetParam().nearest;
  plan.time_dim = 0;
  plan.y_dim = 1;
  plan.x_dim = 2;
  plan.step_of_time = {0};
  std::vector<float> got;
  ASSERT_TRUE(read_fields({&*file}, {plan}, {0}, {{{{0, 0, 1, 1}, {0, 1, 0, 1}, {0.4F, 0.1F, 0.3F, 0.2F}, 4}}}, {1, 1, 0},
                          [&](Slab&& slab) { got = slab.values; }));
  ASSERT_EQ(got.size(), 1U);
  if (std::isnan(GetParam().expected))
    EXPECT_TRUE(std::isnan(got[0])) << got[0];
  else
    EXPECT_FLOAT_EQ(got[0], GetParam().expected);
}

INSTANTIATE_TEST_SUITE_P(Cases, MissingCells,
                         testing::Values(Gap{"none", {}, false, 23}, Gap{"a_tenth", {1}, false, (4 + 9 + 8) / 0.9F},
                                         Gap{"two_fifths", {0}, false, (2 + 9 + 8) / 0.6F},
                                         Gap{"exactly_half", {0, 1}, false, (9 + 8) / 0.5F},
                                         Gap{"more_than_half", {0, 3}, false, kNone}, Gap{"all", {0, 1, 2, 3}, false, kNone},
                                         Gap{"nearest_has_it", {1, 2, 3}, true, 10}, Gap{"nearest_has_not", {0}, true, kNone}),
                         [](const auto& gap) { return std::string(gap.param.name); });

TEST(ReadFields, NearestTakesTheHeaviestCellAndTwoFilesMakeOneProfile) {
  const test::TempDir folder;
  std::vector<NetcdfFile> files;
  std::vector<FieldPlan> plans;
  for (const char* name : {"t", "z"}) {
    const std::string path = folder.path() / (std::string(name) + ".nc");
    {
      NetcdfWriter writer(path, NC_64BIT_DATA);
      const int t = writer.dimension("time", 3), l = writer.dimension("level", 1), y = writer.dimension("y", 2),
                x = writer.dimension("x", 2);
      writer.write(writer.variable(name, NC_DOUBLE, {t, l, y, x}), {0, 0, 0, 0}, {3, 1, 2, 2},
                   {1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12});
    }
    FieldPlan plan;
    plan.fed = plans.empty() ? core::Fed::level_temperature : core::Fed::level_height;
    plan.file = plans.size();
    plan.nearest = true;
    plan.time_dim = 0;
    plan.level_dim = 1;
    plan.y_dim = 2;
    plan.x_dim = 3;
    plan.step_of_time = {0, 1, 2};
    plan.level_of = {0};
    plans.push_back(plan);
    auto file = NetcdfFile::open(path);
    ASSERT_TRUE(file);
    files.push_back(std::move(*file));
  }
  std::vector<std::pair<std::size_t, float>> got;
  const Stencil stencil{{0, 0, 1, 1}, {0, 1, 0, 1}, {0.1F, 0.2F, 0.4F, 0.3F}, 4};
  ASSERT_TRUE(read_fields({&files[0], &files[1]}, plans, {0, 1}, {{stencil}}, {3, 1, 1},
                          [&](Slab&& slab) { got.emplace_back(slab.field, slab.values.at(0)); }));
  EXPECT_EQ(got, (std::vector<std::pair<std::size_t, float>>{{0, 3.F}, {1, 3.F}, {0, 7.F}, {1, 7.F}, {0, 11.F}, {1, 11.F}}));
}

}  // namespace
}  // namespace hakea::ingest
