// The tables below are the architecture: who may include whom, behind which door each library stands, and what never
// appears in the pure core. A new edge is a change of one line here. The checks read the source tree as text; the same
// checks run on a small wrong tree, so that each is seen to fail.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"
#include "tests/support/temp_dir.h"

namespace hakea::test {
namespace {

namespace fs = std::filesystem;
using Complaints = std::vector<std::string>;

// A room may include itself and the rooms named here. The longest matching room counts; a folder includes its subfolders.
const std::map<std::string, std::vector<std::string>> kDirections = {
    {"core/base", {}},
    {"core/weather", {"core/base"}},
    {"core/wetness", {"core/base", "core/weather"}},
    {"core/moisture", {"core/base", "core/weather"}},
    {"core/air", {"core/base", "core/weather"}},
    {"core/fire", {"core/base", "core/weather"}},
    {"core/catalogue", {"core/base", "core/weather", "core/wetness", "core/moisture", "core/air", "core/fire"}},
    {"core/prescription", {"core/base", "core/weather", "core/wetness", "core/catalogue"}},
    {"core/verify", {"core/base"}},
    {"core/days", {"core/base", "core/weather", "core/wetness", "core/catalogue", "core/prescription"}},
    {"core/plan", {"core/base", "core/prescription", "core/days"}},
    {"core/alert", {"core/base", "core/days"}},
    {"ingest", {"core/base", "core/weather"}},
    {"service", {"core", "ingest"}},
    {"tests", {"core", "ingest", "service"}},
};

// A library's headers (by the beginning of their name) and the modules (by the beginning of their path) that may see them.
// Tests may use any.
const std::map<std::string, std::vector<std::string>> kDoors = {
    {"netcdf", {"ingest/format/netcdf_file", "ingest/format/netcdf_output", "ingest/format/chunk_reader"}},
    {"hdf5", {"ingest/format/netcdf_file", "ingest/format/chunk_reader"}},
    {"libdeflate.h", {"ingest/format/chunk_reader", "service/http/compression"}},
    {"eccodes.h", {"ingest/format/grib_file"}},
    {"udunits2.h", {"ingest/cf/units"}},
    {"proj.h", {"ingest/grid/projection"}},
    {"toml++/", {"ingest/feed", "service/input/toml_table"}},
    {"date/", {"service/input/zones"}},
    {"fmt/", {"ingest/", "service/"}},
    {"spdlog/", {"service/"}},
    {"sqlite3.h", {"service/store/sqlite"}},
    {"coin/", {"service/engine/plan_solver"}},
    {"openssl/",
     {"service/access/public_key", "service/access/secret", "service/base/content_hash", "service/deliver/signature"}},
    {"prometheus/", {"service/app/metrics"}},
    {"curl/", {"service/deliver/mail", "service/deliver/transfer", "service/deliver/webhook"}},
    {"boost/json", {"service/input/", "service/output/", "service/engine/", "service/tell/", "service/cli/", "service/http/"}},
    {"boost/uuid", {"service/output/calendar_text"}},
    {"boost/", {"service/http/server", "service/http/head"}},
    {"libical/", {"service/output/calendar_text"}},
};

// Headers of the system itself, for ingest and service.
const std::set<std::string> kSystem = {"arpa/inet.h",    "fcntl.h",       "fnmatch.h",  "malloc.h",    "netdb.h",
                                       "poll.h",         "signal.h",      "spawn.h",    "stdlib.h",    "sys/eventfd.h",
                                       "sys/file.h",     "sys/inotify.h", "sys/mman.h", "sys/prctl.h", "sys/resource.h",
                                       "sys/sendfile.h", "sys/socket.h",  "sys/stat.h", "sys/types.h", "sys/un.h",
                                       "sys/wait.h",     "unistd.h"};

// The core is a function of its arguments.
const std::set<std::string> kNotInCore = {"atomic", "condition_variable", "csignal",      "ctime",      "filesystem", "fstream",
                                          "future", "iostream",           "istream",      "locale",     "mutex",      "ostream",
                                          "random", "semaphore",          "shared_mutex", "stop_token", "thread"};
const std::regex kNotCalledInCore(
    R"((::now|\b(getenv|secure_getenv|rand|srand|random|time|localtime|gmtime|setlocale|fopen|system))\s*\()");

// The clock is asked in one place; benchmarks measure time.
const std::regex kAsksTheClock(R"((::now|\b(gettimeofday|clock_gettime))\s*\()");
const std::vector<std::string> kMayAskTheClock = {"service/base/clock.", "tests/bench/"};

const std::set<std::string> kTopLevel = {"CMakeLists.txt", "README.md", "DEVELOPERS.md", "service", "core",
                                         "ingest",         "tests",     "config",        "deploy"};
constexpr long kLongestFile = 600;

struct SourceFile {
  std::string path;  // from the top of the tree
  std::string code;  // without comments
  long lines = 0;
};

struct Include {
  std::string name;
  bool quoted = false;
};

bool is_under(const std::string& path, const std::string& room) { return path.starts_with(room + "/"); }

bool starts_with_any(const std::string& path, const std::vector<std::string>& beginnings) {
  return std::any_of(beginnings.begin(), beginnings.end(), [&](const std::string& b) { return path.starts_with(b); });
}

// Without comments and without what stands in strings, other than the names of includes.
std::string without_comments(const std::string& text) {
  std::string code;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text.compare(i, 2, "//") == 0) {
      i = std::min(text.find('\n', i), text.size()) - 1;
    } else if (text.compare(i, 2, "/*") == 0) {
      i = std::min(text.find("*/", i + 2), text.size() - 2) + 1;
    } else if (text[i] == '"' && code.find('#', code.rfind('\n') + 1) == std::string::npos) {
      for (++i; i < text.size() && text[i] != '"' && text[i] != '\n'; ++i)
        if (text[i] == '\\') ++i;
      code += "\"\"";
    } else {
      code += text[i];
    }
  }
  return code;
}

