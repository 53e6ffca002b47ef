// Damaged texts from outside: whatever stands in them, a reader answers with a value or with errors that say something.
// (Crashes and undefined behaviour are what the sanitizers look for while this runs.)
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdint>
#include <fstream>
#include <functional>
#include <random>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "ingest/cf/time_axis.h"
#include "ingest/cf/units.h"
#include "ingest/feed.h"
#include "ingest/station/weather_csv.h"
#include "service/input/district_json.h"
#include "service/input/fuel_table.h"
#include "service/input/unit_json.h"
#include "tests/support/case_file.h"

// UDUNITS forgets the last word it read of a text that is no unit: a few bytes, which are not ours to give back.
// NOLINTNEXTLINE(bugprone-reserved-identifier): the name that the sanitizer asks for
extern "C" const char* __lsan_default_suppressions() { return "leak:utlex\n"; }

namespace hakea::test {
namespace {

constexpr int kRounds = 3000;

std::string text_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  EXPECT_TRUE(in) << path;
  std::ostringstream read;
  read << in.rdbuf();
  return read.str();
}

std::string example(const std::string& name) { return text_of(tests_folder() + "/../config/" + name); }

// A text with one to four wounds of the kinds that editors, networks and people make.
class Damage {
 public:
  explicit Damage(const std::string& seed_text) {
    std::seed_seq seed(seed_text.begin(), seed_text.end());
    random_.seed(seed);
  }

  std::string of(std::string text) {
    for (std::size_t wounds = 1 + below(4); wounds > 0; --wounds) {
      const std::size_t at = below(text.size() + 1);
      const std::size_t length = std::min(below(20), text.size() - at);
      switch (below(6)) {
        case 0: text.erase(at, length); break;
        case 1: text.insert(at, text.substr(at, length)); break;
        case 2: text.insert(at, 1, static_cast<char>(below(256))); break;
        case 3: text.resize(at); break;
        case 4: text.replace(at, length, odd_words_[below(odd_words_.size())]); break;
        default:
          if (at < text.size()) text[at] = static_cast<char>(text[at] ^ (1 << below(8)));
      }
    }
    return text;
  }

 private:
  std::size_t below(std::size_t n) { return std::uniform_int_distribution<std::size_t>(0, n - 1)(random_); }

  std::mt19937_64 random_;
  const std::vector<std::string> odd_words_ = {"",           "null",
                                               "1e999",      "-1e-999",
                                               "NaN",        "9223372036854775808",
                                               "\"",         "{",
                                               "}",          "[[[[[[[[",
                                               "]",          ",",
                                               ":",          "2027-02-30",
                                               "24:01",      "0000-00-00T00:00:00Z",
                                               "\\u0000",    "\xff\xfe",
                                               "-0",         "true",
                                               "%",          "[Cel]",
                                               "1970-01-01", "99999999999999999999",
                                               "\n",         "=",
                                               "#",          "//"};
};

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

TEST(DamagedText, WeatherTablesAreReadOrRefused) {
  const auto unit_of = [](std::string_view key) {
    const auto row = core::find_quantity(key);
    return row ? std::string(core::catalogue()[*row].unit) : std::string();
  };
  const std::string whole = example("examples/tallowmere/weather.csv");
  survives(whole.substr(0, whole.find('\n', 2000) + 1),
           [&](const std::string& text) { return errors_of(ingest::read_weather_csv(text, "weather.csv", unit_of)); });
}

TEST(DamagedText, TimeUnitsAreReadOrRefused) {
  survives("hours since 1900-01-01 00:00:0.0 +10:00",
           [](const std::string& text) { return errors_of(ingest::parse_time_unit(text, "standard")); });
}

TEST(DamagedText, UnitStringsAreReadOrRefused) {
  survives("kg m**-2 s-1",
           [](const std::string& text) { return errors_of(ingest::conversion_to(core::Fed::precipitation_amount, text)); });
}

}  // namespace
}  // namespace hakea::test
