// Every operation of the interface against every kind of caller. What is expected stands here, written from the table of roles
// (roles by what they may write), not from the routes; the matrix is printed whole. An operation that stands in no row fails.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include "service/http/routes.h"
#include "service/store/store.h"
#include "tests/support/api_rig.h"
#include "tests/support/local_request.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

// Who is let in by the table of roles: v(iewer) o(fficer) c(oordinator) r (operator, who runs the service).
struct Expected {
  std::string_view path;
  std::string_view reading, writing;
};
constexpr std::string_view kAll = "vocr";
constexpr Expected kTable[] = {
    {"/observations", kAll, "oc"}, {"/outcomes", kAll, "oc"}, {"/bookings", kAll, "oc"},
    {"/units", kAll, "c"},         {"/districts", kAll, "c"}, {"/subscriptions", kAll, "ocr"},
    {"/deliveries", kAll, "ocr"},  {"/audit", "cr", ""},      {"/tokens", "r", "r"},
    {"/session", kAll, kAll},      {"/demo", "", "c"},        {"/edr", kAll, ""},
    {"/features", kAll, ""},       {"/events", kAll, "ocr"},  {"/unsubscribe", "", kAll},
    {"/calendars", kAll, "ocr"},   {"/cal", kAll, ""},
};

// Empty where the operation is in no row.
std::string_view let_in(const Route& route) {
  const bool is_read = route.method == "GET";
  const std::string path(route.path), operation = std::string(route.method) + " " + path;
  if (operation == "POST /units/{id}/trial" || operation == "POST /plan") return kAll;  // store nothing
  // Anybody on duty forbids; lifting is decided.
  if (operation == "POST /stops") return "oc";
  if (path.starts_with("/stops")) return is_read ? kAll : "c";
  if (operation == "DELETE /bookings/{id}") return "c";  // an officer takes back drafts only, and this one is committed
  for (const Expected& row : kTable)
    if (path == row.path || path.starts_with(std::string(row.path) + "/")) return is_read ? row.reading : row.writing;
  return is_read ? kAll : "";
}

// Ours, those of the OGC interfaces, and links.
std::vector<Route> all_routes() {
  std::vector<Route> all(routes().begin(), routes().end());
  all.insert(all.end(), ogc_routes().begin(), ogc_routes().end());
  all.insert(all.end(), link_routes().begin(), link_routes().end());
  return all;
}

bool is_ogc(const Route& route) { return route.path.starts_with("/edr") || route.path.starts_with("/features"); }

// Ids that exist, all of the district tallowmere but for the grid.
std::string ogc_target_of(const Route& route) {
  std::string path = "/ogc" + std::string(route.path);
  const bool is_grid = path.ends_with("/position");
  for (const auto& [before, id] : {std::pair("collections/", path.starts_with("/ogc/features") ? "units"
                                                             : is_grid                         ? "grid-fine"
                                                                                               : "unit-hours"),
                                   std::pair("instances/", "fine.2027-03-29T12:00:00Z"), std::pair("locations/", "sawpit-ridge"),
                                   std::pair("items/", "sawpit-ridge")}) {
    const std::string place = std::string(before) + "{id}";
    if (const std::size_t at = path.find(place); at != std::string::npos)
      path.replace(at, place.size(), before + std::string(id));
  }
  return is_grid ? path + "?coords=POINT(152.61%20-37.72)" : path;
}

// Ids that exist, all of the district tallowmere.
std::string target_of(const Route& route) {
  if (is_ogc(route)) return ogc_target_of(route);
  std::string path(route.path);
  const std::size_t place = path.find("{id}");
  if (place == std::string::npos) return path;
  const auto id = [&]() -> std::string {
    if (path.starts_with("/units")) return "sawpit-ridge";
    if (path.starts_with("/districts")) return "tallowmere";
    if (path.starts_with("/bookings")) return "b-0001";
    if (path.starts_with("/stops")) return "s-0001";
    if (path.starts_with("/observations")) return "1";
    if (path.starts_with("/outcomes")) return "o-0001";
    if (path.starts_with("/feeds")) return "fine";
    if (path.starts_with("/runs")) return "fine.2027-03-29T18:00:00Z";
    return "nobody00";
  }();
  return path.replace(place, 4, id);
}