std::vector<SourceFile> sources(const fs::path& root) {
  std::vector<SourceFile> files;
  for (const char* top : {"core", "ingest", "service", "tests"}) {
    if (!fs::exists(root / top)) continue;
    for (const auto& entry : fs::recursive_directory_iterator(root / top)) {
      const std::string extension = entry.path().extension().string();
      if (extension != ".h" && extension != ".cc") continue;
      const std::string text = file_bytes(entry.path());
      files.push_back({fs::relative(entry.path(), root).generic_string(), without_comments(text),
                       std::count(text.begin(), text.end(), '\n')});
    }
  }
  std::sort(files.begin(), files.end(), [](const SourceFile& a, const SourceFile& b) { return a.path < b.path; });
  return files;
}

std::vector<Include> includes(const SourceFile& file) {
  static const std::regex line(R"re((?:^|\n)[ \t]*#[ \t]*include[ \t]*(["<])([^">]+)[">])re");
  std::vector<Include> found;
  for (std::sregex_iterator it(file.code.begin(), file.code.end(), line), end; it != end; ++it)
    found.push_back({(*it)[2], (*it)[1] == "\""});
  return found;
}

std::string room_of(const std::string& path) {
  std::string room;
  for (const auto& [name, ignored] : kDirections)
    if (is_under(path, name) && name.size() > room.size()) room = name;
  return room;
}

Complaints wrong_directions(const fs::path& root) {
  Complaints complaints;
  for (const SourceFile& file : sources(root)) {
    const std::string room = room_of(file.path);
    if (room.empty()) {
      complaints.push_back(file.path + " stands in no room of the table");
      continue;
    }
    for (const Include& include : includes(file)) {
      if (!include.quoted) continue;
      if (!fs::exists(root / include.name)) {
        complaints.push_back(file.path + " includes \"" + include.name + "\", which is no path from the top of the tree");
        continue;
      }
      const auto& allowed = kDirections.at(room);
      if (!is_under(include.name, room) &&
          std::none_of(allowed.begin(), allowed.end(), [&](const std::string& a) { return is_under(include.name, a); }))
        complaints.push_back(file.path + " includes \"" + include.name + "\", which " + room + " may not see");
    }
  }
  return complaints;
}

