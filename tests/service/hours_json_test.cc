// HOURS of INTERFACE §5 and their table: what is known of the values stands beside them.
#include <gtest/gtest.h>

#include "core/catalogue/catalogue.h"
#include "service/input/json.h"
#include "service/output/day_json.h"
#include "service/output/hours_csv.h"

namespace hakea::service {
namespace {

json::value written(const core::UnitHours& hours, std::string_view quantity) {
  JsonWriter out;
  write_hours(out, hours, {core::quantity_index(quantity)}, {}, {});
  const auto document = parse_json(out.str(), "hours");
  return document ? document->at("quantities").at(quantity) : json::value();
}

core::UnitHours six_hours() {
  using enum core::MixingMethod;
  static const core::UnitTraits unit{};
  core::UnitHours hours(unit, UtcHour{}, 6);
  core::Column& height = hours["mixing_height"];
  height = core::Column(6, core::Reason::gap);
  for (const std::size_t i : {0u, 1u, 2u, 3u, 5u}) height.set(i, 800, i == 2 ? core::flag::kReading : 0);
  hours.mixing = {{parcel, false}, {parcel, true}, {parcel, true}, {model, true}, {none, false}, {parcel, false}};
  return hours;
}

TEST(HoursJson, SaysByWhichMethodTheMixingHeightWasFoundAndWhereMethodsDisagree) {
  const json::value mixing = written(six_hours(), "mixing_height");
  ASSERT_TRUE(mixing.is_object());
  // The third was entered by a person, the fifth is missing.
  EXPECT_EQ(json::serialize(mixing.at("method")),
            R"({"model":[[3,4]],"parcel":[[0,2],[5,6]],"bulk_richardson":[],"mechanical":[]})");
  EXPECT_EQ(json::serialize(mixing.at("flags").at("methods_disagree")), "[[1,4]]");
}

TEST(HoursJson, SaysByWhichMethodTheStabilityWasFound) {
  using enum core::StabilityMethod;
  core::UnitHours hours = six_hours();
  core::Column& stability = hours["stability_class"];
  for (const std::size_t i : {0u, 1u, 2u, 3u}) stability.set(i, 4, i == 2 ? core::flag::kReading : 0);
  hours.stability = {radiation, radiation, turner, gradient, none, none};
  EXPECT_EQ(json::serialize(written(hours, "stability_class").at("method")),
            R"({"radiation":[[0,2]],"gradient":[[3,4]],"turner":[]})");
}

TEST(HoursJson, NamesTheVentilationByEachTable) {
  core::UnitHours hours = six_hours();
  core::Column& index = hours["ventilation_index"];
  index.set(0, 3000);
  index.set(1, 4469);
  index.set(2, 6000);
  index.set(3, 20000);
  const json::value classes = written(hours, "ventilation_index").at("classes");
  EXPECT_EQ(json::serialize(classes.at("burning-categories")),
            R"({"category 1":[[0,2]],"category 2":[],"category 3":[[2,3]],"category 4":[],"category 5":[[3,4]]})");
  EXPECT_EQ(json::serialize(classes.at("pollution-potential")), R"({"high":[[0,3]],"not high":[[3,4]]})");
  EXPECT_EQ(json::serialize(classes.at("clearing-index")), R"({"poor":[[0,3]],"500 to 1000":[],"excellent":[[3,4]]})");
}

TEST(VentilationTables, AreRefusedWithAllTheirMistakes) {
  const auto tables = parse_ventilation_tables(
      "[a]\nnames = [\"poor\", \"good\"]\nbounds_m2_s = [5, 3]\nsource = \"x\"\n[b]\nnames = [\"one\"]\ncolour = \"red\"\n",
      "v.toml");
  ASSERT_FALSE(tables);
  std::string codes;
  for (const Error& e : tables.errors()) codes += e.code + ' ';
  for (const char* code : {"wrong_count", "not_ascending", "missing"}) EXPECT_NE(codes.find(code), std::string::npos) << codes;
  EXPECT_EQ(tables.errors().size(), 4u) << codes;  // and the key that is not known
}

TEST(HoursJson, NoOtherQuantityHasAMethod) {
  core::UnitHours hours = six_hours();
  hours["wind_speed"] = core::Column(6);
  EXPECT_FALSE(written(hours, "wind_speed").as_object().contains("method"));
  hours.mixing.clear();  // as from a weather table
  EXPECT_FALSE(written(hours, "mixing_height").as_object().contains("method"));
}

TEST(HoursJson, MarksHoursOutsideTheDomainAndWhatIsProvisionalForTheUnit) {
  core::UnitTraits unit;
  unit.fuel.moisture_model = core::MoistureModel::grass;
  core::UnitHours hours(unit, UtcHour{}, 4);
  for (std::size_t i = 0; i < 4; ++i) hours["litter_moisture"].set(i, 12, i == 1 || i == 2 ? core::flag::kOutOfDomain : 0);
  const json::value flags = written(hours, "litter_moisture").at("flags");
  EXPECT_EQ(json::serialize(flags.at("out_of_domain")), "[[1,3]]");
  EXPECT_TRUE(flags.at("provisional").as_bool()) << "the grass's own is";
  unit.fuel.moisture_model = core::MoistureModel::eucalypt_litter;
  EXPECT_FALSE(written(hours, "litter_moisture").at("flags").at("provisional").as_bool());
  EXPECT_FALSE(written(hours, "wind_speed").at("flags").at("provisional").as_bool());
}

TEST(HoursCsv, NamesInEachHourWhatIsOutsideItsDomainAndWhatIsProvisional) {
  core::UnitTraits unit;
  unit.fuel.moisture_model = core::MoistureModel::grass;
  core::UnitHours hours(unit, UtcHour{}, 2);
  hours["ffdi"].set(0, 3.1F);
  hours["ffdi"].set(1, 150, core::flag::kOutOfDomain);
  hours["grass_moisture"].set(0, 7);
  const std::vector quantities{core::quantity_index("ffdi"), core::quantity_index("grass_moisture")};
  std::string text = hours_csv_head(quantities);
  add_hours_csv(text, "a", hours, {core::Fit::in, core::Fit::unknown}, quantities);
  EXPECT_EQ(text,
            "unit,time_utc,fit,ffdi [1],grass_moisture [%],out_of_domain,provisional\r\n"
            "a,1970-01-01T00:00:00Z,in,3.1,7,,grass_moisture\r\n"
            "a,1970-01-01T01:00:00Z,unknown,150,,ffdi,grass_moisture\r\n");
}

}  // namespace
}  // namespace hakea::service
