// OGC API - Features from outside, named after the abstract tests of OGC 17-069r4 where there is one; and who may ask both OGC
// interfaces.
#include <fmt/format.h>

#include "service/http/box.h"
#include "tests/support/ogc_rig.h"

namespace hakea::test {
namespace {

using namespace hakea::service;
using Features = OgcTest;

constexpr const char* kUnits = "/ogc/features/collections/units";
const std::string kItems = std::string(kUnits) + "/items";

TEST_F(Features, LandingPageOpAndSuccess) {
  const Answer answer = get("/ogc/features");
  EXPECT_EQ(answer.status, 200);
  for (const char* relation : {"self", "service-desc", "conformance", "data"})
    EXPECT_EQ(get(link_to(answer.body, relation)).status, 200) << relation;
  EXPECT_NE(answer.at("/description").find("Forecast guidance only"), std::string::npos);
}

TEST_F(Features, ConformanceSuccess) {
  EXPECT_EQ(get("/ogc/features/conformance").at("/conformsTo"),
            R"(["http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/core",)"
            R"("http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/oas30",)"
            R"("http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/geojson"])");
}

TEST_F(Features, ApiDefinitionSuccess) {
  const Answer answer = get("/ogc/features/api");
  EXPECT_EQ(answer.type, "application/vnd.oai.openapi+json;version=3.0");
  const json::value& items = answer.body.at("paths").at("/collections/{collectionId}/items").at("get");
  std::set<std::string> names;
  for (const json::value& parameter : items.at("parameters").as_array()) names.insert(text_of(parameter, "name"));
  EXPECT_EQ(names, (std::set<std::string>{"bbox", "collectionId", "cursor", "datetime", "district", "f", "limit"}));
}

TEST_F(Features, FcMdSuccess) {
  const Answer list = get("/ogc/features/collections"), alone = get(kUnits);
  EXPECT_EQ(ids_of(list.body.at("collections")), Strings{"units"});
  EXPECT_EQ(list.body.at("collections").as_array().front(), alone.body);
  EXPECT_EQ(link_to(alone.body, "items"), kItems);
  EXPECT_EQ(alone.at("/itemType"), "\"feature\"");
  EXPECT_EQ(get("/ogc/features/collections/roads").status, 404);
  EXPECT_EQ(get("/ogc/features/collections/roads/items").status, 404);
}

TEST_F(Features, FcResponse) {
  const Answer answer = get(kItems);
  EXPECT_EQ(answer.type, "application/geo+json");
  EXPECT_EQ(answer.at("/type"), "\"FeatureCollection\"");
  const Strings ids = ids_of(answer.body.at("features"));
  EXPECT_EQ(answer.at("/numberReturned"), std::to_string(ids.size()));
  EXPECT_EQ(ids, ids_of(rig->get("/units").body.at("features"))) << "all units, in the order of their ids";
  EXPECT_TRUE(answer.at("/timeStamp").starts_with("\"2027-03-29T19:3")) << answer.at("/timeStamp");
  EXPECT_EQ(link_to(answer.body, "next"), "");
  EXPECT_NE(answer.at("/caution").find("Forecast guidance only"), std::string::npos);
}

TEST_F(Features, FcLimitResponse) {
  EXPECT_EQ(get(kItems + "?limit=3").at("/numberReturned"), "3");
  EXPECT_EQ(get(kItems + "?limit=16").at("/numberReturned"), "16");
  EXPECT_EQ(link_to(get(kItems + "?limit=16").body, "next"), "") << "nothing is left";
  EXPECT_EQ(get(kItems + "?limit=999999").status, 200) << "more than the most is the most";
  for (const char* limit : {"0", "-1", "many", "1.5"})
    EXPECT_EQ(get(kItems + "?limit=" + limit).mistakes(), Strings{"?limit out_of_range"});
}

TEST_F(Features, NextLinksLeadToEveryUnitOnce) {
  Strings ids;
  int pages = 0;
  for (std::string page = kItems + "?limit=5&district=tallowmere"; !page.empty() && pages < 10; ++pages) {
    const Answer answer = get(page);
    ASSERT_EQ(answer.status, 200) << page;
    for (std::string& id : ids_of(answer.body.at("features"))) ids.push_back(std::move(id));
    page = link_to(answer.body, "next");
  }
  EXPECT_EQ(pages, 4);
  EXPECT_EQ(ids, ids_of(get(kItems).body.at("features")));
  EXPECT_EQ(get(kItems + "?district=elsewhere").at("/numberReturned"), "0");
}

TEST_F(Features, FcBboxResponse) {
  const auto found = [&](const std::string& box) { return ids_of(get(kItems + "?bbox=" + box).body.at("features")); };
  EXPECT_EQ(found("-180,-90,180,90").size(), 16U);
  EXPECT_TRUE(found("0,0,10,10").empty());
  // Sawpit Ridge reaches from 152.60251 to 152.617416 east and from 37.725388 to 37.715984 south.
  EXPECT_EQ(found("152.61,-37.7205,152.6101,-37.7204"), Strings{"sawpit-ridge"}) << "a box within the unit";
  EXPECT_EQ(found("152.617,-37.7205,152.6175,-37.7195"), Strings{"sawpit-ridge"}) << "its eastern corner";
  EXPECT_EQ(found("152.616,-37.7253,152.6174,-37.7245"), Strings{}) << "within its bounds, beside its outline";
  EXPECT_EQ(get(kItems + "?bbox=a,b,c,d").mistakes(), Strings{"?bbox not_a_box"});
}

Geometry square(double west, double south, double east, double north) {
  return {"Polygon", {}, {{{{west, south}, {east, south}, {east, north}, {west, north}, {west, south}}}}};
}

TEST(Box, ReachesAcrossTheDateLine) {
  const Box box{170, -20, -170, -10};
  EXPECT_TRUE(box.touches(square(175, -15, 176, -14)));
  EXPECT_TRUE(box.touches(square(-176, -15, -175, -14)));
  EXPECT_FALSE(box.touches(square(0, -15, 1, -14)));
  EXPECT_TRUE(box.has({179, -15}));
  EXPECT_FALSE(box.has({169, -15}));
}

TEST(Box, InAHoleTouchesNothing) {
  Geometry ring = square(0, 0, 10, 10);
  ring.polygons.front().push_back({{4, 4}, {6, 4}, {6, 6}, {4, 6}, {4, 4}});
  EXPECT_FALSE((Box{4.5, 4.5, 5.5, 5.5}.touches(ring)));
  EXPECT_TRUE((Box{4.5, 4.5, 6.5, 5.5}.touches(ring)));
  EXPECT_TRUE((Box{1, 1, 2, 2}.touches(ring)));
  EXPECT_TRUE((Box{-1, 5, 11, 5.5}.touches(ring))) << "across it, with no corner of either in the other";
}

TEST_F(Features, TheBestDayIsInTheProperties) {
  const Answer all = get(kItems);
  for (const json::value& feature : all.body.at("features").as_array()) {
    const json::value& properties = feature.at("properties");
    const Answer days = rig->get("/units/" + text_of(feature, "id") + "/days");
    const json::value& best = days.body.at("days").as_array().front();
    EXPECT_EQ(best.at("rank").as_int64(), 1);
    EXPECT_EQ(properties.at("verdict"), best.at("verdict")) << text_of(feature, "id");
    EXPECT_EQ(properties.at("date"), best.at("date")) << text_of(feature, "id");
    EXPECT_EQ(properties.at("fit"), best.at("fit")) << text_of(feature, "id");
    EXPECT_EQ(properties.at("confidence"), best.at("confidence")) << text_of(feature, "id");
    EXPECT_EQ(properties.at("why"), best.at("why"));
    if (best.at("verdict").as_string() == "met") {
      EXPECT_TRUE(properties.at("window_start").is_string());
    }
  }
}

TEST_F(Features, FcTimeResponse) {
  // 2 April in Sydney.
  const Answer answer = get(kItems + "?datetime=2027-04-01T13:00:00Z/2027-04-02T12:59:59Z");
  EXPECT_EQ(answer.at("/numberReturned"), "16");
  for (const json::value& feature : answer.body.at("features").as_array()) {
    const std::string id = text_of(feature, "id");
    EXPECT_EQ(text_of(feature.at("properties"), "date"), "2027-04-02") << id;
    const Answer days = rig->get("/units/" + id + "/days");
    for (const json::value& day : days.body.at("days").as_array()) {
      if (day.at("date").as_string() != "2027-04-02") continue;
      EXPECT_EQ(feature.at("properties").at("verdict"), day.at("verdict")) << id;
    }
  }
  EXPECT_EQ(get(kItems + "?datetime=2020-01-01T00:00:00Z").at("/numberReturned"), "0");
  EXPECT_EQ(get(kItems + "?datetime=soon").status, 400);
}

TEST_F(Features, FSuccess) {
  const Answer answer = get(kItems + "/sawpit-ridge");
  EXPECT_EQ(answer.at("/id"), "\"sawpit-ridge\"");
  EXPECT_EQ(answer.at("/properties/name"), "\"Sawpit Ridge\"");
  EXPECT_EQ(link_to(answer.body, "self"), kItems + "/sawpit-ridge");
  EXPECT_EQ(link_to(answer.body, "collection"), kUnits);
  const Answer missing = get(kItems + "/nowhere");
  EXPECT_EQ(missing.status, 404);
  EXPECT_EQ(missing.at("/code"), "\"not_found\"");
}

TEST_F(Features, OuterRingsRunAgainstTheClock) {
  const Answer all = get(kItems);
  for (const json::value& feature : all.body.at("features").as_array()) {
    if (text_of(feature.at("geometry"), "type") != "Polygon") continue;
    const json::array& ring = feature.at_pointer("/geometry/coordinates/0").as_array();
    EXPECT_EQ(ring.front(), ring.back());
    double twice_the_area = 0;
    const auto at = [&](std::size_t i, std::size_t k) { return ring[i].at(k).to_number<double>(); };
    for (std::size_t i = 1; i < ring.size(); ++i) twice_the_area += at(i - 1, 0) * at(i, 1) - at(i, 0) * at(i - 1, 1);
    EXPECT_GT(twice_the_area, 0) << text_of(feature, "id");
  }
}

TEST_F(Features, ParamInvalid) {
  EXPECT_EQ(get(kItems + "?colour=red").mistakes(), Strings{"?colour unknown_parameter"});
  EXPECT_EQ(get(kItems + "?f=gml").mistakes(), Strings{"?f unknown_format"});
  EXPECT_EQ(get(kItems + "?f=json").type, "application/json");
}

// --- who asks ---

// base64 of "gis:TOKEN" and the like.
std::string base64(const std::string& text) {
  constexpr std::string_view kLetters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string coded;
  for (std::size_t i = 0; i < text.size(); i += 3) {
    unsigned bits = 0;
    for (std::size_t k = 0; k < 3; ++k) bits = bits << 8 | (i + k < text.size() ? static_cast<unsigned char>(text[i + k]) : 0U);
    for (std::size_t k = 0; k < 4; ++k) coded += i + k > text.size() ? '=' : kLetters[bits >> (18 - 6 * k) & 63];
  }
  return coded;
}

class OgcCallers : public OgcTest {
 protected:
  OgcCallers() : OgcTest(false) {}
  Answer with_password(const std::string& target, const std::string& name, const std::string& password) {
    return get(target, {{"authorization", "Basic " + base64(name + ":" + password)}});
  }
};

TEST_F(OgcCallers, NobodyIsAskedForATokenOrAPassword) {
  for (const char* path : {"/ogc/edr", "/ogc/edr/api", "/ogc/features"}) {
    const Answer answer = get(path);
    EXPECT_EQ(answer.status, 401) << path;
    EXPECT_EQ(answer.at("/code"), "\"no_actor\"");
    std::set<std::string> challenges;
    for (const auto& [name, value] : answer.headers)
      if (name == "WWW-Authenticate") challenges.insert(value.substr(0, value.find(' ')));
    EXPECT_EQ(challenges, (std::set<std::string>{"Basic", "Bearer"}));
  }
}

TEST_F(OgcCallers, ATokenIsABearersOrAPassword) {
  const std::string token = rig->token(Role::viewer);
  EXPECT_EQ(get("/ogc/edr", {{"authorization", "Bearer " + token}}).status, 200);
  for (const char* name : {"", "g", "gi", "gis"})  // every length of padding
    EXPECT_EQ(with_password("/ogc/features", name, token).status, 200) << name;
  EXPECT_EQ(with_password("/ogc/edr", "gis", token + "x").status, 401);
  EXPECT_EQ(with_password("/ogc/edr", "gis", "").status, 401);
  EXPECT_EQ(get("/ogc/edr", {{"authorization", "Basic %%%"}}).status, 401);
  EXPECT_EQ(get("/ogc/edr", {{"authorization", "Basic " + base64(token)}}).status, 401) << "without a name";
}

TEST_F(OgcCallers, APasswordIsNotTakenElsewhere) {
  EXPECT_EQ(with_password("/units", "gis", rig->token(Role::viewer)).status, 401);
}

TEST_F(OgcCallers, AreCountedAndAnsweredAsOthersAre) {
  rig->config().api.requests = 3;
  rig->config().api.allowed_origins = {"https://maps.example.org"};
  EXPECT_EQ(
      rig->call("OPTIONS", "/ogc/features", "", {{"origin", "https://maps.example.org"}}).header("Access-Control-Allow-Methods"),
      "GET, HEAD, OPTIONS");
  rig->use_token(rig->token(Role::viewer));
  const Answer page = get("/ogc/features", {{"origin", "https://maps.example.org"}});
  EXPECT_EQ(page.status, 200);
  EXPECT_EQ(page.header("Access-Control-Allow-Origin"), "https://maps.example.org");
  const Answer packed = get("/ogc/edr/collections/unit-hours", {{"accept-encoding", "gzip"}});
  EXPECT_EQ(packed.header("Content-Encoding"), "gzip");
  EXPECT_EQ(rig->call("POST", kItems, "{}").status, 405) << "counted with the address: nobody is asked who they are";
  EXPECT_EQ(get(kItems).status, 200);
  const Answer over = get(kItems);
  EXPECT_EQ(over.status, 429);
  EXPECT_EQ(over.at("/code"), R"("rate_limit")");
  EXPECT_NE(over.header("Retry-After"), "");
}

TEST_F(OgcCallers, ReadWithoutATokenWhereThatIsConfigured) {
  rig->config().access.anonymous_read = true;
  EXPECT_EQ(get(kItems).status, 200);
  EXPECT_EQ(get("/ogc/edr/collections/unit-hours/locations/sawpit-ridge").status, 200);
  EXPECT_EQ(get(kItems, {{"authorization", "Basic " + base64("gis:nonsense")}}).status, 401) << "a wrong token is no reader";
}

TEST_F(OgcCallers, SeeTheUnitsOfTheirDistrictsOnly) {
  rig->use_token(rig->token(Role::viewer, {"elsewhere"}));
  EXPECT_EQ(get(kItems).at("/numberReturned"), "0");
  EXPECT_EQ(get(kItems + "/sawpit-ridge").status, 403);
  EXPECT_EQ(get("/ogc/edr/collections/unit-hours/locations").at("/numberReturned"), "0");
  EXPECT_EQ(get("/ogc/edr/collections/unit-hours/locations/sawpit-ridge").status, 403);
  EXPECT_EQ(get("/ogc/edr/collections/unit-hours").at("/extent/temporal/interval"), "[[null,null]]");
  EXPECT_EQ(get("/ogc/edr/collections/unit-hours/instances").at("/instances"), "[]");
}

}  // namespace
}  // namespace hakea::test
