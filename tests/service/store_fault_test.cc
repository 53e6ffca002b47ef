// A disk that fails at every single write, truncation and fsync of a store's short life; the long life stands in
// store_long_fault_test.cc.
#include <gtest/gtest.h>

#include "tests/support/store_script.h"
#include "tests/support/temp_dir.h"

namespace hakea::test {
namespace {

// A script that writes less than this does not do what it is for.
constexpr int kFewestPlaces = 80;

TEST(FaultyDisk, LosesNothingWhenOneOperationFails) { EXPECT_GT(expect_nothing_lost(a_day(), Fault::once), kFewestPlaces); }
TEST(FaultyDisk, LosesNothingWhenAllFailFromOneOn) { EXPECT_GT(expect_nothing_lost(a_day(), Fault::broken), kFewestPlaces); }
TEST(FaultyDisk, LosesNothingWhenItIsFull) { EXPECT_GT(expect_nothing_lost(a_day(), Fault::full), kFewestPlaces / 2); }
TEST(FaultyDisk, LosesNothingWhenThePowerFails) { EXPECT_GT(expect_nothing_lost(a_day(), Fault::power), kFewestPlaces); }

TEST(FaultyDisk, LeavesTheStoreSayingWhatIsWrong) {
  FaultyDisk disk(Fault::full, 200);
  TempDir folder;
  auto store = service::Store::open(folder.path(), UtcTime());
  ASSERT_TRUE(store);
  Result<bool> last = true;
  for (int i = 0; last && i < 400; ++i) last = (*store)->set_note("key", std::string(3000, 'x'));
  ASSERT_FALSE(last);
  EXPECT_EQ(last.error().code, "disk_full");
  EXPECT_NE((*store)->trouble().find("the disk is full; nothing was stored"), std::string::npos) << (*store)->trouble();
  EXPECT_TRUE((*store)->note("key")->has_value()) << "reading goes on";
}

}  // namespace
}  // namespace hakea::test
