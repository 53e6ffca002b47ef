// Real files cut off and damaged. A cut one is refused, or what is read of it is the beginning of what the uncut one says, to
// the bit. A damaged one never harms this process, and nothing implausible is handed on.
//
// Whether a file is whole is found without the libraries, in microseconds, so thousands of cuts are made of one copy that is
// shortened step by step; only what passes for whole is read, in the child. This program is its own reader.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <random>
#include <set>

#include "ingest/arrival/reader_process.h"
#include "ingest/format/netcdf_file.h"
#include "ingest/format/whole_file.h"
#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kCuts = HAKEA_CUTS;         // of one file
constexpr std::size_t kDamaged = HAKEA_DAMAGED;   // copies
constexpr std::size_t kSmall = 512 * 1024;        // of a file
constexpr bool kIsLong = kCuts >= kSmall / 1024;  // small files are cut at every KiB, and large ones are read too
constexpr ReadLimits kLimits{.seconds = 60, .cpu_seconds = 60, .memory_mb = 2048};

std::mt19937 seeded(const std::string& words) {
  std::seed_seq seed(words.begin(), words.end());
  return std::mt19937(seed);
}

std::optional<FileKind> kind_of(const std::string& path) {
  const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  const auto kind = check_whole(descriptor, path);
  ::close(descriptor);
  if (!kind) return std::nullopt;
  return *kind;
}

// All files beside the checkout that are whole and of a format that is read, in order.
std::vector<std::string> whole_files(const std::set<FileKind>& kinds) {
  std::vector<std::string> files;
  for (const auto& entry : fs::recursive_directory_iterator(test::shared_folder() + "/feeds"))
    if (entry.is_regular_file())
      if (const auto kind = kind_of(entry.path()); kind && kinds.contains(*kind)) files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  return files;
}

// What a file says at some points.
struct Reading {
  // By quantity, begin and end, level, point.
  using Key = std::tuple<core::Fed, UtcTime, UtcTime, double, std::int32_t>;
  std::map<std::size_t, std::map<Key, float>> members;
  std::map<core::Fed, std::set<UtcTime>> steps;  // those with a value
  std::vector<GridReport> grids;
  std::string refused;          // why nothing could be read
  std::size_t implausible = 0;  // values that should not have been handed on
};

Reading read(const std::string& file, const std::vector<PointOfInterest>& points, const ReadLimits& limits = kLimits) {
  Reading reading;
  RunPlan plan;
  const auto done = read_run({}, {file}, points, limits,
                             {[&](const RunPlan& p) {
                                plan = p;
                                reading = {};
                                reading.grids = p.grids;
                              },
                              [&](Slab&& s) {
                                const core::Fed fed = plan.fields[s.field].fed;
                                const Decoding& decoding = plan.fields[s.field].decoding;
                                std::size_t i = 0;
                                for (std::size_t step = s.first_step; step < s.first_step + s.steps; ++step)
                                  for (std::size_t member = 0; member < s.members; ++member)
                                    for (std::size_t level = 0; level < s.levels; ++level)
                                      for (const std::int32_t point : *s.points) {
                                        const float value = s.values[i++];
                                        if (std::isnan(value)) continue;
                                        const StepTime& time = plan.field_times[s.field][step];
                                        const bool is_ranged = decoding.lowest < decoding.highest;
                                        reading.implausible += !std::isfinite(value) ||
                                                               (is_ranged && (static_cast<double>(value) < decoding.lowest ||
                                                                              static_cast<double>(value) > decoding.highest));
                                        const double hpa = s.levels > 1 ? plan.levels_hpa[level] : 0;
                                        reading.members[member][{fed, time.begin, time.end, hpa, point}] = value;
                                        reading.steps[fed].insert(time.end);
                                      }
                              }});
  if (!done) reading.refused = done.error().what;
  return reading;
}