// Bodies that would be stored, all about tallowmere: who is refused is refused for who they are.
std::string body_of_operation(const Route& route, const ApiRig& rig) {
  const std::string operation = std::string(route.method) + " " + std::string(route.path);
  const auto feature = [&] {
    auto unit = service::parse_json(rig.picture()->unit("sawpit-ridge")->feature_json, "unit");
    return *std::move(unit);
  };
  if (operation == "POST /units") {
    json::value unit = feature();
    unit.as_object()["id"] = "new-unit";
    return json::serialize(unit);
  }
  if (operation == "PUT /units/{id}") return json::serialize(feature());
  if (operation == "PATCH /units/{id}") return R"({"properties":{"priority":2}})";
  if (operation == "PUT /units/{id}/prescription" || operation == "POST /units/{id}/trial")
    return json::serialize(demo_prescription("sawpit-ridge"));
  if (operation == "PUT /districts/{id}") return rig.picture()->districts.find("tallowmere")->second.json;
  if (route.path.starts_with("/stops") && route.method != "DELETE")
    return R"({"scope":{"unit":"sawpit-ridge"},"from":"2027-04-02","to":"2027-04-02","kind":"other","why":"w"})";
  if (route.path.starts_with("/bookings") && route.method != "DELETE")
    return R"({"unit":"sawpit-ridge","date":"2027-04-02","state":"draft"})";
  if (operation == "POST /observations")
    return R"({"unit":"sawpit-ridge","at":"2027-03-30T06:00:00+11:00","kind":"reading","values":{"relative_humidity":{"value":52,"unit":"%"}}})";
  if (operation == "POST /outcomes") return R"({"unit":"sawpit-ridge","date":"2027-03-29","result":"not_lit"})";
  if (operation == "PUT /outcomes/{id}") return R"({"unit":"sawpit-ridge","date":"2027-03-29","result":"not_lit","reason":"w"})";
  if (operation == "POST /calendars") return R"({"district":"tallowmere"})";
  if (operation == "POST /tokens") return R"({"name":"x","role":"viewer"})";
  return route.method == "GET" || route.method == "DELETE" ? "" : "{}";
}

class AccessMatrix : public ApiTest {
 protected:
  AccessMatrix() : ApiTest(false) {}
  void SetUp() override {
    ApiTest::SetUp();
    if (!rig) return;
    ApiRig& r = *rig;
    // One observation and one outcome of tallowmere to be shown.
    r.use_token(r.token(Role::coordinator));
    ASSERT_EQ(r.call("POST", "/observations", body_of({"POST", "/observations"}), keyed()).status, 201);
    ASSERT_EQ(r.call("POST", "/outcomes", body_of({"POST", "/outcomes"}), keyed()).status, 201);
  }
  std::string body_of(std::pair<std::string_view, std::string_view> operation) const {
    for (const Route& route : routes())
      if (route.method == operation.first && route.path == operation.second) return body_of_operation(route, *rig);
    return {};
  }
  // A key of its own for each request that needs one.
  std::map<std::string, std::string> keyed() { return {{"idempotency-key", fmt::format("\"k-{}\"", ++keys_)}}; }
  std::size_t audited() const { return (*rig->store().audit(0, 100000)).size(); }