Complaints wrong_doors(const fs::path& root) {
  Complaints complaints;
  for (const SourceFile& file : sources(root)) {
    if (file.path.starts_with("tests/")) continue;
    for (const Include& include : includes(file)) {
      const bool is_standard = include.name.find_first_of("./") == std::string::npos;
      if (include.quoted || is_standard) continue;
      if (kSystem.contains(include.name) && !file.path.starts_with("core/")) continue;
      // The longest beginning that matches is the library meant.
      const std::vector<std::string>* door = nullptr;
      for (const auto& [header, modules] : kDoors)  // in order, so a longer beginning comes after its shorter one
        if (include.name.starts_with(header)) door = &modules;
      if (!door || !starts_with_any(file.path, *door))
        complaints.push_back(file.path + " may not include <" + include.name + ">");
    }
  }
  return complaints;
}

Complaints impure_core(const fs::path& root) {
  Complaints complaints;
  for (const SourceFile& file : sources(root)) {
    if (!file.path.starts_with("core/")) continue;
    for (const Include& include : includes(file))
      if (kNotInCore.contains(include.name))
        complaints.push_back(file.path + " includes <" + include.name + ">, which has no place in core/");
    std::smatch match;
    if (std::regex_search(file.code, match, kNotCalledInCore))
      complaints.push_back(file.path + " calls " + match.str() + "), which core/ never does");
  }
  return complaints;
}

Complaints clock_readers(const fs::path& root) {
  Complaints complaints;
  for (const SourceFile& file : sources(root))
    if (!starts_with_any(file.path, kMayAskTheClock) && std::regex_search(file.code, kAsksTheClock))
      complaints.push_back(file.path + " asks the clock; only service/base/clock does");
  return complaints;
}

Complaints long_files(const fs::path& root) {
  Complaints complaints;
  for (const SourceFile& file : sources(root))
    if (file.lines > kLongestFile)
      complaints.push_back(file.path + " has " + std::to_string(file.lines) + " lines; split it by ideas");
  return complaints;
}

Complaints headers_without_guard(const fs::path& root) {
  Complaints complaints;
  for (const SourceFile& file : sources(root))
    if (file.path.ends_with(".h") && file.code.find("#pragma once") == std::string::npos)
      complaints.push_back(file.path + " lacks #pragma once");
  return complaints;
}

// A source that no list names is neither built nor run.
Complaints forgotten_sources(const fs::path& root) {
  Complaints complaints;
  for (const SourceFile& file : sources(root)) {
    if (!file.path.ends_with(".cc")) continue;
    bool listed = false;
    for (fs::path folder = fs::path(file.path).parent_path(); !folder.empty() && !listed; folder = folder.parent_path()) {
      const std::string name = fs::path(file.path).lexically_relative(folder).generic_string();
      const fs::path list = root / folder / "CMakeLists.txt";
      listed = fs::exists(list) && file_bytes(list).find(name) != std::string::npos;
    }
    if (!listed) complaints.push_back(file.path + " is named in no CMakeLists.txt");
  }
  return complaints;
}

// Two types of one name in one namespace are one type to the linker, whatever they hold: what it makes of their vectors fits
// only one of them.
Complaints types_of_one_name(const fs::path& root) {
  static const std::regex type(R"(^(?:struct|class|enum class|enum) (\w+)(?: [^;]*)?\{.*)"),
      name_space(R"(^namespace ([\w:]+) \{.*)");
  Complaints complaints;
  std::map<std::string, std::string> seen;  // the file of each
  for (const SourceFile& file : sources(root)) {
    if (file.path.starts_with("tests/")) continue;
    std::ifstream lines(root / file.path);
    std::string where;
    bool is_own = false;  // in a nameless namespace
    std::smatch match;
    for (std::string line; std::getline(lines, line);) {
      if (std::regex_match(line, match, name_space)) where = match[1];
      if (line == "namespace {") is_own = true;
      if (line == "}  // namespace") is_own = false;
      if (is_own || !std::regex_match(line, match, type)) continue;
      const auto [other, is_new] = seen.emplace(where + "::" + match.str(1), file.path);
      if (!is_new && other->second != file.path)
        complaints.push_back(file.path + " has another " + other->first + " than " + other->second);
    }
  }
  return complaints;
}

Complaints strangers_on_top(const fs::path& root) {
  Complaints complaints;
  for (const auto& entry : fs::directory_iterator(root)) {
    const std::string name = entry.path().filename().string();
    const bool is_build_output = name == "build" || name.starts_with("build-");
    if (!name.starts_with('.') && !is_build_output && !kTopLevel.contains(name))
      complaints.push_back(name + " does not belong on the top level");
  }
  return complaints;
}

