// The table of all real weather files: what was expected of each before the reader was tried, and what it makes of it.
#include "tests/support/feed_files.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "ingest/inspect.h"

namespace hakea::ingest {
namespace {

using test::FeedFile;

class FeedFiles : public ::testing::TestWithParam<FeedFile> {
 protected:
  void SetUp() override {
    if (test::shared_folder().empty()) GTEST_SKIP() << "the weather files are not beside the checkout";
  }
  static Inspection look(const FeedFile& row, const Feed& feed) {
    return inspect(feed, test::shared_folder() + "/feeds/" + row.file, {}, {});
  }
  static std::string told(const Inspection& i) {
    std::string text;
    for (const Refusal& r : i.refused) text += r.variable + ": " + r.why + "; " + r.hint + "\n";
    return text;
  }
};

TEST_P(FeedFiles, IsWhatTheTableSays) {
  const FeedFile& row = GetParam();
  const Inspection plain = look(row, {});
  EXPECT_EQ(plain.accepted, row.is_accepted()) << told(plain);
  for (const Refusal& r : plain.refused) {
    EXPECT_FALSE(r.why.empty()) << r.variable;
    EXPECT_FALSE(r.hint.empty()) << r.variable << ": " << r.why;
    // What is offered for pasting into a feed can be pasted.
    const auto begin = r.hint.find("aliases = {"), end = r.hint.find('}', begin);
    if (begin == std::string::npos || r.hint.find("KEY", begin) < end) continue;
    const auto pasted = parse_feed(r.hint.substr(begin, end + 1 - begin), "pasted.toml");
    EXPECT_TRUE(pasted) << r.hint << (pasted ? "" : pasted.error().what);
  }
  if (!plain.accepted) {
    EXPECT_FALSE(plain.refused.empty());
    EXPECT_FALSE(row.why.empty()) << "a refusal has a reason";
  }
  if (!row.says.empty()) {
    EXPECT_NE(told(plain).find(row.says), std::string::npos) << "should say \"" << row.says << "\", says:\n" << told(plain);
  }
}

TEST_P(FeedFiles, IsTakenWithTheAliasesOfTheTable) {
  const FeedFile& row = GetParam();
  if (row.aliases.empty()) return;
  const Inspection i = look(row, row.feed());
  EXPECT_TRUE(i.accepted) << told(i);
  for (const auto& [variable, alias] : row.aliases) {
    const std::string quantity = alias.substr(0, alias.find(" ["));
    EXPECT_TRUE(std::any_of(i.variables.begin(), i.variables.end(),
                            [&](const auto& v) { return v.name == variable && v.quantity == quantity; }))
        << variable << " is not " << quantity << "\n"
        << told(i);
  }
}

INSTANTIATE_TEST_SUITE_P(All, FeedFiles, ::testing::ValuesIn(test::feed_files()),
                         [](const auto& row) { return test::test_name(row.param.file); });

TEST(FeedFilesTable, NamesEveryFileOfTheFolderAndNoOther) {
  if (test::shared_folder().empty()) GTEST_SKIP() << "the weather files are not beside the checkout";
  const std::filesystem::path folder = test::shared_folder() + "/feeds";
  std::set<std::string> there, named;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder))
    if (entry.is_regular_file() && entry.path().filename() != "MANIFEST.md")
      there.insert(std::filesystem::relative(entry.path(), folder).string());
  int data = 0, accepted = 0, with_aliases = 0;
  for (const FeedFile& row : test::feed_files()) {
    EXPECT_TRUE(named.insert(row.file).second) << row.file << " stands twice in the table";
    EXPECT_TRUE(row.found.empty() || row.found.find(": ") != std::string::npos) << row.file << ": say why";
    data += row.is_data();
    accepted += row.is_accepted();
    with_aliases += !row.is_accepted() && !row.aliases.empty();
  }
  EXPECT_EQ(there, named);
  RecordProperty("NetCDF and GRIB files", data);
  RecordProperty("accepted as they are", accepted);
  RecordProperty("accepted with aliases", with_aliases);
  EXPECT_GE(accepted, 47);
  EXPECT_GE(accepted + with_aliases, 70);
}

}  // namespace
}  // namespace hakea::ingest