  // The status of an operation as a caller with this header; a write is not meant to succeed unless `is_real`.
  Answer call(const Route& route, const std::map<std::string, std::string>& headers, bool is_real) {
    std::map<std::string, std::string> all = keyed();
    all.insert(headers.begin(), headers.end());
    const bool is_read = route.method == "GET";
    // Nobody's revision: whoever is let in fails on it or on its body, and nothing changes.
    if (!is_read) all["if-match"] = is_real ? "*" : "\"r999999\"";
    rig->use_token("");
    return rig->call(std::string(route.method), target_of(route),
                     is_real   ? body_of_operation(route, *rig)
                     : is_read ? ""
                               : "{}",
                     all);
  }

 private:
  int keys_ = 0;
};

std::map<std::string, std::string> bearer(const std::string& token) { return {{"authorization", "Bearer " + token}}; }

TEST_F(AccessMatrix, EveryOperationLetsInWhomTheTableOfRolesLetsIn) {
  const Role roles[] = {Role::viewer, Role::officer, Role::coordinator, Role::operator_};
  std::vector<std::string> tokens;
  for (const Role role : roles) tokens.push_back(rig->token(role));
  std::string matrix = "\n                                            viewer officer coordinator operator\n", holes;
  for (const Route& route : all_routes()) {
    const std::string operation = std::string(route.method) + " " + std::string(route.path);
    const std::string_view expected = let_in(route);
    if (expected.empty() && route.path != "/demo/clock") holes += operation + " stands in no row of the table\n";
    std::string line = operation + std::string(operation.size() < 44 ? 44 - operation.size() : 1, ' ');
    for (std::size_t i = 0; i < 4; ++i) {
      const int status = call(route, bearer(tokens[i]), false).status;
      const bool is_in = status != 401 && status != 403;
      line += fmt::format("{}{:<8}", is_in ? "+" : "-", status);
      if (status == 401 || status == 429 || status >= 500 || is_in != (expected.find("vocr"[i]) != std::string_view::npos))
        holes += fmt::format("{} as {}: {}\n", operation, word(roles[i]), status);
    }
    matrix += line + "\n";
  }
  std::printf("%s", matrix.c_str());
  EXPECT_EQ(holes, "");
}

TEST_F(AccessMatrix, NobodyIsLetInByWhatIsNoTokenOrIsOneNoLonger) {
  const UtcTime now = rig->clock.now();
  const std::string good = rig->token(Role::operator_);
  Strings secrets{good};
  std::map<std::string, std::map<std::string, std::string>> callers;
  for (const Role role : {Role::viewer, Role::officer, Role::coordinator, Role::operator_}) {
    Token old;
    old.role = role;
    old.expires_at = now + std::chrono::hours(1);
    const std::string expired = rig->token(old), revoked = rig->token(role);
    std::string wrong = rig->token(role);
    wrong[20] = wrong[20] == 'x' ? 'y' : 'x';
    ASSERT_TRUE(rig->store().revoke_token({}, now, revoked.substr(6, 8)));
    const std::string of_role = fmt::format(" ({})", word(role));
    callers["an expired token" + of_role] = bearer(expired);
    callers["a revoked token" + of_role] = bearer(revoked);
    callers["a wrong secret" + of_role] = bearer(wrong);
    secrets.insert(secrets.end(), {expired, revoked, wrong});
  }
  rig->clock.set(now + std::chrono::hours(1));
  const std::map<std::string, std::map<std::string, std::string>> others{
      {"nobody", {}},
      {"an unknown id", bearer("hakea_aaaaaaaa_" + std::string(43, 'x'))},
      {"no token at all", bearer("eyJhbGciOiJub25lIn0.e30.")},
      {"an empty bearer", bearer("")},
      {"another scheme", {{"authorization", "Basic " + good}}},
      {"a token without its scheme", {{"authorization", good}}},
      {"an unknown session", {{"cookie", "__Host-session=" + std::string(43, 'x')}}},
      {"a token as a session", {{"cookie", "__Host-session=" + good}}},
  };
  callers.insert(others.begin(), others.end());
  const std::size_t rows = audited();
  std::string matrix = "\n", holes;
  for (const auto& [who, headers] : callers) {
    std::map<int, int> counted;
    for (const Route& route : all_routes()) {
      if (route.path == "/unsubscribe/{id}") continue;                   // who has the link got the mail
      if (route.path == "/cal/{id}") continue;                           // or was given it
      if (route.method == "POST" && route.path == "/session") continue;  // signing in takes nobody
      if (route.path == "/openapi.json") continue;                       // is for anybody
      rig->clock.set(rig->clock.now() + std::chrono::seconds(7));        // fewer than ten failures a minute
      const Answer answer = call(route, headers, true);
      ++counted[answer.status];
      const std::string challenge = answer.header("WWW-Authenticate");
      if (answer.status != 401 || !challenge.starts_with("Bearer realm=\"hakea\""))
        holes += fmt::format("{} {} as {}: {} {}\n", route.method, route.path, who, answer.status, challenge);
      for (const std::string& token : secrets)
        if (answer.text.find(token.substr(15)) != std::string::npos) holes += fmt::format("{} tells a secret\n", who);
    }
    matrix += fmt::format("{:<36}", who);
    for (const auto& [status, count] : counted) matrix += fmt::format(" {} × {}", count, status);
    matrix += "\n";
  }
  std::printf("%s", matrix.c_str());
  EXPECT_EQ(holes, "");
  EXPECT_EQ(audited(), rows) << "nothing was stored";
}

