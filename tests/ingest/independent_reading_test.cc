// What the program reads from the real weather files against what independent_reading.py read: times, variables, ranges over
// all cells, and values at places and times chosen by chance.
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <set>

#include "ingest/cf/time_axis.h"
#include "ingest/inspect.h"
#include "tests/support/feed_files.h"

namespace hakea::ingest {
namespace {

using test::FeedFile;

class IndependentReading : public ::testing::TestWithParam<FeedFile> {
 protected:
  void SetUp() override {
    if (test::shared_folder().empty()) GTEST_SKIP() << "the weather files are not beside the checkout";
    const auto all = test::independent_reading();
    const auto found = all.find(GetParam().file);
    ASSERT_NE(found, all.end()) << "independent_reading.py does not read this file";
    reads_ = found->second;
    path_ = test::shared_folder() + "/feeds/" + GetParam().file;
    const auto plan = plan_run(feed_, {path_}, {});
    ASSERT_TRUE(plan) << plan.error().what;
    for (const UtcTime t : plan->steps) steps_.push_back(utc_text(t));
  }
  // Values stand in double there, in float32 here, as do the weights of cells; places in GRIB are printed to a millionth.
  static double tolerance(double expected) { return 1e-5 * std::max(10.0, std::abs(expected)); }

  const Feed feed_ = GetParam().feed();
  std::string path_;
  std::vector<test::IndependentValue> reads_;
  std::vector<std::string> steps_;
};

TEST_P(IndependentReading, HasTheSameTimesVariablesAndRanges) {
  const Inspection i = inspect(feed_, path_, {}, {});
  ASSERT_FALSE(steps_.empty());
  std::set<std::string> kinds;
  for (const test::IndependentValue& r : reads_) {
    kinds.insert(r.what);
    if (r.what == "times") {
      if (r.name == "first") {
        EXPECT_EQ(steps_.front(), r.value);
      } else if (r.name == "last") {
        EXPECT_EQ(steps_.back(), r.value);
      } else {
        EXPECT_EQ(std::to_string(steps_.size()), r.value);
      }
    }
    const auto is_it = [&](const Inspection::Variable& v) {
      return r.what == "variable" ? v.name == r.name : v.quantity == r.name;
    };
    const auto v = std::find_if(i.variables.begin(), i.variables.end(), is_it);
    if (r.what == "variable") {
      ASSERT_NE(v, i.variables.end()) << r.name;
      EXPECT_EQ(v->quantity, r.value) << r.name;
    } else if (r.what == "range") {
      ASSERT_NE(v, i.variables.end()) << r.name;
      const double expected = std::stod(r.value), ours = (r.time == "least" ? v->min : v->max).value_or(std::nan(""));
      EXPECT_NEAR(ours, expected, tolerance(expected)) << r.name << ' ' << r.time;
    }
  }
  EXPECT_EQ(kinds.count("times") + kinds.count("variable") + kinds.count("range"), 3U);
}

TEST_P(IndependentReading, HasTheSameValuesAtPlacesAndTimes) {
  std::map<std::pair<std::string, std::string>, Inspection> seen;
  for (const test::IndependentValue& r : reads_) {
    if (r.what != "at") continue;
    auto& i = seen[{r.latitude, r.longitude}];
    if (!i.at) i = inspect(feed_, path_, PointOfInterest{std::stod(r.latitude), std::stod(r.longitude)}, {});
    SCOPED_TRACE(r.name + " at " + r.latitude + ", " + r.longitude + ", " + r.time);
    const auto step = std::find(steps_.begin(), steps_.end(), r.time);
    ASSERT_NE(step, steps_.end());
    ASSERT_TRUE(i.at->values.contains(r.name));
    const double ours = static_cast<double>(i.at->values.at(r.name)[static_cast<std::size_t>(step - steps_.begin())]);
    if (r.value.empty()) {
      EXPECT_TRUE(std::isnan(ours)) << ours;
    } else {
      // The turn of a grid known by its cells only is found from neighbouring ones.
      const double allowed = r.name == "wind_from_direction" ? 0.01 : tolerance(std::stod(r.value));
      EXPECT_NEAR(ours, std::stod(r.value), allowed);
    }
  }
}

INSTANTIATE_TEST_SUITE_P(All, IndependentReading, ::testing::ValuesIn(test::feed_files_taken()),
                         [](const auto& row) { return test::test_name(row.param.file); });

}  // namespace
}  // namespace hakea::ingest