// Where the file has something to say, and a few places more.
std::vector<PointOfInterest> points_in(const std::string& file) {
  std::mt19937 random = seeded(fs::path(file).filename());
  std::vector<PointOfInterest> points;
  for (const GridReport& grid : read(file, {{0, 0}}).grids)
    for (int i = 0; i < 6 && points.size() < 24; ++i) {
      const auto between = [&](double low, double high) { return std::uniform_real_distribution<double>(low, high)(random); };
      if (grid.south <= grid.north && grid.west <= grid.east)
        points.push_back({between(grid.south, grid.north), between(grid.west, grid.east)});
    }
  if (points.empty()) points.push_back({40.7, -74});
  return points;
}

// The same values for what is there, and of each quantity the first steps.
void expect_beginning(const Reading& cut, const Reading& whole) {
  EXPECT_EQ(cut.implausible, 0U);
  // A member that stood last may have been the first by its number: each is to be found, wherever.
  for (const auto& [member, values] : cut.members) {
    const auto says_the_same = [&](const auto& other) {
      return std::all_of(values.begin(), values.end(), [&](const auto& value) {
        const auto same = other.second.find(value.first);
        return same != other.second.end() && same->second == value.second;
      });
    };
    EXPECT_TRUE(std::any_of(whole.members.begin(), whole.members.end(), says_the_same)) << "member " << member;
  }
  for (const auto& [fed, steps] : cut.steps) {
    const std::set<UtcTime>& all = whole.steps.at(fed);
    EXPECT_TRUE(std::equal(steps.begin(), steps.end(), all.begin())) << core::describe(fed).key << ": not the leading steps";
  }
}

// Lengths to cut a file to, longest first.
std::set<std::size_t, std::greater<>> cuts_of(const std::string& bytes, const std::string& name) {
  std::set<std::size_t, std::greater<>> cuts;
  std::mt19937 random = seeded(name);
  if (bytes.size() <= kSmall && kIsLong) {
    for (std::size_t at = 1024; at < bytes.size(); at += 1024) cuts.insert(at);
  } else {
    for (std::size_t i = 0; i < kCuts; ++i) cuts.insert(1 + random() % (bytes.size() - 1));
  }
  for (std::size_t i = 1; i < 8 && i < bytes.size(); ++i) cuts.insert({i, bytes.size() - i});
  // Behind messages: there a GRIB file passes for whole.
  std::vector<std::size_t> ends;
  for (std::size_t at = 0; (at = bytes.find("7777GRIB", at)) != std::string::npos; ++at) ends.push_back(at + 4);
  std::shuffle(ends.begin(), ends.end(), random);
  ends.resize(std::min(ends.size(), kIsLong ? 40 : bytes.size() <= kSmall ? std::size_t{1} : 0));
  cuts.insert(ends.begin(), ends.end());
  return cuts;
}

class RealFiles : public ::testing::Test {
 protected:
  void SetUp() override {
    if (test::shared_folder().empty()) GTEST_SKIP() << "the weather files are not beside the checkout";
  }

  // Cuts all files of some formats; how many cuts were read after all.
  std::size_t cut_all(const std::set<FileKind>& kinds, std::size_t least_files) {
    const std::vector<std::string> files = whole_files(kinds);
    EXPECT_GE(files.size(), least_files);
    std::size_t cuts = 0, read_after_all = 0;
    for (const std::string& file : files) {
      SCOPED_TRACE(file);
      read_after_all += cut_one(file, cuts);
      if (HasFatalFailure()) break;
    }
    RecordProperty("cuts", static_cast<int>(cuts));
    RecordProperty("read", static_cast<int>(read_after_all));
    return read_after_all;
  }

 private:
  std::size_t cut_one(const std::string& file, std::size_t& cuts) {
    const std::string bytes = test::file_bytes(file), copy = folder_.write(fs::path(file).filename(), bytes);
    std::optional<Reading> whole;
    std::vector<PointOfInterest> points;
    std::size_t read_after_all = 0;
    for (const std::size_t size : cuts_of(bytes, fs::path(file).filename())) {
      SCOPED_TRACE("cut to " + std::to_string(size) + " bytes");
      fs::resize_file(copy, size);
      ++cuts;
      if (!kind_of(copy)) {
        const auto opened = NetcdfFile::open(copy);
        EXPECT_FALSE(opened);
        if (!opened) {
          EXPECT_FALSE(opened.error().what.empty() || opened.error().hint.empty());
        }
        continue;
      }
      if (!whole) {
        points = points_in(file);
        whole = read(file, points);
        EXPECT_EQ(whole->implausible, 0U);
      }
      ++read_after_all;
      expect_beginning(read(copy, points), *whole);
    }
    fs::remove(copy);
    return read_after_all;
  }