TEST_F(AccessMatrix, ATokenOfAnotherDistrictReadsAndWritesNothingOfThisOne) {
  std::string matrix = "\n", holes;
  for (const Role role : {Role::viewer, Role::officer, Role::coordinator, Role::operator_}) {
    const std::string token = rig->token(role, {"elsewhere"});
    for (const Route& route : all_routes()) {
      const std::size_t rows = audited();
      if (route.path == "/openapi.json") continue;  // its examples name the demo's units
      const Answer answer = call(route, bearer(token), true);
      const std::string operation = fmt::format("{} {} as {}", route.method, route.path, word(role));
      matrix += fmt::format("{:<56} {}\n", operation, answer.status);
      // Who they are themselves is told; nothing of the district, by name, unit or place.
      for (const char* sign : {"sawpit-ridge", "Sawpit", "\"tallowmere\"", "Tallowmere"})
        if (answer.text.find(sign) != std::string::npos && answer.status < 400)
          holes += fmt::format("{}: {} tells of {}\n", operation, answer.status, sign);
      if (audited() != rows) holes += fmt::format("{}: {} stored something\n", operation, answer.status);
      // What is no district's: feeds and runs, and the collections that everybody has, empty or not.
      const bool is_of_all = route.path.starts_with("/feeds") || route.path.starts_with("/runs") ||
                             (is_ogc(route) && route.path.find("/locations/") == std::string_view::npos &&
                              route.path.find("/items/") == std::string_view::npos);
      if (route.path.find("{id}") != std::string_view::npos && !is_of_all && answer.status < 400)
        holes += fmt::format("{}: {}\n", operation, answer.status);
    }
  }
  std::printf("%s", matrix.c_str());
  EXPECT_EQ(holes, "");
}

TEST_F(AccessMatrix, AnOfficersTokenWritesForItsOwnUnitsOnly) {
  Token wanted;
  wanted.role = Role::officer;
  wanted.units = {"kettle-ridge"};
  rig->use_token(rig->token(wanted));
  const std::size_t rows = audited();
  for (const char* path : {"/observations", "/outcomes", "/bookings"}) {
    const Answer answer = rig->call("POST", path, body_of({"POST", path}), keyed());
    EXPECT_EQ(answer.status, 403) << path << answer.text;
    EXPECT_EQ(answer.at("/type"), R"("/problems/other_unit")") << path;
  }
  EXPECT_EQ(
      rig->call(
             "POST", "/observations",
             R"({"station":"airport","at":"2027-03-30T06:00:00+11:00","values":{"relative_humidity":{"value":52,"unit":"%"}}})",
             keyed())
          .status,
      403)
      << "a station is no unit of theirs";
  EXPECT_EQ(audited(), rows);
  EXPECT_EQ(rig->get("/units/sawpit-ridge/days").status, 200) << "they read all";
  wanted.units = {"sawpit-ridge"};
  rig->use_token(rig->token(wanted));
  EXPECT_EQ(rig->call("POST", "/observations", body_of({"POST", "/observations"}), keyed()).status, 201);
  // On duty, they forbid what they must.
  EXPECT_EQ(rig->call("POST", "/stops",
                      R"({"scope":{"district":"tallowmere"},"from":"2027-04-02","to":"2027-04-02","kind":"declared_ban"})")
                .status,
            201);
}

