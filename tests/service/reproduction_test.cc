// Published numbers out of the built program: what anyone can check with a weather table and `assess --hours`.
//
// The program keeps every value as float32 (a relative step of 1.2e-7, so a rounding of at most 6e-8), and a table's cells
// are rounded likewise when they are read.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <sstream>

#include "tests/service/program.h"
#include "tests/support/case_file.h"
#include "tests/support/file_bytes.h"

namespace hakea::service {
namespace {

using namespace std::chrono;

// A table of cells as the program prints and reads them.
struct Table {
  std::vector<std::string> names;
  std::vector<std::vector<std::string>> rows;

  explicit Table(const std::string& text) {
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);)
      if (names.empty())
        names = test::split_csv(line);
      else if (!line.empty())
        rows.push_back(test::split_csv(line));
  }
  // Numbers of the column of a quantity, NaN where missing.
  std::vector<double> column(std::string_view key) const {
    const auto name = std::find_if(names.begin(), names.end(), [&](const std::string& n) {
      return n.starts_with(key) && (n == key || n[key.size()] == ' ');
    });
    if (name == names.end()) throw std::runtime_error("the output has no column " + std::string(key));
    std::vector<double> values;
    for (const auto& row : rows) {
      const std::string& cell = row.at(static_cast<std::size_t>(name - names.begin()));
      values.push_back(cell.empty() ? std::nan("") : std::stod(cell));
    }
    return values;
  }
};

std::string clock(sys_seconds t) {
  const auto date = floor<days>(t);
  const year_month_day d(date);
  return fmt::format("{:04}-{:02}-{:02}T{:02}:00:00Z", int(d.year()), unsigned(d.month()), unsigned(d.day()),
                     duration_cast<hours>(t - date).count());
}

class Reproduction : public Program {
 protected:
  // A unit that is a point, in a zone without summer time, with further properties.
  static std::string point(const std::string& properties, double latitude = -37, const std::string& zone = "Etc/UTC") {
    return fmt::format(
        R"({{"type":"Feature","id":"a","geometry":{{"type":"Point","coordinates":[0,{}]}},"properties":{{"time_zone":"{}",{},"prescription":{{"limits":[]}}}}}})",
        latitude, zone, properties);
  }

  Table hours(const std::string& unit, const std::string& weather, const std::string& quantities) {
    const Outcome o = run(fmt::format("assess --units {} --weather {} --hours --quantities {} --format csv",
                                      write("u.json", unit), write("w.csv", weather), quantities));
    EXPECT_EQ(o.code, 0) << o.err;
    return Table(o.out);
  }
};

// The test series of the Canadian system: Van Wagner & Pickett 1985, Forestry Tech. Rep. 33, in double precision as the
// open climate library xclim keeps it (its test data); the second pass goes on from the end of the first. Noon weather is
// given at noon, the rain of the 24 hours to noon in the hour before.
//
// Tolerance 1e-6 of the value, as published implementations are held to each other: the program comes to 1.1e-7, the
// rounding of its cells and of its answer.
TEST_F(Reproduction, The48DaysOfVanWagnerAndPickettTwice) {
  const Table published(test::file_bytes(test::tests_folder() + "/data/vwp85_fwi.csv"));
  ASSERT_EQ(published.rows.size(), 96U);
  const std::vector<std::string> codes{"ffmc", "dmc", "dc", "isi", "bui", "fwi"};
  std::map<std::string, std::vector<double>> expected;
  for (const std::string& code : codes) expected[code] = published.column(code);
  const auto air = published.column("temp_c"), humidity = published.column("rh_pct"), wind = published.column("wind_kmh"),
             rain = published.column("rain_mm");
  const sys_days first = year(1985) / 4 / 13;
  for (const std::size_t pass : {0u, 1u}) {
    std::string weather = "time_utc,air_temperature [Cel],relative_humidity [%],wind_speed [km/h],precipitation_amount [mm]\n";
    // From noon of the day before the first; the rain of the 24 hours to noon in the last of them.
    for (std::size_t h = 0; h <= 48 * 24; ++h) {
      const bool is_noon = h > 0 && h % 24 == 0;
      const std::size_t day = 48 * pass + (is_noon ? h / 24 - 1 : h / 24);
      weather += fmt::format("{},{},{},{},{}\n", clock(first - std::chrono::hours(12) + std::chrono::hours(h)),
                             is_noon ? fmt::format("{}", air[day]) : "", is_noon ? fmt::format("{}", humidity[day]) : "",
                             is_noon ? fmt::format("{}", wind[day]) : "", h % 24 == 23 ? rain[day] : 0);
    }
    const std::string state = pass == 0 ? R"({"as_of":"1985-04-12","ffmc":85,"dmc":6,"dc":15})"
                                        : fmt::format(R"({{"as_of":"1985-04-12","ffmc":{:.17g},"dmc":{:.17g},"dc":{:.17g}}})",
                                                      expected["ffmc"][47], expected["dmc"][47], expected["dc"][47]);
    const Table ours = hours(point("\"initial_state\":" + state, 46), weather, "ffmc,dmc,dc,isi,bui,fwi");
    ASSERT_EQ(ours.rows.size(), 48U * 24 + 1);
    for (const std::string& code : codes) {
      const auto values = ours.column(code);
      for (std::size_t day = 0; day < 48; ++day) {
        const double want = expected[code][48 * pass + day], got = values[(day + 1) * 24];
        EXPECT_NEAR(got, want, 1e-6 * want) << code << " of day " << day << " in pass " << pass + 1;
      }
    }
  }
}

