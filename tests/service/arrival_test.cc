// Files arrive as they please: in any order, twice, half-written and finished later, gone while they are read. What is published
// in the end is what a clean arrival gives. This program is its own reader.
#include <fmt/format.h>
#include <spdlog/sinks/ostream_sink.h>
#include <spdlog/spdlog.h>

#include <cstdlib>
#include <fstream>
#include <random>
#include <sstream>

#include "tests/support/case_file.h"
#include "tests/support/engine_rig.h"
#include "tests/support/file_bytes.h"

namespace hakea::test {
namespace {

namespace fs = std::filesystem;

constexpr const char* kLimits =
    R"({"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"max":24}},
       {"quantity":"precipitation_amount","scope":"before","hours":24,"kind":"hard","acceptable":{"max":2}})";

// Two feeds; three runs of the fine one, the newest in two files that lap over.
std::vector<MadeUpRun> all_files() {
  return {{.name = "f06.nc", .reference_h = 6, .rain_from = 3, .rain_to = 5},
          {.name = "f24.nc", .reference_h = 24, .warmer = 1},
          {.name = "f42-a.nc", .reference_h = 42, .last_lead_h = 40, .warmer = 2},
          {.name = "f42-b.nc", .reference_h = 42, .warmer = 2, .gap_from = 0, .gap_to = 38},
          {.name = "c24.nc", .feed = "coarse", .reference_h = 24, .last_lead_h = 120, .step_h = 3, .warmer = 3}};
}

// An engine, its folders and what was put into them.
class Scene : public EngineRig {
 public:
  Scene() {
    add_feed("fine", 72).late_after = "2h";
    add_feed("coarse", 120, 3);
    set_clock(43.5);
    enter_unit("u", kLimits);
    enter_unit("v", kLimits, 150.4);
    for (const MadeUpRun& file : all_files()) add_run(file);
    start();
  }
  void TestBody() override {}

  std::size_t add(const std::string& feed, const std::string& name, std::string bytes) {
    files_.emplace_back(folder_.path() / feed / name, std::move(bytes));
    return files_.size() - 1;
  }
  std::size_t add_run(MadeUpRun run) {
    const std::string feed = std::exchange(run.feed, "made");
    fs::create_directories(folder_.path() / "made");
    return add(feed, run.name, file_bytes(put(run)));
  }
  std::size_t files() const { return files_.size(); }
  fs::path path(std::size_t file) const { return files_[file].first; }
  // Renamed into place.
  void deliver(std::size_t file, const std::string& name = {}) const {
    const fs::path written = folder_.write("on_its_way", files_[file].second);
    fs::rename(written, name.empty() ? path(file) : path(file).parent_path() / name);
  }
  void write_half(std::size_t file) const {
    const std::string& bytes = files_[file].second;
    std::ofstream(path(file), std::ios::binary) << bytes.substr(0, bytes.size() / 2);
  }
  void finish(std::size_t file) const {
    const std::string& bytes = files_[file].second;
    std::ofstream(path(file), std::ios::binary | std::ios::app) << bytes.substr(bytes.size() / 2);
  }
  // Goes when the second reader opens it, to read its run.
  void deliver_and_lose(std::size_t file) { deliver_while(file, "1 " + path(file).string()); }
  // While something goes wrong with a reader (see reader_main.cc).
  void deliver_while(std::size_t file, const std::string& what) {
    catch_up();
    const fs::path control = folder_.write("reader", what);
    ::setenv("HAKEA_TEST_READER", control.c_str(), 1);
    deliver(file);
    catch_up();
    ::unsetenv("HAKEA_TEST_READER");
    EXPECT_FALSE(fs::exists(control)) << "no reader came for it";
  }
  void lose(std::size_t file) const { fs::remove(path(file)); }
  using EngineRig::catch_up;
  using EngineRig::engine_;
  using EngineRig::feed;
  using EngineRig::picture;
  using EngineRig::run;
  using EngineRig::set_clock;
  using EngineRig::start;
  using EngineRig::stop;
  using EngineRig::store_;

  // The published picture, and what is said of its runs.
  std::string picture_text() {
    std::string text;
    for (const FeedView& feed : picture()->feeds) {
      for (const RunRow& row : feed.runs) text += fmt::format("{} {} revision {}\n", row.id, row.state, row.revision);
      text += fmt::format("{}: newest {}, {} refused {}\n", feed.id, feed.newest_complete ? feed.newest_complete->id : "none",
                          feed.refused.size(), feed.trouble);
    }
    for (const auto& [id, view] : picture()->units) text += id + " " + (view->run ? view->run->id : "none") + "\n";
    for (const std::string& trouble : engine_->troubles()) text += "trouble: " + trouble + "\n";
    for (const char* unit : {"u", "v"}) {
      const auto carried = store_.carried(unit);
      for (const CarriedRow& row : *carried) text += row.state + " " + row.provenance + "\n";
    }
    return text + text_of(*picture());
  }

