// As store_fault_test.cc with runs so large that their pages spill into the log before the commit and the log is written
// back on the way.
#include <gtest/gtest.h>

#include "tests/support/store_script.h"

namespace hakea::test {
namespace {

constexpr int kDays = 3, kStride = 13, kFewestPlaces = 150;

TEST(FaultyDiskOfAMonth, LosesNothingWhenOneOperationFails) {
  EXPECT_GT(expect_nothing_lost(a_month(kDays), Fault::once, kStride), kFewestPlaces);
}
TEST(FaultyDiskOfAMonth, LosesNothingWhenAllFailFromOneOn) {
  EXPECT_GT(expect_nothing_lost(a_month(kDays), Fault::broken, kStride), kFewestPlaces);
}
TEST(FaultyDiskOfAMonth, LosesNothingWhenItIsFull) {
  EXPECT_GT(expect_nothing_lost(a_month(kDays), Fault::full, kStride), kFewestPlaces);
}
TEST(FaultyDiskOfAMonth, LosesNothingWhenThePowerFails) {
  EXPECT_GT(expect_nothing_lost(a_month(kDays), Fault::power, kStride), kFewestPlaces);
}

}  // namespace
}  // namespace hakea::test