// Rain and highest temperature of ten rain days, as hours from 09:00 on.
std::string ten_days(const std::vector<double>& rain, const std::vector<double>& highest) {
  std::string weather = "time_utc,air_temperature [Cel],precipitation_amount [mm]\n";
  const sys_seconds first = sys_days(year(2026) / 6 / 1) + std::chrono::hours(9);
  for (int h = 0; h <= 240; ++h) {
    const auto day = static_cast<std::size_t>(std::min(h / 24, 9));
    weather += fmt::format("{},{},{}\n", clock(first + std::chrono::hours(h)), h % 24 == 5 ? highest[day] : highest[day] - 8,
                           h < 240 && h % 24 == 12 ? rain[day] : 0);
  }
  return weather;
}

// Keetch-Byram index after ten days, calculated by hand after Finkele et al. 2006 for the tests of the open climate library
// xclim (tests/test_ffdi.py). Its series of 100 degC is no weather and not repeated. Days of less than 0.2 mm count as dry
// here and as wet there; what a spell of wet days leaves depends on its sum alone, so the 0.1 mm of the third day is given
// together with the 6 mm of the fourth. Half a unit of the hand values' last place, and float32.
TEST_F(Reproduction, TheHandSeriesOfTheKeetchByramIndex) {
  const std::vector<double> showers{10, 0, 0, 6.1, 0, 0, 0.5, 0.3, 0, 1}, dry(10, 0), wet(10, 100);
  const std::vector<double> warm(10, 30), changing{20, 30, 20, 30, 30, 25, 40, 35, 20, 20}, cold(10, 0);
  struct Row {
    const std::vector<double>*rain, *highest;
    double annual, start, end;
  };
  const Row rows[]{{&wet, &cold, 1, 0, 0},
                   {&showers, &warm, 1, 0, 7.25278},
                   {&dry, &changing, 1, 0, 8.46632},
                   {&showers, &changing, 1, 0, 7.10174},
                   {&showers, &changing, 1, 10, 12.18341},
                   {&showers, &changing, 100, 0, 8.45569},
                   {&showers, &changing, 1, 203.2, 197.33375}};
  for (const Row& row : rows) {
    const std::string unit =
        point(fmt::format(R"("annual_rain_mm":{},"initial_state":{{"as_of":"2026-06-01","kbdi":{}}})", row.annual, row.start));
    const auto kbdi = hours(unit, ten_days(*row.rain, *row.highest), "kbdi").column("kbdi");
    ASSERT_EQ(kbdi.size(), 241U);
    EXPECT_NEAR(kbdi.front(), row.start, 1e-5);
    EXPECT_NEAR(kbdi.back(), row.end, 1e-5 + 6e-8 * row.end) << "from " << row.start << " with " << row.annual << " mm a year";
  }
}