 private:
  std::vector<std::pair<fs::path, std::string>> files_;
};

std::string clean_arrival() {
  Scene scene;
  for (std::size_t file = 0; file < scene.files(); ++file) {
    scene.deliver(file);
    scene.catch_up();
  }
  return scene.picture_text();
}

// Equal, or where they part.
void expect_same(const std::string& found, const std::string& expected) {
  const auto other = std::mismatch(found.begin(), found.end(), expected.begin(), expected.end());
  const auto at = static_cast<std::size_t>(other.first - found.begin());
  EXPECT_TRUE(found == expected) << "found\n"
                                 << found.substr(0, 900) << "\n…" << found.substr(at > 60 ? at - 60 : 0, 200) << "\nexpected\n"
                                 << expected.substr(0, 900) << "\n…" << expected.substr(at > 60 ? at - 60 : 0, 200);
}

TEST(Arrival, ACleanOnePublishesTheNewestRun) {
  const std::string text = clean_arrival();
  EXPECT_NE(text.find("fine: newest fine.2027-03-30T18:00:00Z, 0 refused"), std::string::npos) << text.substr(0, 900);
  EXPECT_NE(text.find("coarse: newest coarse.2027-03-30T00:00:00Z, 0 refused"), std::string::npos) << text.substr(0, 900);
  EXPECT_EQ(text.find("trouble"), std::string::npos) << text.substr(0, 900);
  EXPECT_NE(text.find("\"run\":\"fine.2027-03-29T06:00:00Z\""), std::string::npos) << "nothing was carried";
}

TEST(Arrival, InAnyOrderAndMannerGivesThePictureOfACleanOne) {
  const std::string expected = clean_arrival();
  for (unsigned seed = 1; seed <= 8; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    std::mt19937 random(seed);
    Scene scene;
    std::vector<std::size_t> order(scene.files());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::shuffle(order.begin(), order.end(), random);
    std::vector<std::size_t> halves;
    std::string manner;
    for (const std::size_t file : order) {
      const auto name = scene.path(file).filename().string();
      switch (random() % 4) {
        case 0:
          scene.deliver(file);
          manner += name + " ";
          break;
        case 1:
          scene.deliver(file);
          if (random() % 2 == 0) scene.catch_up();
          scene.deliver(file, "again-" + name);
          manner += name + " twice ";
          break;
        case 2:
          scene.write_half(file);
          halves.push_back(file);
          manner += name + " half ";
          break;
        default:
          scene.deliver_and_lose(file);
          if (random() % 2 == 0) scene.catch_up();
          scene.deliver(file);
          manner += name + " lost and sent again ";
      }
      if (random() % 2 == 0) scene.catch_up();
    }
    for (const std::size_t file : halves) scene.finish(file);
    scene.catch_up();
    SCOPED_TRACE(manner);
    expect_same(scene.picture_text(), expected);
  }
}

TEST(Arrival, AReaderThatEndsIsStartedAgainAFewMinutesLater) {
  Scene scene;
  const std::string run = "fine.2027-03-29T06:00:00Z";
  scene.deliver_while(0, "1 end");
  ASSERT_TRUE(scene.run(run));
  EXPECT_EQ(scene.run(run)->state, "refused");
  EXPECT_NE(scene.run(run)->details.find("ended with status 9"), std::string::npos) << scene.run(run)->details;
  const int shown = scene.store_.publications;
  scene.catch_up();
  EXPECT_EQ(scene.store_.publications, shown) << "not at every look";
  scene.set_clock(43.6);
  scene.catch_up();
  EXPECT_EQ(scene.run(run)->state, "complete");
}

