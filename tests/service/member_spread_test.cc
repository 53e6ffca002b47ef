#include "service/http/member_spread.h"

#include <gtest/gtest.h>

#include <cmath>

#include "core/catalogue/catalogue.h"
#include "service/input/json.h"

namespace hakea::service {
namespace {

// Members of two hours, alike but for the values; NaN is missing.
std::vector<core::UnitHours> members(std::string_view key, const std::vector<std::array<double, 2>>& values) {
  std::vector<core::UnitHours> all(values.size());
  for (std::size_t m = 0; m < values.size(); ++m) {
    all[m].hours = 2;
    all[m].columns.assign(core::catalogue().size(), core::Column(2));
    for (std::size_t i = 0; i < 2; ++i) {
      core::Column& column = all[m].columns[core::quantity_index(key)];
      if (std::isnan(values[m][i]))
        column.set_missing(i, core::Reason::gap);
      else
        column.set(i, values[m][i], 0);
    }
  }
  return all;
}

json::value told(const std::vector<core::UnitHours>& all, std::string_view key) {
  const auto text = members_json(member_spread(all, 0, 2, {core::quantity_index(key)}));
  return parse_json(text, "members")->at("members");
}

// Eleven members, so that the tenths are members themselves; order is none of theirs.
TEST(MemberSpread, IsTheMiddleEightInTen) {
  std::vector<std::array<double, 2>> values;
  for (const int v : {7, 3, 10, 0, 5, 1, 9, 2, 8, 4, 6}) values.push_back({20.0 + v, 3.0});
  const json::value found = told(members("air_temperature", values), "air_temperature");
  EXPECT_EQ(json::serialize(found), R"({"of":11,"quantities":{"air_temperature":{"unit":"Cel",)"
                                    R"("p10":[21,3],"p50":[25,3],"p90":[29,3]}}})");
}

// Hyndman and Fan's seventh definition between two values: a tenth of the way, half and nine tenths.
TEST(MemberSpread, LiesOnTheLineBetweenMembers) {
  const json::value found = told(members("ffdi", {{10, 0}, {20, 0}}), "ffdi").at("quantities").at("ffdi");
  EXPECT_EQ(found.at("p10").at(0).to_number<double>(), 11);
  EXPECT_EQ(found.at("p50").at(0).to_number<double>(), 15);
  EXPECT_EQ(found.at("p90").at(0).to_number<double>(), 19);
}

TEST(MemberSpread, IsMissingWhereFewerThanHalfOfTheMembersHaveTheHour) {
  const double none = std::nan("");
  const json::value found = told(members("ffdi", {{1, 1}, {3, none}, {none, none}}), "ffdi").at("quantities").at("ffdi");
  EXPECT_EQ(found.at("p50").at(0).to_number<double>(), 2) << "two of three";
  EXPECT_TRUE(found.at("p50").at(1).is_null()) << "one of three";
  EXPECT_TRUE(found.at("p10").at(1).is_null());
}

TEST(MemberSpread, IsNothingOfOneMemberAndOfDirections) {
  EXPECT_TRUE(told(members("ffdi", {{1, 2}}), "ffdi").is_null());
  const json::value found = told(members("wind_from_direction", {{350, 10}, {10, 350}}), "wind_from_direction");
  EXPECT_TRUE(found.at("quantities").as_object().empty()) << "the mean of 350 and 10 degrees is not south";
}

}  // namespace
}  // namespace hakea::service