  test::TempDir folder_;
};

using CutFiles = RealFiles;

TEST_F(CutFiles, ClassicOnesAreRefusedOrSayTheSame) {
  // Those that pass lack nothing but the bytes that fill up the last word.
  EXPECT_LT(cut_all({FileKind::classic, FileKind::offset_64bit, FileKind::cdf5}, 25), 50U);
}

TEST_F(CutFiles, Hdf5OnesAreRefused) { EXPECT_EQ(cut_all({FileKind::hdf5}, 40), 0U); }

TEST_F(CutFiles, GribOnesAreRefusedOrSayWhatTheirWholeMessagesSay) {
  EXPECT_GT(cut_all({FileKind::grib}, 8), 0U) << "none was cut behind a message";
}

// Wounds of the kinds that disks, networks and programs make.
std::string damaged(std::string bytes, std::mt19937& random) {
  const std::size_t head = std::min<std::size_t>(bytes.size(), 4096);
  const auto below = [&](std::size_t n) { return n == 0 ? 0 : static_cast<std::size_t>(random()) % n; };
  const auto block_at = [&](std::size_t length) { return below(bytes.size() - std::min(length, bytes.size()) + 1); };
  switch (random() % 5) {
    case 0:  // where the descriptions stand
      for (std::size_t n = 1 + below(8); n > 0; --n) bytes[below(head)] = static_cast<char>(random());
      break;
    case 1:
      for (std::size_t n = 1 + below(40); n > 0; --n) bytes[below(bytes.size())] = static_cast<char>(random());
      break;
    case 2:
      for (std::size_t n = 1 + below(4), at = below(head); n > 0; --n, at = below(head))
        bytes[at] = static_cast<char>(bytes[at] ^ (1 << below(8)));
      break;
    case 3: {  // a block that never reached the disk
      const std::size_t length = std::min<std::size_t>(bytes.size(), 512);
      std::fill_n(bytes.begin() + static_cast<std::ptrdiff_t>(block_at(length)), length, '\0');
      break;
    }
    default: {  // a block of elsewhere
      const std::size_t length = std::min<std::size_t>(bytes.size(), 16 + below(1024)), to = block_at(length);
      bytes.replace(to, length, bytes.substr(block_at(length), length));
    }
  }
  return bytes;
}

TEST_F(RealFiles, DamagedNeverHarmTheParentAndNothingImplausibleComes) {
  std::vector<std::string> files =
      whole_files({FileKind::classic, FileKind::offset_64bit, FileKind::cdf5, FileKind::hdf5, FileKind::grib});
  if (!kIsLong) std::erase_if(files, [](const std::string& file) { return fs::file_size(file) > kSmall; });
  std::mt19937 random(20260412);
  std::shuffle(files.begin(), files.end(), random);
  std::map<std::string, std::vector<PointOfInterest>> points;
  const test::TempDir folder;
  std::size_t read_well = 0, ended = 0;
  for (std::size_t round = 0; round < kDamaged; ++round) {
    const std::string& file = files[round % files.size()];
    SCOPED_TRACE("round " + std::to_string(round) + ": " + file);
    if (!points.contains(file)) points[file] = points_in(file);
    const Reading reading = read(folder.write("damaged", damaged(test::file_bytes(file), random)), points[file],
                                 {.seconds = 20, .cpu_seconds = 20, .memory_mb = 1024});
    EXPECT_EQ(reading.implausible, 0U);
    read_well += reading.refused.empty();
    ended += reading.refused.starts_with("the reader of this file");
  }
  EXPECT_LT(read_well, kDamaged) << "no damage was noticed at all";
  RecordProperty("read", static_cast<int>(read_well));
  RecordProperty("readers_that_ended", static_cast<int>(ended));
}

}  // namespace
}  // namespace hakea::ingest
