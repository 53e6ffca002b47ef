// Damaged texts from outside: whatever stands in them, a reader answers with a value or with errors that say something.
// (Crashes and undefined behaviour are what the sanitizers look for while this runs.) Units, times, weather tables and the
// beginnings of forecast files are the fuzz targets beside this.
#include <gtest/gtest.h>

#include <functional>
#include <string>

#include "ingest/feed.h"
#include "service/input/district_json.h"
#include "service/input/fuel_table.h"
#include "service/input/unit_json.h"
#include "tests/fuzz/damage.h"
#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"

namespace hakea::test {
namespace {

constexpr int kRounds = 3000;

std::string example(const std::string& name) { return file_bytes(tests_folder() + "/../config/" + name); }

// `read` gives the errors of a text, none when it was taken.
void survives(const std::string& text, const std::function<Errors(const std::string&)>& read) {
  const auto* test = ::testing::UnitTest::GetInstance()->current_test_info();
  Damage damage(test->name());  // the seed
  ASSERT_TRUE(read(text).empty()) << "the undamaged text is refused: " << read(text).front().what;
  int refused = 0;
  for (int round = 0; round < kRounds; ++round) {
    const std::string damaged = damage.of(text);
    const Errors errors = read(damaged);
    refused += errors.empty() ? 0 : 1;
    for (const Error& error : errors)
      ASSERT_FALSE(error.code.empty() || error.what.empty()) << "round " << round << ": an error that says nothing, of\n"
                                                             << damaged;
  }
  EXPECT_GT(refused, 0);
}

template <class T>
Errors errors_of(const Result<T>& result) {
  return result ? Errors{} : result.errors();
}

TEST(DamagedText, UnitsAreReadOrRefused) {
  survives(example("examples/tallowmere/units.geojson"),
           [](const std::string& text) { return errors_of(service::parse_units(text, service::built_in_fuels())); });
}

TEST(DamagedText, DistrictsAreReadOrRefused) {
  survives(R"({"district":{"id":"d","name":"D","holidays":[{"from":"2027-04-02","to":"2027-04-05","name":"Easter"}]},
               "stops":[{"scope":{"district":"d"},"from":"2027-04-03","to":"2027-04-04","kind":"event","why":"festival"}]})",
           [](const std::string& text) { return errors_of(service::parse_district(text)); });
}

TEST(DamagedText, FuelTablesAreReadOrRefused) {
  survives(example("fuels.toml"),
           [](const std::string& text) { return errors_of(service::parse_fuel_table(text, "fuels.toml")); });
}

TEST(DamagedText, FeedsAreReadOrRefused) {
  survives(
      "path = \"/data\"\npattern = \"*.nc\"\nhours = \"0/90/1\"\nquantities = [\"air_temperature\"]\nsettle_s = "
      "60\n[aliases]\nT2 = \"air_temperature [K]\"\n",
      [](const std::string& text) { return errors_of(ingest::parse_feed(text, "feed.toml")); });
}

}  // namespace
}  // namespace hakea::test
