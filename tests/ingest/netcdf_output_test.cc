#include "ingest/format/netcdf_output.h"

#include <gtest/gtest.h>

#include "ingest/format/netcdf_file.h"
#include "tests/support/temp_dir.h"

namespace hakea::ingest {
namespace {

using test::TempDir;

std::size_t files_in(const TempDir& folder) {
  return static_cast<std::size_t>(
      std::distance(std::filesystem::directory_iterator(folder.path()), std::filesystem::directory_iterator()));
}

TEST(NetcdfOutput, IsReadBackAsItWasWritten) {
  const TempDir folder;
  NetcdfOutput output(folder.path() / "a.nc");
  output.attribute("title", "a test");
  const int y = output.dimension("y", 2), x = output.dimension("x", 3);
  const int plain = output.variable("plain", {y}, {{"units", "m"}});
  const int packed = output.variable("packed", {y, x}, {{"units", "K"}}, {2, 3}, {0.01, 280});
  const std::vector<double> heights{1.25, -3}, temperatures{279.99, 280, 280.01, 100, 290.123, 300};
  output.write(plain, heights);
  output.write(packed, temperatures);
  const auto path = output.close();
  ASSERT_TRUE(path);
  EXPECT_EQ(files_in(folder), 1u);

  const auto file = NetcdfFile::open(path->string());
  ASSERT_TRUE(file);
  const auto read = file->read_all(*file->find("plain"));
  ASSERT_TRUE(read);
  EXPECT_EQ(*read, heights);
  const Variable& variable = file->variables()[*file->find("packed")];
  EXPECT_EQ(variable.type, ValueType::int16);
  EXPECT_EQ(variable.text("units"), "K");
  const auto raw = file->read_all(*file->find("packed"));
  ASSERT_TRUE(raw);
  for (std::size_t i = 0; i < temperatures.size(); ++i)
    EXPECT_NEAR((*raw)[i] * *variable.number("scale_factor") + *variable.number("add_offset"), temperatures[i], 0.005 + 1e-9);
}

TEST(NetcdfOutput, ThatFailsSaysSoAndLeavesNothing) {
  const TempDir folder;
  NetcdfOutput output(folder.path() / "a.nc");
  const int packed = output.variable("packed", {output.dimension("x", 1)}, {}, {1}, {0.01, 280});
  output.write(packed, std::vector<double>{10000});
  const auto path = output.close();
  ASSERT_FALSE(path);
  EXPECT_EQ(path.error().code, "unwritable");
  EXPECT_NE(path.error().what.find("10000"), std::string::npos);
  EXPECT_EQ(files_in(folder), 0u);
}

TEST(NetcdfOutput, NeedsAFolder) {
  const TempDir folder;
  NetcdfOutput output(folder.path() / "none" / "a.nc");
  output.write(output.variable("v", {output.dimension("x", 1)}, {}), std::vector<double>{1});
  EXPECT_FALSE(output.close());
}

TEST(NetcdfOutput, ThatIsGivenUpLeavesNothing) {
  const TempDir folder;
  { NetcdfOutput output(folder.path() / "a.nc"); }
  EXPECT_EQ(files_in(folder), 0u);
}

}  // namespace
}  // namespace hakea::ingest