TEST_F(AccessMatrix, ACoordinatorsTokenHeldToUnitsDecidesForTheseOnly) {
  const Answer stop = rig->call("POST", "/stops", body_of({"POST", "/stops"}), keyed());
  ASSERT_EQ(stop.status, 201) << stop.text;
  Token wanted;
  wanted.role = Role::coordinator;
  wanted.units = {"kettle-ridge"};
  rig->use_token(rig->token(wanted));
  const std::size_t rows = audited();
  const std::map<std::string, std::string> match{{"if-match", "*"}};
  for (const auto& [method, path] : {std::pair("PATCH", "/units/{id}"), std::pair("DELETE", "/units/{id}"),
                                     std::pair("PUT", "/units/{id}/prescription"), std::pair("PUT", "/districts/{id}")}) {
    Route route{method, path, Role::viewer, "", "", nullptr};
    EXPECT_EQ(rig->call(method, target_of(route), body_of({method, path}), match).status, 403) << method << path;
  }
  EXPECT_EQ(rig->call("DELETE", "/stops/" + std::string(stop.body.at("id").as_string()), R"({"reason":"over"})", match).status,
            403);
  EXPECT_EQ(audited(), rows);
}

TEST_F(AccessMatrix, ACoordinatorOfOneDistrictLooksAfterTheSubscriptionsOfThatOneAlone) {
  const auto subscribe = [&](const std::string& where) {
    const Answer made =
        rig->call("POST", "/subscriptions",
                  R"({"channel":{"kind":"webhook","url":"https://hooks.shire.example/a"},"events":["*"])" + where + "}");
    EXPECT_EQ(made.status, 201) << made.text;
    return std::string(made.body.at("id").as_string());
  };
  rig->use_token(rig->token(Role::officer));
  const std::string of_all = subscribe(""), of_both = subscribe(R"(,"districts":["tallowmere","elsewhere"])"),
                    of_district = subscribe(R"(,"districts":["tallowmere"])"),
                    of_unit = subscribe(R"(,"units":["sawpit-ridge"])");
  const auto seen_by = [&](Role role, std::vector<std::string> districts) {
    rig->use_token(rig->token(role, std::move(districts)));
    Strings ids;
    const Answer all = rig->get("/subscriptions");
    for (const json::value& each : all.body.at("subscriptions").as_array()) ids.emplace_back(each.at("id").as_string());
    return ids;
  };
  EXPECT_EQ(seen_by(Role::coordinator, {}).size(), 4U);
  EXPECT_EQ(seen_by(Role::coordinator, {"elsewhere"}), Strings{});
  for (const std::string& id : {of_all, of_both, of_district, of_unit}) {
    EXPECT_EQ(rig->get("/subscriptions/" + id).status, 404) << id;
    EXPECT_EQ(rig->call("DELETE", "/subscriptions/" + id, "", {{"if-match", "*"}}).status, 404) << id;
    EXPECT_EQ(rig->call("POST", "/subscriptions/" + id + "/rotate-secret").status, 404) << id;
    EXPECT_EQ(rig->get("/deliveries?subscription=" + id).at("/deliveries"), "[]") << id;
  }
  EXPECT_EQ(seen_by(Role::operator_, {"tallowmere"}), (Strings{of_district, of_unit}));
}

TEST_F(AccessMatrix, AStreamOfEventsEndsWithItsReadersTokenOrSession) {
  const auto open = [&](const std::map<std::string, std::string>& headers) {
    Request request = local_request("GET", "/api/v1/events");
    request.headers = {headers.begin(), headers.end()};
    request.headers["accept"] = "text/event-stream";
    const Response answer = respond(rig->parts(), request);
    EXPECT_EQ(answer.status, 200);
    EXPECT_TRUE(answer.more) << answer.body;
    return answer;
  };
  const std::string token = rig->token(Role::viewer), other = rig->token(Role::viewer);
  const Answer signed_in = rig->call("POST", "/session", R"({"token":")" + other + "\"}", {{"content-type", "application/json"}});
  ASSERT_EQ(signed_in.status, 201) << signed_in.text;
  const std::string cookie = signed_in.header("Set-Cookie").substr(0, signed_in.header("Set-Cookie").find(';'));
  const Response by_token = open(bearer(token)), by_session = open({{"cookie", cookie}}), to_expire = open(bearer(other));
  for (const Response* stream : {&by_token, &by_session, &to_expire}) EXPECT_TRUE(stream->more().has_value());
  ASSERT_TRUE(rig->store().revoke_token({}, rig->clock.now(), token.substr(6, 8)));
  EXPECT_FALSE(by_token.more().has_value()) << "revoked";
  EXPECT_TRUE(by_session.more().has_value());
  rig->use_token("");
  EXPECT_EQ(rig->call("DELETE", "/session", "",
                      {{"cookie", cookie}, {"sec-fetch-site", "same-origin"}, {"content-type", "application/json"}})
                .status,
            204);
  EXPECT_FALSE(by_session.more().has_value()) << "signed out";
  EXPECT_TRUE(to_expire.more().has_value());
  rig->clock.set(rig->clock.now() + std::chrono::days(31));
  EXPECT_FALSE(to_expire.more().has_value()) << "expired";
}

