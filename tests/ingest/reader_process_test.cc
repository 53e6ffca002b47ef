// A reader that crashes, hangs or is fed damage is reported, and the other files are read all the same. This program is its
// own reader: main() below hands `read-run` to reader_main(), with an understanding of files that obeys their names.
#include "ingest/arrival/reader_process.h"

#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <random>
#include <string>
#include <thread>

#include "tests/support/file_bytes.h"
#include "tests/support/netcdf_writer.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {

namespace {
void obey(const std::string& file) {
  if (file.find("crash") != std::string::npos) raise(SIGSEGV);
  if (file.find("spin") != std::string::npos) {
    for (volatile bool on = true; on;) {
    }
  }
  if (file.find("hang") != std::string::npos) {
    std::ofstream(file + ".pid") << getpid();
    std::this_thread::sleep_for(std::chrono::hours(1));
  }
}

Result<RunPlan> obedient_plan(const Feed&, const std::vector<std::string>& files, const std::vector<PointOfInterest>& points) {
  RunPlan run;
  run.files = files;
  run.steps = {UtcTime(std::chrono::hours(1)), UtcTime(std::chrono::hours(2)), UtcTime(std::chrono::hours(3))};
  run.stencils.push_back({});
  for (std::size_t p = 0; p < points.size(); ++p)
    run.stencils[0].push_back({{static_cast<std::int32_t>(p % 4)}, {static_cast<std::int32_t>(p % 5)}, {1.F}, 1});
  for (std::size_t i = 0; i < files.size(); ++i) {
    const auto file = NetcdfFile::open(files[i]);
    obey(files[i]);
    if (!file) {
      run.refusals.push_back({files[i], "", file.error().what, file.error().hint});
      continue;
    }
    for (std::size_t v = 0; v < file->variables().size(); ++v) {
      if (file->variables()[v].unreadable.empty() && file->size_of(v) < 100000) (void)file->read_all(v);
      if (file->variables()[v].name != "t2m" || file->variables()[v].dimensions.size() != 3) continue;
      FieldPlan field;
      field.fed = files[i].find("aloft") == std::string::npos ? core::Fed::air_temperature : core::Fed::level_temperature;
      field.file = i;
      field.variable = v;
      field.time_dim = 0;
      field.y_dim = 1;
      field.x_dim = 2;
      field.step_of_time = {0, 1, 2};
      run.fields.push_back(field);
      run.field_times.push_back({{run.steps[0], run.steps[0]}, {run.steps[1], run.steps[1]}, {run.steps[2], run.steps[2]}});
      run.accumulation.push_back(Accumulation::none);
    }
  }
  // What no honest reader sends.
  for (const std::string& file : files) {
    if (file.find("backwards") != std::string::npos) std::swap(run.steps.front(), run.steps.back());
    if (file.find("eternal") != std::string::npos) run.steps.back() += std::chrono::hours(24 * 366 * 900);
    if (file.find("countless") != std::string::npos) run.members = std::size_t{1} << 40;
  }
  if (run.fields.empty()) return Error{ErrorKind::incomplete, "nothing", files.front(), "nothing can be read", ""};
  return run;
}

Result<UtcTime> obedient_reference_time(const Feed&, const std::string& file) {
  obey(file);
  if (file.find("odd") != std::string::npos) return Error{ErrorKind::invalid, "no_time", file, "it has no time", "name one"};
  return UtcTime(std::chrono::hours(file.size()));
}

std::string write_forecast(const std::string& path, double first) {
  test::NetcdfWriter writer(path, NC_NETCDF4);
  const int t = writer.dimension("time", 3), y = writer.dimension("y", 4), x = writer.dimension("x", 5);
  std::vector<double> values;
  for (int i = 0; i < 60; ++i) values.push_back(first + i);
  writer.write(writer.variable("t2m", NC_FLOAT, {t, y, x}, {{1, 4, 5}, true, false, 1}), {0, 0, 0}, {3, 4, 5}, values);
  return path;
}

struct Received {
  RunPlan plan;
  std::vector<Slab> slabs;
  int plans = 0;
  RunReceiver receiver() {
    return {[this](const RunPlan& p) {
              plan = p;
              slabs.clear();
              ++plans;
            },
            [this](Slab&& s) { slabs.push_back(std::move(s)); }};
  }
};

const std::vector<PointOfInterest> kPoints(3);
ReadLimits quick() { return {.seconds = 2, .cpu_seconds = 60, .memory_mb = 2048}; }

TEST(ReaderProcess, DeliversThePlanAndTheValues) {
  const test::TempDir folder;
  Received got;
  const auto read = read_run({}, {write_forecast(folder.path() / "a.nc", 10), write_forecast(folder.path() / "b.nc", 100)},
                             kPoints, quick(), got.receiver());
  ASSERT_TRUE(read) << read.error().what;
  ASSERT_EQ(got.plan.fields.size(), 2U);
  EXPECT_EQ(got.plan.steps.size(), 3U);
  EXPECT_EQ((*read)[0].chunks, 3U);
  EXPECT_EQ((*read)[1].values, 9U);
  std::vector<std::vector<float>> values(2, std::vector<float>(9, -1));
  for (const Slab& s : got.slabs) {
    for (std::size_t step = 0; step < s.steps; ++step) {
      for (std::size_t p = 0; p < s.points->size(); ++p)
        values[s.field][(s.first_step + step) * 3 + static_cast<std::size_t>((*s.points)[p])] =
            s.values[step * s.points->size() + p];
    }
  }
  EXPECT_EQ(values[0], (std::vector<float>{10, 16, 22, 30, 36, 42, 50, 56, 62}));
  EXPECT_EQ(values[1][8], 152);
}

TEST(ReaderProcess, DoesNotReadWhatIsLeftOut) {
  const test::TempDir folder;
  const std::vector<std::string> ground{write_forecast(folder.path() / "a.nc", 10)},
      aloft{write_forecast(folder.path() / "aloft.nc", 10)};
  Received got;
  const LeftOut without_levels{.always = {}, .without_levels = {core::Fed::air_temperature}};
  ASSERT_TRUE(read_run({}, ground, kPoints, quick(), got.receiver(), without_levels));
  EXPECT_EQ(got.plan.fields.size(), 1U);
  EXPECT_TRUE(got.slabs.empty());

  // Steps at one, two and three o'clock: the second o'clock alone needs no more than its own.
  const LeftOut hours{.always = {}, .without_levels = {}, .hours_with_levels = 1U << 2};
  ASSERT_TRUE(read_run({}, aloft, kPoints, quick(), got.receiver(), hours));
  ASSERT_EQ(got.slabs.size(), 1U);
  EXPECT_EQ(got.slabs[0].first_step, 1U);
  ASSERT_TRUE(read_run({}, ground, kPoints, quick(), got.receiver(), hours));
  EXPECT_FALSE(got.slabs.empty());
}

TEST(ReaderProcess, ACrashCostsTheFileAtHandAndNotTheOthers) {
  const test::TempDir folder;
  Received got;
  const std::string bad = write_forecast(folder.path() / "crash.nc", 1);
  const auto read = read_run({}, {write_forecast(folder.path() / "a.nc", 10), bad, write_forecast(folder.path() / "b.nc", 100)},
                             kPoints, quick(), got.receiver());
  ASSERT_TRUE(read) << read.error().what;
  EXPECT_EQ(got.plan.files.size(), 2U);
  ASSERT_EQ(got.plan.refusals.size(), 1U);
  EXPECT_EQ(got.plan.refusals[0].file, bad);
  // a sanitizer turns the signal into an end of its own
  EXPECT_TRUE(got.plan.refusals[0].why.find("crashed") != std::string::npos ||
              got.plan.refusals[0].why.find("ended with status") != std::string::npos)
      << got.plan.refusals[0].why;
  EXPECT_FALSE(got.slabs.empty());
}

TEST(ReaderProcess, AHangIsEndedAndReported) {
  const test::TempDir folder;
  Received got;
  ReadLimits limits = quick();
  limits.seconds = 1;
  const auto read = read_run({}, {write_forecast(folder.path() / "hang.nc", 1), write_forecast(folder.path() / "a.nc", 10)},
                             kPoints, limits, got.receiver());
  ASSERT_TRUE(read) << read.error().what;
  ASSERT_EQ(got.plan.refusals.size(), 1U);
  EXPECT_NE(got.plan.refusals[0].why.find("no sign of life for 1 s"), std::string::npos) << got.plan.refusals[0].why;
}

TEST(ReaderProcess, ProcessorTimeIsLimited) {
  const test::TempDir folder;
  Received got;
  const auto read = read_run({}, {write_forecast(folder.path() / "spin.nc", 1)}, kPoints,
                             {.seconds = 120, .cpu_seconds = 1, .memory_mb = 2048}, got.receiver());
  ASSERT_FALSE(read);
  EXPECT_NE(read.error().what.find("processor time"), std::string::npos) << read.error().what;
}

TEST(ReaderProcess, ADamagedChunkCostsItsFileWithTheVariableNamed) {
  const test::TempDir folder;
  const std::string bad = folder.path() / "bad.nc";
  {
    test::NetcdfWriter writer(bad, NC_NETCDF4);
    const int t = writer.dimension("time", 3), y = writer.dimension("y", 40), x = writer.dimension("x", 50);
    std::mt19937 random(3);
    std::vector<double> values;
    for (int i = 0; i < 6000; ++i) values.push_back(static_cast<double>(random() % 1000));
    writer.write(writer.variable("t2m", NC_FLOAT, {t, y, x}, {{1, 40, 50}, true, false, 1}), {0, 0, 0}, {3, 40, 50}, values);
  }
  const auto size = std::filesystem::file_size(bad);
  std::fstream bytes(bad, std::ios::in | std::ios::out | std::ios::binary);
  bytes.seekp(static_cast<std::streamoff>(size - 1000));
  bytes.write("damage damage damage", 20);
  bytes.close();
  Received got;
  const auto read = read_run({}, {bad, write_forecast(folder.path() / "a.nc", 10)}, kPoints, quick(), got.receiver());
  ASSERT_TRUE(read) << read.error().what;
  EXPECT_EQ(got.plans, 2);
  ASSERT_EQ(got.plan.refusals.size(), 1U);
  EXPECT_EQ(got.plan.refusals[0].file, bad);
  EXPECT_EQ(got.plan.refusals[0].variable, "t2m");
  EXPECT_EQ(got.plan.fields.size(), 1U);
}

TEST(ReaderProcess, APlanThatMakesNoSenseIsNotBelieved) {
  for (const char* name : {"backwards.nc", "eternal.nc", "countless.nc"}) {
    const test::TempDir folder;
    Received got;
    const auto read = read_run({}, {write_forecast(folder.path() / name, 1)}, kPoints, quick(), got.receiver());
    ASSERT_FALSE(read) << name;
    EXPECT_NE(read.error().what.find("makes no sense"), std::string::npos) << read.error().what;
    EXPECT_EQ(got.plans, 0) << name;
  }
}

TEST(ReaderProcess, RandomDamageNeverHarmsTheParent) {
  const test::TempDir folder;
  const std::string whole = write_forecast(folder.path() / "whole.nc", 10);
  const std::string bytes = test::file_bytes(whole);
  std::mt19937 random(20260410);
  int read_well = 0;
  for (int round = 0; round < 60; ++round) {
    std::string damaged = bytes;
    for (unsigned i = 0, n = 1 + random() % 8; i < n; ++i) damaged[random() % damaged.size()] = static_cast<char>(random());
    Received got;
    const auto read = read_run({}, {folder.write("damaged.nc", damaged), whole}, kPoints, quick(), got.receiver());
    ASSERT_TRUE(read) << "round " << round << ": " << read.error().what;
    EXPECT_GE(got.plan.fields.size() + got.plan.refusals.size(), 1U) << "round " << round;
    bool has_whole = false;
    for (const FieldPlan& field : got.plan.fields) has_whole |= got.plan.files[field.file] == whole;
    EXPECT_TRUE(has_whole) << "round " << round;
    read_well += got.plan.refusals.empty();
  }
  EXPECT_LT(read_well, 60) << "no damage was noticed at all";
}

TEST(ReaderProcess, ReferenceTimesComeForEveryFile) {
  Feed feed;
  const auto found = reference_times(feed, {"/a.nc", "/crash.nc", "/odd.nc", "/bb.nc"}, quick());
  ASSERT_EQ(found.size(), 4U);
  std::map<std::string, bool> known;
  for (const FileReference& f : found) known[f.file] = static_cast<bool>(f.reference_time);
  EXPECT_EQ(known, (std::map<std::string, bool>{{"/a.nc", true}, {"/bb.nc", true}, {"/crash.nc", false}, {"/odd.nc", false}}));
}

TEST(ReaderProcess, DiesWithTheParent) {
  const test::TempDir folder;
  const std::string file = write_forecast(folder.path() / "hang.nc", 1);
  const pid_t parent = fork();
  if (parent == 0) {
    Received got;
    (void)read_run({}, {file}, kPoints, {.seconds = 300, .cpu_seconds = 60, .memory_mb = 2048}, got.receiver());
    _exit(0);
  }
  pid_t reader = 0;
  for (int tries = 0; tries < 600 && reader == 0; ++tries) {
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
    std::ifstream(file + ".pid") >> reader;
  }
  kill(parent, SIGKILL);
  waitpid(parent, nullptr, 0);
  ASSERT_GT(reader, 0);
  const auto is_alive = [&] {
    std::string pid, name, state;
    std::ifstream("/proc/" + std::to_string(reader) + "/stat") >> pid >> name >> state;
    return !state.empty() && state != "Z";
  };
  for (int tries = 0; tries < 200 && is_alive(); ++tries) std::this_thread::sleep_for(std::chrono::milliseconds(50));
  EXPECT_FALSE(is_alive());
}

TEST(ReaderProcess, WithoutFilesThereIsAnError) {
  Received got;
  EXPECT_FALSE(read_run({}, {}, kPoints, quick(), got.receiver()));
}

}  // namespace
}  // namespace hakea::ingest

int main(int argc, char** argv) {
  using namespace hakea::ingest;
  if (argc > 1 && std::string(argv[1]) == "read-run") return reader_main({obedient_plan, obedient_reference_time});
  testing::InitGoogleTest(&argc, argv);
  return RUN_ALL_TESTS();
}