// A GRIB file is laid out in a temporary file before it is read.
TEST(Arrival, ARunForWhichThereIsNoRoomIsReadOnceThereIs) {
  Scene scene;
  scene.stop();
  const std::size_t file = scene.add("fine", "steps.nc", file_bytes(tests_folder() + "/data/grib/steps_together.grib2"));
  scene.feed(0).hours.reset();
  scene.set_clock(9000);
  scene.start();
  scene.deliver_while(file, "1 full");
  ASSERT_EQ(scene.picture()->feeds[0].runs.size(), 1U);
  EXPECT_EQ(scene.picture()->feeds[0].runs[0].state, "refused");
  EXPECT_NE(scene.picture()->feeds[0].runs[0].details.find("temporary file"), std::string::npos);
  scene.catch_up();
  EXPECT_EQ(scene.picture()->feeds[0].runs[0].state, "refused") << "not at every look";
  scene.set_clock(9000.1);
  scene.catch_up();
  EXPECT_EQ(scene.picture()->feeds[0].runs[0].state, "incomplete") << "it was read: its grid lies elsewhere";
}

TEST(Arrival, AFileOfARunForWhichThereIsNoRoomIsNotHeldAgainstTheRun) {
  Scene scene;
  scene.stop();
  const std::size_t file = scene.add("fine", "steps.nc", file_bytes(tests_folder() + "/data/grib/steps_together.grib2"));
  scene.start();
  const std::string run = "fine.2027-03-29T12:00:00Z";  // of the GRIB file
  const std::size_t beside = scene.add_run({.name = "f12.nc", .reference_h = 12, .last_lead_h = 40});
  scene.deliver(beside);
  scene.deliver_while(file, "1 full");
  ASSERT_TRUE(scene.run(run));
  EXPECT_NE(scene.run(run)->details.find("temporary file"), std::string::npos) << scene.run(run)->details;
  scene.set_clock(43.6);
  scene.catch_up();
  EXPECT_EQ(scene.run(run)->details.find("temporary file"), std::string::npos) << scene.run(run)->details;
}

TEST(Arrival, ARunThatComesFileByFileIsReadOnceItIsComplete) {
  Scene scene;
  const std::string run = "fine.2027-03-30T18:00:00Z";
  scene.deliver(2);
  scene.deliver(2, "copy.nc");
  scene.catch_up();
  ASSERT_TRUE(scene.run(run));
  EXPECT_EQ(scene.run(run)->state, "incomplete");
  EXPECT_NE(scene.run(run)->details.find("hours 41-72 of everything"), std::string::npos) << scene.run(run)->details;
  scene.deliver(3);
  scene.catch_up();
  EXPECT_EQ(scene.run(run)->state, "complete");
}

TEST(Arrival, LatenessIsSaidOnce) {
  std::ostringstream said;
  const auto before = spdlog::default_logger();
  spdlog::set_default_logger(std::make_shared<spdlog::logger>("test", std::make_shared<spdlog::sinks::ostream_sink_mt>(said)));
  {
    Scene scene;
    for (const std::size_t file : {std::size_t{1}, std::size_t{2}}) scene.deliver(file);  // a whole run, and half of the next
    scene.catch_up();
    scene.set_clock(46.2);  // 42 + 2 is past; 24 + 18 and then some
    for (int look = 0; look < 3; ++look) scene.catch_up();
    scene.set_clock(70);
    for (int look = 0; look < 3; ++look) scene.catch_up();
  }
  spdlog::set_default_logger(before);
  const auto times = [&](const std::string& words) {
    std::size_t count = 0;
    for (std::size_t at = 0; (at = said.str().find(words, at)) != std::string::npos; ++at) ++count;
    return count;
  };
  EXPECT_EQ(times("run fine.2027-03-30T18:00:00Z is incomplete: it lacks hours 41-72"), 1U) << said.str();
  EXPECT_EQ(times("run fine.2027-03-30T18:00:00Z is late and still incomplete"), 1U) << said.str();
  EXPECT_EQ(times("feed fine is stale: no complete run since that of 2027-03-30T00:00:00Z"), 1U) << said.str();
}

TEST(Arrival, FilesThatGoOnceTheyAreReadTakeNothingAway) {
  const std::string expected = clean_arrival();
  Scene scene;
  for (std::size_t file = 0; file < scene.files(); ++file) scene.deliver(file);
  scene.catch_up();
  const int reads = scene.store_.put_series_calls;
  // As producers tidy up, one by one; the newest run loses one of its two files.
  for (const std::size_t file : {std::size_t{0}, std::size_t{3}}) {
    scene.lose(file);
    scene.catch_up();
    expect_same(scene.picture_text(), expected);
  }
  scene.stop();
  scene.start();
  scene.lose(2);
  scene.catch_up();
  expect_same(scene.picture_text(), expected);
  EXPECT_EQ(scene.store_.put_series_calls, reads) << "nothing is read again";
}

}  // namespace
}  // namespace hakea::test