fs::path tree() { return fs::path(tests_folder()).parent_path(); }

std::string joined(const Complaints& complaints) {
  std::string text;
  for (const std::string& complaint : complaints) text += "\n  " + complaint;
  return text;
}

::testing::AssertionResult none(const Complaints& complaints) {
  if (complaints.empty()) return ::testing::AssertionSuccess();
  return ::testing::AssertionFailure() << joined(complaints);
}

TEST(Architecture, IncludesPointOneWay) { EXPECT_TRUE(none(wrong_directions(tree()))); }
TEST(Architecture, EachLibraryStandsBehindItsDoor) { EXPECT_TRUE(none(wrong_doors(tree()))); }
TEST(Architecture, CoreIsPure) { EXPECT_TRUE(none(impure_core(tree()))); }
TEST(Architecture, TheClockIsAskedInOnePlace) { EXPECT_TRUE(none(clock_readers(tree()))); }
TEST(Architecture, NoFileIsLong) { EXPECT_TRUE(none(long_files(tree()))); }
TEST(Architecture, EveryHeaderIsGuarded) { EXPECT_TRUE(none(headers_without_guard(tree()))); }
TEST(Architecture, NoSourceIsForgotten) { EXPECT_TRUE(none(forgotten_sources(tree()))); }
TEST(Architecture, NoTwoTypesHaveOneName) { EXPECT_TRUE(none(types_of_one_name(tree()))); }
TEST(Architecture, TheTopLevelIsFixed) { EXPECT_TRUE(none(strangers_on_top(tree()))); }

TEST(Architecture, TheTreeIsRead) {
  const std::vector<SourceFile> files = sources(tree());
  EXPECT_GT(files.size(), 20u);
  EXPECT_TRUE(std::any_of(files.begin(), files.end(),
                          [](const SourceFile& f) { return f.path == "core/base/quantity.h" && !includes(f).empty(); }));
}

// A small tree in which nothing is wrong until a test puts one wrong file into it.
class WrongTree : public ::testing::Test {
 protected:
  WrongTree() {
    dir_.write("core/base/time.h", "#pragma once\n#include <chrono>\n");
    dir_.write("core/fire/flame.h",
               "#pragma once\n#include \"core/base/time.h\"\n// std::chrono::system_clock::now() and <thread> in a comment\n");
    dir_.write("ingest/format/netcdf_file.cc", "#include <netcdf.h>\n#include \"core/base/time.h\"\n");
    dir_.write("service/cli/table.cc", "#include <boost/json.hpp>\n#include <fmt/format.h>\n#include \"core/fire/flame.h\"\n");
    dir_.write("core/fire/spread.cc",
               "namespace hakea::core {\nnamespace {\nstruct Flame {\n};\n}  // namespace\n}  // namespace hakea::core\n");
    dir_.write("core/CMakeLists.txt", "fire/a.cc fire/spread.cc base/a.cc cellar/a.cc");
    dir_.write("ingest/CMakeLists.txt", "format/netcdf_file.cc run/a.cc");
    dir_.write("service/CMakeLists.txt", "cli/table.cc cli/a.cc");
  }

  Complaints all() const {
    Complaints found;
    for (const auto check : {wrong_directions, wrong_doors, impure_core, clock_readers, long_files, headers_without_guard,
                             forgotten_sources, types_of_one_name, strangers_on_top})
      for (std::string& complaint : check(dir_.path())) found.push_back(std::move(complaint));
    return found;
  }

  // The one complaint about a tree into which this file was put.
  std::string complaint_with(const std::string& path, const std::string& text) const {
    dir_.write(path, text);
    const Complaints found = all();
    fs::remove(dir_.path() / path);
    EXPECT_EQ(found.size(), 1u) << joined(found);
    return found.empty() ? "" : found.front();
  }

  TempDir dir_;
};

TEST_F(WrongTree, IsRightToBeginWith) { EXPECT_TRUE(none(all())); }

TEST_F(WrongTree, BaseMayNotSeeFire) {
  EXPECT_EQ(complaint_with("core/base/a.cc", "#include \"core/fire/flame.h\"\n"),
            "core/base/a.cc includes \"core/fire/flame.h\", which core/base may not see");
}