TEST_F(AccessMatrix, ANarrowedTokenDoesWhatItsScopesSay) {
  Token wanted;
  wanted.role = Role::coordinator;
  wanted.scopes = Scopes{Scope::observations};
  rig->use_token(rig->token(wanted));
  EXPECT_EQ(rig->call("POST", "/observations", body_of({"POST", "/observations"}), keyed()).status, 201);
  const Answer reading = rig->get("/units");
  EXPECT_EQ(reading.status, 403);
  EXPECT_EQ(reading.header("WWW-Authenticate"), R"(Bearer realm="hakea", error="insufficient_scope", scope="read")");
  const Answer writing = rig->call("POST", "/bookings", body_of({"POST", "/bookings"}));
  EXPECT_EQ(writing.header("WWW-Authenticate"), R"(Bearer realm="hakea", error="insufficient_scope", scope="plans:write")");
}

TEST_F(AccessMatrix, AnonymousReadingIsOffUnlessConfiguredAndReadsOnly) {
  rig->use_token("");
  EXPECT_EQ(rig->get("/units").status, 401);
  rig->config().access.anonymous_read = true;
  EXPECT_EQ(rig->get("/units").status, 200);
  const std::size_t rows = audited();
  for (const Route& route : all_routes()) {
    const Answer answer = call(route, {}, true);
    const bool is_read = route.method == "GET";
    const bool may = is_read && let_in(route).find('v') != std::string_view::npos;
    if (route.path == "/unsubscribe/{id}" || (route.path == "/session" && route.method == "POST")) continue;
    EXPECT_EQ(answer.status != 401 && answer.status != 403, may) << route.method << " " << route.path << " " << answer.status;
  }
  EXPECT_EQ(audited(), rows);
}

}  // namespace
}  // namespace hakea::test