// The forest index against its second published form, D^0.987 exp(0.0338 T - 0.0345 H + 0.0234 V + 0.243147) (xclim, after
// Noble, Bary & Gill 1980), over the box of its inputs. The two agree to 2e-7 by their constants.
TEST_F(Reproduction, TheForestIndexInItsSecondFormOverTheWholeBox) {
  std::string weather = "time_utc,drought_factor [1],air_temperature [Cel],relative_humidity [%],wind_speed [km/h]\n";
  std::vector<double> expected;
  sys_seconds t = sys_days(year(2026) / 1 / 1);
  for (int d = 1; d <= 10; ++d)
    for (int air = 0; air <= 45; air += 5)
      for (int humidity = 5; humidity <= 100; humidity += 5)
        for (int wind = 0; wind <= 80; wind += 10) {
          weather += fmt::format("{},{},{},{},{}\n", clock(t), d, air, humidity, wind);
          t += std::chrono::hours(1);
          expected.push_back(std::pow(d, 0.987) * std::exp(0.0338 * air - 0.0345 * humidity + 0.0234 * wind + 0.243147));
        }
  const auto ffdi = hours(point("\"annual_rain_mm\":800"), weather, "ffdi").column("ffdi");
  ASSERT_EQ(ffdi.size(), expected.size());
  double worst = 0;
  for (std::size_t i = 0; i < ffdi.size(); ++i) worst = std::max(worst, std::abs(ffdi[i] / expected[i] - 1));
  EXPECT_LT(worst, 1e-6);
}

// Litter in unchanging air without sun or rain, from wet and from dry, against the equilibrium of Van Wagner 1972 (values of
// an independent script) approached by the definition of the time lag (Fosberg & Deeming 1971): m(t) = E + (m0 - E) exp(-t/lag).
// The equilibria are given to 1e-4.
TEST_F(Reproduction, LitterDriesAndWetsToItsEquilibrium) {
  struct Air {
    double air, humidity, drying, wetting;
  };
  struct Fuel {
    const char* type;
    double lag_h;
  };
  for (const Air& air : {Air{25, 30, 8.8149, 7.3326}, Air{20, 50, 13.6884, 12.0222}, Air{15, 80, 21.0473, 19.2013}})
    for (const Fuel& fuel : {Fuel{"dry-eucalypt-forest", 2}, Fuel{"wet-eucalypt-forest", 4}})
      for (const double start : {120.0, 2.0}) {
        const double end = start > air.drying ? air.drying : air.wetting;
        std::string weather =
            "time_utc,air_temperature [Cel],relative_humidity [%],precipitation_amount [mm],wind_speed [km/h],"
            "shortwave_radiation [W/m2],litter_moisture [%],litter_moisture_sheltered [%]\n";
        const sys_seconds first = sys_days(year(2026) / 6 / 1);
        for (int h = 0; h < 96; ++h)
          weather += fmt::format("{},{},{},0,5,0,{}\n", clock(first + std::chrono::hours(h)), air.air, air.humidity,
                                 h == 0 ? fmt::format("{},{}", start, start) : ",");
        const Table ours = hours(point(fmt::format(R"("slope_deg":0,"fuel":{{"type":"{}"}})", fuel.type)), weather,
                                 "litter_moisture,litter_moisture_sheltered");
        const auto litter = ours.column("litter_moisture"), sheltered = ours.column("litter_moisture_sheltered");
        ASSERT_EQ(litter.size(), 96U);
        for (std::size_t h = 0; h < 96; ++h) {
          const double want = end + (start - end) * std::exp(-static_cast<double>(h) / fuel.lag_h);
          EXPECT_NEAR(litter[h], want, 2e-4) << fuel.type << " from " << start << " after " << h << " h";
          EXPECT_NEAR(sheltered[h], want, 2e-4) << fuel.type << " without sun there is no difference";
        }
        EXPECT_NEAR(litter.back(), end, 2e-4);
      }
}

}  // namespace
}  // namespace hakea::service
