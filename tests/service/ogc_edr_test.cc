// OGC API - EDR from outside. Each test is named after the abstract test of OGC 19-086r6 that it mirrors, where there is one,
// and does what OGC's own suite does: read what an answer links to, and go on from there.
#include <fmt/format.h>

#include "service/http/routes.h"
#include "service/ogc/parameters.h"
#include "tests/support/coverage_schema.h"
#include "tests/support/ogc_rig.h"

namespace hakea::test {
namespace {

using namespace hakea::service;
using Edr = OgcTest;

constexpr const char* kUnits = "/ogc/edr/collections/unit-hours";
constexpr const char* kGrid = "/ogc/edr/collections/grid-fine";
const std::string kPlace = std::string(kUnits) + "/locations/sawpit-ridge";

// --- core ---

TEST_F(Edr, CoreRootSuccess) {
  rig->use_token(rig->token(Role::viewer));  // who calls by another name does not sit at the demo's machine
  const Answer answer = get("/ogc/edr/", {{"host", "maps.example:8080"}});
  EXPECT_EQ(answer.status, 200);
  EXPECT_EQ(answer.type, "application/json");
  const std::set<std::string> relations = relations_of(answer.body);
  for (const char* relation : {"self", "service-desc", "conformance", "data"})
    EXPECT_TRUE(relations.contains(relation)) << relation;
  for (const json::value& link : answer.body.at("links").as_array())
    EXPECT_TRUE(text_of(link, "href").starts_with("http://maps.example:8080/ogc/edr/")) << text_of(link, "href");
  for (const char* relation : {"self", "service-desc", "conformance", "data"})
    EXPECT_EQ(get(link_to(answer.body, relation)).status, 200) << relation;
}

TEST_F(Edr, AddressesAreThoseThatAProxyWasCalledBy) {
  rig->use_token(rig->token(Role::viewer));
  const auto self = [&](const std::map<std::string, std::string>& headers) {
    return get("/ogc/edr", headers).at("/links/0/href");
  };
  EXPECT_EQ(self({{"host", "inside:80"}, {"x-forwarded-host", "maps.example"}, {"x-forwarded-proto", "https"}}),
            R"("https://maps.example/ogc/edr/")");
  EXPECT_EQ(self({{"host", "a.example"}, {"x-forwarded-host", "b.example/\"><x"}}), R"("http://a.example/ogc/edr/")");
}

TEST_F(Edr, CoreApiDefinitionSuccess) {
  const Answer answer = get("/ogc/edr/api");
  EXPECT_EQ(answer.type, "application/vnd.oai.openapi+json;version=3.0");
  EXPECT_EQ(answer.at("/openapi"), "\"3.0.3\"");
  const json::object& paths = answer.body.at("paths").as_object();
  std::size_t below_edr = 0;
  for (const Route& route : ogc_routes()) below_edr += route.path.starts_with("/edr");
  EXPECT_EQ(paths.size(), below_edr) << "each route has a path of its own";
  EXPECT_TRUE(paths.contains("/"));
  EXPECT_TRUE(paths.contains("/collections/{collectionId}/instances/{instanceId}/locations/{locId}"));
  std::set<std::string> operations;
  for (const auto& [path, item] : paths) operations.insert(text_of(item.at("get"), "operationId"));
  EXPECT_EQ(operations.size(), paths.size()) << "ids of operations are unique";
  EXPECT_EQ(get("/ogc/edr/api?f=json").type, "application/json");
  EXPECT_EQ(get("/ogc/edr/api", {{"accept", "application/vnd.oai.openapi+json;version=3.0"}}).status, 200);
}

TEST_F(Edr, CoreConformanceSuccess) {
  const Answer answer = get("/ogc/edr/conformance?f=json");
  EXPECT_EQ(answer.status, 200);
  std::set<std::string> classes;
  for (const json::value& uri : answer.body.at("conformsTo").as_array()) classes.emplace(uri.as_string());
  for (const char* uri :
       {"http://www.opengis.net/spec/ogcapi-edr-1/1.0/conf/core", "http://www.opengis.net/spec/ogcapi-edr-1/1.1/conf/core",
        "http://www.opengis.net/spec/ogcapi-edr-1/1.1/conf/collections",
        "http://www.opengis.net/spec/ogcapi-edr-1/1.1/conf/covjson", "http://www.opengis.net/spec/ogcapi-edr-1/1.1/conf/oas30",
        "http://www.opengis.net/spec/ogcapi-common-1/1.0/conf/core"})
    EXPECT_TRUE(classes.contains(uri)) << uri;
}

// --- collections ---

TEST_F(Edr, CollectionsRcMdSuccess) {
  const Answer answer = get("/ogc/edr/collections");
  EXPECT_EQ(ids_of(answer.body.at("collections")), (Strings{"unit-hours", "grid-fine"}));
  EXPECT_EQ(link_to(answer.body, "self"), "/ogc/edr/collections");
  for (const json::value& collection : answer.body.at("collections").as_array())
    for (const char* member : {"id", "links", "extent", "crs", "output_formats", "data_queries", "parameter_names"})
      EXPECT_TRUE(collection.as_object().contains(member)) << text_of(collection, "id") << " " << member;
}

TEST_F(Edr, CollectionsSrcMdSuccess) {
  const Answer list = get("/ogc/edr/collections");
  for (const json::value& collection : list.body.at("collections").as_array()) {
    const Answer alone = get("/ogc/edr/collections/" + text_of(collection, "id"));
    ASSERT_EQ(alone.status, 200);
    EXPECT_EQ(alone.body, collection) << "the same alone as in the list";
    for (const char* relation : {"self", "collection", "data"}) EXPECT_FALSE(link_to(alone.body, relation).empty()) << relation;
    EXPECT_EQ(get(link_to(alone.body, "self")).body, alone.body);
  }
  EXPECT_EQ(get("/ogc/edr/collections/no-such").status, 404);
}

TEST_F(Edr, RcExtentIsConcrete) {
  for (const char* path : {kUnits, kGrid}) {
    const Answer answer = get(path);
    const json::array& box = answer.body.at_pointer("/extent/spatial/bbox/0").as_array();
    ASSERT_EQ(box.size(), 4U);
    EXPECT_LT(box[0].to_number<double>(), box[2].to_number<double>());
    EXPECT_LT(box[1].to_number<double>(), box[3].to_number<double>());
    const json::array& interval = answer.body.at_pointer("/extent/temporal/interval/0").as_array();
    ASSERT_EQ(interval.size(), 2U);
    const json::array& values = answer.body.at_pointer("/extent/temporal/values").as_array();
    EXPECT_EQ(values.front(), interval[0]);
    EXPECT_EQ(values.back(), interval[1]);
    EXPECT_NE(answer.at("/crs").find("CRS84"), std::string::npos);
  }
}

TEST_F(Edr, RcDataQueriesHaveAbsoluteAddressesWithoutAQuery) {
  rig->use_token(rig->token(Role::viewer));
  for (const char* path : {kUnits, kGrid}) {
    const Answer answer = get(path, {{"host", "maps.example"}});
    for (const auto& [type, query] : answer.body.at("data_queries").as_object()) {
      const std::string href = text_of(query.at("link"), "href");
      EXPECT_TRUE(href.starts_with("http://maps.example/ogc/edr/collections/")) << href;
      EXPECT_EQ(href.find('?'), std::string::npos);
      EXPECT_EQ(text_of(query.at_pointer("/link/variables"), "query_type"), type);
    }
  }
  EXPECT_TRUE(get(kUnits).body.at("data_queries").as_object().contains("locations"));
  EXPECT_FALSE(get(kUnits).body.at("data_queries").as_object().contains("position")) << "a free point has no fuel and no slope";
  EXPECT_TRUE(get(kGrid).body.at("data_queries").as_object().contains("position"));
}

TEST_F(Edr, RcParametersHaveAUnitOrCategories) {
  for (const char* path : {kUnits, kGrid}) {
    const Answer collection = get(path);
    for (const auto& [name, parameter] : collection.body.at("parameter_names").as_object()) {
      EXPECT_EQ(text_of(parameter, "type"), "Parameter") << name;
      EXPECT_FALSE(text_of(parameter.at("observedProperty"), "label").empty()) << name;
      const bool has_categories = parameter.at("observedProperty").as_object().contains("categories");
      EXPECT_NE(has_categories, parameter.as_object().contains("unit")) << name;
      if (has_categories) continue;
      EXPECT_EQ(text_of(parameter.at_pointer("/unit/symbol"), "type"), "http://www.opengis.net/def/uom/UCUM/") << name;
    }
  }
  const Answer units = get(kUnits);
  EXPECT_EQ(units.at("/parameter_names/air_temperature/observedProperty/id"),
            R"("http://vocab.nerc.ac.uk/standard_name/air_temperature/")");
  EXPECT_EQ(units.at("/parameter_names/air_temperature/unit/symbol/value"), R"("Cel")");
  EXPECT_EQ(units.at("/parameter_names/precipitation_amount/measurementType/duration"), R"("PT1H")");
}

TEST(EdrParameters, EveryUnitOfTheCatalogueHasAName) {
  for (const core::QuantityRow& row : core::catalogue()) EXPECT_NE(unit_name(row.unit), row.unit) << row.key;
}

// --- instances ---

TEST_F(Edr, InstancesAreRuns) {
  for (const char* path : {kUnits, kGrid}) {
    const Answer list = get(link_to(get(path).body, "self") + "/instances");
    ASSERT_EQ(list.status, 200);
    EXPECT_EQ(link_to(list.body, "self"), std::string(path) + "/instances");
  }
  const Answer runs = get(std::string(kUnits) + "/instances");
  ASSERT_EQ(ids_of(runs.body.at("instances")), Strings{"fine.2027-03-29T12:00:00Z"});
  const json::value& run = runs.body.at("instances").as_array().front();
  EXPECT_FALSE(run.at("data_queries").as_object().contains("instances"));
  EXPECT_EQ(get(link_to(run, "self")).body, run);
}

TEST_F(Edr, AGridHasNoInstanceWithoutItsFiles) {
  EXPECT_TRUE(get(std::string(kGrid) + "/instances").body.at("instances").as_array().empty());
  EXPECT_EQ(get(std::string(kGrid) + "/instances/fine.2027-03-29T12:00:00Z").status, 404);
}

TEST_F(Edr, AnUnknownInstanceIsNotFound) {
  EXPECT_EQ(get(std::string(kUnits) + "/instances/fine.2020-01-01T00:00:00Z").status, 404);
  EXPECT_EQ(get(std::string(kUnits) + "/instances/fine.2020-01-01T00:00:00Z/locations/sawpit-ridge").status, 404);
  EXPECT_EQ(get(std::string(kUnits) + "/instances/fine.2027-03-29T18:00:00Z").status, 404) << "an incomplete run does not count";
}

// --- locations ---

TEST_F(Edr, LocationsAreUnitsAsGeoJson) {
  const Answer answer = get(std::string(kUnits) + "/locations?f=GeoJSON");
  EXPECT_EQ(answer.status, 200);
  EXPECT_EQ(answer.type, "application/geo+json");
  EXPECT_EQ(answer.at("/type"), "\"FeatureCollection\"");
  const json::array& features = answer.body.at("features").as_array();
  EXPECT_EQ(features.size(), 16U);
  for (const json::value& feature : features) {
    EXPECT_EQ(text_of(feature.at("geometry"), "type"), "Point");
    const json::value& properties = feature.at("properties");
    EXPECT_FALSE(text_of(properties, "label").empty());
    EXPECT_NE(text_of(properties, "datetime").find('/'), std::string::npos);
    EXPECT_GT(properties.at("parameter-name").as_array().size(), 20U);
    const std::string href = text_of(properties, "edrqueryendpoint");
    EXPECT_TRUE(href.ends_with("/locations/" + text_of(feature, "id"))) << href;
  }
}

TEST_F(Edr, LocationsOfAPlaceAndATime) {
  const auto found = [&](const std::string& query) {
    return ids_of(get(std::string(kUnits) + "/locations?" + query).body.at("features")).size();
  };
  EXPECT_EQ(found("bbox=-180,-90,180,90"), 16U);
  EXPECT_EQ(found("bbox=0,0,10,10"), 0U);
  EXPECT_EQ(found("bbox=0,0,-100,10,10,100"), 0U) << "with heights";
  EXPECT_EQ(found("datetime=2020-01-01T00:00:00Z/2020-02-01T00:00:00Z"), 0U);
  EXPECT_EQ(found("datetime=../2100-01-01T00:00:00Z"), 16U);
  EXPECT_EQ(get(std::string(kUnits) + "/locations?bbox=1,2,3").mistakes(), Strings{"?bbox not_a_box"});
  EXPECT_EQ(get(std::string(kUnits) + "/locations?bbox=0,10,10,0").mistakes(), Strings{"?bbox out_of_range"});
}

TEST_F(Edr, ALocationIsACoverage) {
  const Answer answer = get(kPlace);
  EXPECT_EQ(answer.status, 200);
  EXPECT_EQ(answer.type, "application/prs.coverage+json");
  EXPECT_EQ(answer.at("/type"), "\"Coverage\"");
  EXPECT_EQ(answer.at("/domain/domainType"), "\"PointSeries\"");
  const std::size_t hours = times_of(answer).size();
  EXPECT_GT(hours, 200U);
  for (const auto& [name, range] : answer.body.at("ranges").as_object()) {
    EXPECT_EQ(range.at("values").as_array().size(), hours) << name;
    EXPECT_EQ(range.at_pointer("/shape/0").to_number<std::size_t>(), hours) << name;
    EXPECT_TRUE(answer.body.at("parameters").as_object().contains(name)) << name;
  }
}

TEST_F(Edr, BothMediaTypesOfCoverageJsonHaveTheSameBytes) {
  const Answer one = get(kPlace), other = get(kPlace, {{"accept", "application/vnd.cov+json"}});
  EXPECT_EQ(other.type, "application/vnd.cov+json");
  EXPECT_EQ(other.text, one.text);
  EXPECT_EQ(get(kPlace, {{"accept", "text/html,*/*;q=0.8"}}).type, "application/prs.coverage+json");
  EXPECT_EQ(get(kPlace + "?f=CoverageJSON", {{"accept", "text/html"}}).type, "application/prs.coverage+json");
}

TEST_F(Edr, ALocationSaysWhatTheHoursOfItsUnitSay) {
  const Answer coverage = get(kPlace), hours = rig->get("/units/sawpit-ridge/hours");
  EXPECT_EQ(coverage.at("/domain/axes/t/values"), hours.at("/times"));
  for (const auto& [name, quantity] : hours.body.at("quantities").as_object())
    EXPECT_EQ(coverage.body.at("ranges").at(name).at("values"), quantity.at("values")) << name;
  EXPECT_EQ(coverage.at("/missing"), hours.at("/missing"));
  EXPECT_EQ(coverage.at("/flags/ffdi"), hours.at("/quantities/ffdi/flags"));
  for (const char* member : {"/run/id", "/freshness", "/caution"}) EXPECT_EQ(coverage.at(member), hours.at(member)) << member;
}

TEST_F(Edr, WhatIsMissingIsNull) {
  const Answer answer = get(kPlace + "?parameter-name=litter_moisture,cloud_area_fraction");
  EXPECT_EQ(answer.at("/ranges/cloud_area_fraction/values/0"), "null");
  EXPECT_EQ(answer.at("/missing/0/quantity"), "\"cloud_area_fraction\"");
  EXPECT_NE(answer.at("/missing/0/reason"), "none");
  EXPECT_EQ(answer.text.find("NaN"), std::string::npos);
}

TEST_F(Edr, TheFitOfTheHoursHasCategoriesInsteadOfAUnit) {
  const Answer answer = get(kPlace + "?parameter-name=fit"), hours = rig->get("/units/sawpit-ridge/hours?quantities=ffdi");
  const json::value& parameter = answer.body.at_pointer("/parameters/fit");
  EXPECT_FALSE(parameter.as_object().contains("unit"));
  std::map<std::int64_t, std::string> category;
  for (const auto& [id, number] : parameter.at("categoryEncoding").as_object())
    category[number.as_int64()] = std::string(id).substr(std::string(id).rfind('-') + 1);
  ASSERT_EQ(category.size(), 3U);
  const json::array& values = answer.body.at_pointer("/ranges/fit/values").as_array();
  const json::array& words = hours.body.at("fit").as_array();
  ASSERT_EQ(values.size(), words.size());
  std::set<std::string> seen;
  for (std::size_t i = 0; i < words.size(); ++i) {
    EXPECT_EQ(category[values[i].as_int64()], words[i].as_string()) << i;
    seen.emplace(words[i].as_string());
  }
  EXPECT_GT(seen.size(), 1U);
}

TEST_F(Edr, RcParameterNameResponse) {
  const Answer answer = get(kPlace + "?parameter-name=ffdi,wind_speed,ffdi");
  EXPECT_EQ(answer.body.at("ranges").as_object().size(), 2U);
  EXPECT_EQ(answer.body.at("parameters").as_object().size(), 2U);
  const Answer wrong = get(kPlace + "?parameter-name=wind_sped");
  EXPECT_EQ(wrong.status, 400);
  EXPECT_EQ(wrong.mistakes(), Strings{"?parameter-name unknown_quantity"});
  EXPECT_NE(wrong.text.find("wind_speed"), std::string::npos);
}

// --- datetime ---

TEST_F(Edr, CoreDatetimeInstantHitsAnHourOrNothing) {
  const Answer hit = get(kPlace + "?parameter-name=ffdi&datetime=2027-03-31T02:00:00Z");
  EXPECT_EQ(times_of(hit), Strings{"2027-03-31T02:00:00Z"});
  const Answer between = get(kPlace + "?parameter-name=ffdi&datetime=2027-03-31T02:30:00Z");
  EXPECT_EQ(between.status, 204) << "the hour beside it is not guessed";
  EXPECT_EQ(between.text, "");
  EXPECT_EQ(times_of(get(kPlace + "?datetime=2027-03-31T13:00:00%2B11:00")), Strings{"2027-03-31T02:00:00Z"});
}

TEST_F(Edr, CoreDatetimeIntervalHoldsBothEnds) {
  const Answer closed = get(kPlace + "?parameter-name=ffdi&datetime=2027-03-31T02:00:00Z/2027-03-31T04:00:00Z");
  EXPECT_EQ(times_of(closed), (Strings{"2027-03-31T02:00:00Z", "2027-03-31T03:00:00Z", "2027-03-31T04:00:00Z"}));
  const Answer ragged = get(kPlace + "?datetime=2027-03-31T01:10:00Z/2027-03-31T03:59:59Z");
  EXPECT_EQ(times_of(ragged), (Strings{"2027-03-31T02:00:00Z", "2027-03-31T03:00:00Z"}));
  const Strings all = times_of(get(kPlace));
  const auto until = times_of(get(kPlace + "?datetime=../2027-03-31T02:00:00Z")),
             from = times_of(get(kPlace + "?datetime=2027-03-31T03:00:00Z/.."));
  EXPECT_EQ(until.front(), all.front());
  EXPECT_EQ(until.back(), "2027-03-31T02:00:00Z");
  EXPECT_EQ(from.back(), all.back());
  EXPECT_EQ(until.size() + from.size(), all.size());
}

TEST_F(Edr, NoOverlapIsNoContent) {
  for (const char* when : {"2020-01-01T00:00:00Z/2020-02-01T00:00:00Z", "2100-01-01T00:00:00Z", "../2020-01-01T00:00:00Z"}) {
    const Answer answer = get(kPlace + "?datetime=" + when);
    EXPECT_EQ(answer.status, 204) << when;
    EXPECT_EQ(answer.text, "");
  }
}

TEST_F(Edr, ADatetimeThatIsNoneIsRefused) {
  for (const char* when : {"yesterday", "2027-03-31", "2027-03-31T02:00:00", "2027-03-31T02:00:00Z/x", ".."}) {
    const Answer answer = get(kPlace + "?datetime=" + when);
    EXPECT_EQ(answer.status, 400) << when;
    EXPECT_EQ(answer.mistakes().size(), 1U) << when;
  }
  EXPECT_EQ(get(kPlace + "?datetime=2027-04-01T00:00:00Z/2027-03-31T00:00:00Z").mistakes(), Strings{"?datetime reversed"});
}

// --- position ---

TEST_F(Edr, PositionCoordsMustBeAPoint) {
  const std::string position = std::string(kGrid) + "/position";
  EXPECT_EQ(get(position).mistakes(), Strings{"?coords required"});
  EXPECT_EQ(get(position + "?coords=").mistakes(), Strings{"?coords required"});
  for (const char* coords : {"POINT()", "POINT(152.6)", "POINT(152.6,-37.7)", "POINT(152.6 -37.7", "MULTIPOINT((152.6 -37.7))",
                             "POINT(a b)", "POINT(nan inf)", "152.6 -37.7", "POINT(152.6 -37.7 10)"})
    EXPECT_EQ(get(position + "?coords=" + coords).mistakes(), Strings{"?coords not_a_point"}) << coords;
  EXPECT_EQ(get(position + "?coords=POINT(-37.7 152.6)").mistakes(), Strings{"?coords out_of_range"});
}

TEST_F(Edr, PositionTakesBlanksInAnyForm) {
  for (const char* coords : {"POINT(152.6+-37.7)", "POINT(152.6%20-37.7)", "point%20(%20152.6%20%20-37.7)"}) {
    const Answer answer = get(std::string(kGrid) + "/position?coords=" + coords);
    EXPECT_EQ(answer.status, 404) << coords;
    EXPECT_EQ(answer.at("/code"), "\"files_gone\"") << "it was understood; the run of this rig has no files";
  }
}

TEST_F(Edr, PositionWithoutOverlapIsNoContent) {
  EXPECT_EQ(get(std::string(kGrid) + "/position?coords=POINT(152.6+-37.7)&datetime=2020-01-01T00:00:00Z").status, 204);
}

TEST_F(Edr, QueriesThatACollectionDoesNotHaveAreNotFound) {
  EXPECT_EQ(get(std::string(kUnits) + "/position?coords=POINT(152.6+-37.7)").status, 404);
  EXPECT_EQ(get(std::string(kGrid) + "/locations").status, 404);
  EXPECT_EQ(get(std::string(kGrid) + "/locations/sawpit-ridge").status, 404);
  EXPECT_EQ(get(std::string(kUnits) + "/area").status, 404);
}

// --- what is refused ---

TEST_F(Edr, AnUnknownLocationIsNotFound) {
  const Answer answer = get(std::string(kUnits) + "/locations/nowhere");
  EXPECT_EQ(answer.status, 404);
  EXPECT_EQ(answer.type, "application/problem+json");
  EXPECT_EQ(answer.at("/code"), "\"not_found\"");
  EXPECT_EQ(answer.at("/description"), answer.at("/detail"));
  EXPECT_EQ(answer.at("/type"), "\"/problems/not_found\"");
}

TEST_F(Edr, RcFResponseRefusesAnUnknownForm) {
  for (const char* f : {"xml", "GeoTIFF", "application/netcdf", "", "*/*"}) {
    const Answer answer = get(kPlace + "?f=" + f);
    EXPECT_EQ(answer.status, 400) << f;
    EXPECT_EQ(answer.mistakes(), Strings{"?f unknown_format"}) << f;
    EXPECT_EQ(answer.at("/code"), "\"query\"");
  }
  EXPECT_EQ(get(kPlace + "?f=GeoJSON").status, 400) << "known, but not here";
}

TEST_F(Edr, RcCrsResponseRefusesAnotherCrs) {
  EXPECT_EQ(get(kPlace + "?crs=EPSG:3857").mistakes(), Strings{"?crs unknown_crs"});
  EXPECT_EQ(get(kPlace + "?crs=http://www.opengis.net/def/crs/OGC/1.3/CRS84").status, 200);
}

TEST_F(Edr, AnUnknownParameterIsRefused) {
  EXPECT_EQ(get(kPlace + "?z=2").mistakes(), Strings{"?z unknown_parameter"});
  EXPECT_EQ(rig->call("POST", kPlace).status, 405);
}

// --- CoverageJSON ---

class CoverageJsonSchema : public OgcTest {
 protected:
  std::optional<Outcome> checked(const std::string& document) { return checked_coverage(document, folder_); }
  TempDir folder_;
};

// Positions on a grid: ogc_grid_test.cc.
TEST_F(CoverageJsonSchema, HoldsForEveryKindOfLocation) {
  for (const std::string& query : {std::string(), std::string("?parameter-name=fit"),
                                   std::string("?parameter-name=ffdi,fit&datetime=2027-03-31T02:00:00Z")}) {
    const Answer answer = get(kPlace + query);
    ASSERT_EQ(answer.status, 200);
    const auto outcome = checked(answer.text);
    if (!outcome) GTEST_SKIP() << "python3-jsonschema is not installed";
    EXPECT_EQ(outcome->code, 0) << query << "\n" << outcome->out << outcome->err;
  }
  const auto of_run = checked(get(std::string(kUnits) + "/instances/fine.2027-03-29T12:00:00Z/locations/sawpit-ridge").text);
  EXPECT_EQ(of_run->code, 0) << of_run->out << of_run->err;
}

TEST_F(CoverageJsonSchema, FindsWhatIsWrong) {
  std::string text = get(kPlace + "?parameter-name=ffdi").text;
  const std::string right = R"("dataType":"float")";
  text.replace(text.find(right), right.size(), R"("dataType":"number")");
  const auto outcome = checked(text);
  if (!outcome) GTEST_SKIP() << "python3-jsonschema is not installed";
  EXPECT_EQ(outcome->code, 1) << outcome->err;
  EXPECT_NE(outcome->out.find("/ranges/ffdi/dataType"), std::string::npos) << outcome->out;
}

}  // namespace
}  // namespace hakea::test