TEST_F(WrongTree, IngestMayNotSeeFire) {
  EXPECT_EQ(complaint_with("ingest/run/a.cc", "  #  include \"core/fire/flame.h\"\n"),
            "ingest/run/a.cc includes \"core/fire/flame.h\", which ingest may not see");
}

TEST_F(WrongTree, CoreMayNotSeeIngest) {
  dir_.write("ingest/feed.h", "#pragma once\n");
  EXPECT_EQ(complaint_with("core/fire/a.cc", "#include \"ingest/feed.h\"\n"),
            "core/fire/a.cc includes \"ingest/feed.h\", which core/fire may not see");
}

TEST_F(WrongTree, IncludesAreWrittenFromTheTop) {
  EXPECT_EQ(complaint_with("core/fire/a.cc", "#include \"flame.h\"\n"),
            "core/fire/a.cc includes \"flame.h\", which is no path from the top of the tree");
}

TEST_F(WrongTree, NewRoomsAreEnteredInTheTable) {
  EXPECT_EQ(complaint_with("core/cellar/a.cc", ""), "core/cellar/a.cc stands in no room of the table");
}

TEST_F(WrongTree, LibrariesAreNotSeenThroughOtherDoors) {
  EXPECT_EQ(complaint_with("service/cli/a.cc", "#include <netcdf.h>\n"), "service/cli/a.cc may not include <netcdf.h>");
  EXPECT_EQ(complaint_with("service/cli/a.cc", "#include <boost/asio.hpp>\n"),
            "service/cli/a.cc may not include <boost/asio.hpp>");
  EXPECT_EQ(complaint_with("ingest/run/a.cc", "#include <boost/json.hpp>\n"), "ingest/run/a.cc may not include <boost/json.hpp>");
  EXPECT_EQ(complaint_with("service/cli/a.cc", "#include <never/heard.h>\n"), "service/cli/a.cc may not include <never/heard.h>");
  EXPECT_EQ(complaint_with("core/fire/a.cc", "#include <fmt/format.h>\n"), "core/fire/a.cc may not include <fmt/format.h>");
  EXPECT_EQ(complaint_with("core/fire/a.cc", "#include <unistd.h>\n"), "core/fire/a.cc may not include <unistd.h>");
}

TEST_F(WrongTree, CoreHasNoThreadsFilesOrEnvironment) {
  EXPECT_EQ(complaint_with("core/fire/a.cc", "#include <thread>\n"),
            "core/fire/a.cc includes <thread>, which has no place in core/");
  EXPECT_EQ(complaint_with("core/fire/a.cc", "auto x = std::getenv(\"A\");\n"),
            "core/fire/a.cc calls getenv(), which core/ never does");
  EXPECT_EQ(complaint_with("core/fire/a.cc", "int x = rand ();\n"), "core/fire/a.cc calls rand (), which core/ never does");
}

TEST_F(WrongTree, TheClockIsNotAskedElsewhere) {
  EXPECT_EQ(complaint_with("service/cli/a.cc", "auto t = std::chrono::system_clock::now();\n"),
            "service/cli/a.cc asks the clock; only service/base/clock does");
}

TEST_F(WrongTree, TwoTypesOfOneNameAreSeen) {
  dir_.write("core/fire/flame.h", "#pragma once\nnamespace hakea::core {\nstruct Flame {\n  int a;\n};\n}\n");
  EXPECT_EQ(complaint_with("core/fire/a.cc", "namespace hakea::core {\nclass Flame {\n  double a;\n};\n}\n"),
            "core/fire/flame.h has another hakea::core::Flame than core/fire/a.cc");
}

TEST_F(WrongTree, LongUnguardedForgottenAndStrangeFilesAreSeen) {
  EXPECT_EQ(complaint_with("core/fire/a.cc", std::string(601, '\n')), "core/fire/a.cc has 601 lines; split it by ideas");
  EXPECT_EQ(complaint_with("core/fire/a.h", "// #pragma once\n"), "core/fire/a.h lacks #pragma once");
  EXPECT_EQ(complaint_with("core/fire/b.cc", ""), "core/fire/b.cc is named in no CMakeLists.txt");
  EXPECT_EQ(complaint_with("Makefile", ""), "Makefile does not belong on the top level");
}

}  // namespace
}  // namespace hakea::test
