// Reading well: validators, kept answers, compression, pages, filters, local times.
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <libdeflate.h>

#include "service/http/compression.h"
#include "service/http/conditional.h"
#include "service/http/known_answers.h"
#include "service/http/paging.h"
#include "service/output/time_text.h"
#include "tests/support/api_rig.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

class ApiReading : public ApiTest {
 protected:
  Answer get_unless(const std::string& target, const std::string& tag, const std::string& coding = {}) {
    return rig->call("GET", target, "", {{"if-none-match", tag}, {"accept-encoding", coding}});
  }
  void enter_a_stop() {
    ASSERT_EQ(
        rig->call("POST", "/stops", R"({"scope":{"unit":"sawpit-ridge"},"from":"2027-04-02","to":"2027-04-02","kind":"other",
      "why":"w"})")
            .status,
        201);
  }
  // The target of rel="next"; empty on the last page.
  static std::string next_of(const Answer& answer) {
    const std::string link = answer.header("Link");
    return link.empty() ? "" : link.substr(8, link.find('>') - 8);
  }
};

std::string unpacked(const std::string& packed, std::size_t room) {
  std::string text(room, '\0');
  std::size_t size = 0;
  libdeflate_decompressor* const decompressor = libdeflate_alloc_decompressor();
  const auto done = libdeflate_gzip_decompress(decompressor, packed.data(), packed.size(), text.data(), text.size(), &size);
  libdeflate_free_decompressor(decompressor);
  return done == LIBDEFLATE_SUCCESS ? text.substr(0, size) : "broken";
}

const Strings kTagged{"/units",
                      "/units/sawpit-ridge",
                      "/units/sawpit-ridge/days",
                      "/units/sawpit-ridge/hours?quantities=ffdi",
                      "/units/sawpit-ridge/prescription",
                      "/hours?units=sawpit-ridge&quantities=ffdi",
                      "/days",
                      "/digest?district=tallowmere",
                      "/bookings",
                      "/bookings/b-0001",
                      "/stops",
                      "/observations",
                      "/outcomes",
                      "/districts",
                      "/districts/tallowmere",
                      "/runs",
                      "/quantities",
                      "/audit"};

TEST_F(ApiReading, WhatTheCallerHasIsNotSentAgainUntilSomethingItRestsOnChanges) {
  std::map<std::string, std::string> tags;
  for (const std::string& target : kTagged) {
    const Answer first = rig->get(target);
    ASSERT_EQ(first.status, 200) << target << first.text;
    tags[target] = first.header("ETag");
    ASSERT_GT(tags[target].size(), 10u) << target;
    EXPECT_FALSE(tags[target].starts_with("W/"));
    const Answer again = get_unless(target, "\"other\", " + tags[target]);
    EXPECT_EQ(again.status, 304) << target;
    EXPECT_EQ(again.text, "");
    EXPECT_EQ(again.header("ETag"), tags[target]);
    EXPECT_EQ(again.header("Cache-Control"), first.header("Cache-Control")) << target;
    EXPECT_EQ(get_unless(target, "W/" + tags[target]).status, 304) << "If-None-Match compares weakly";
    EXPECT_EQ(get_unless(target, "*").status, 304);
    EXPECT_EQ(get_unless(target, "\"other\"").status, 200);
  }
  // Another start counts its pictures from the same number, and its clock may be set to the same time.
  const auto of_this_start = std::exchange(rig->parts().answers, std::make_shared<KnownAnswers>());
  for (const auto& [target, tag] : tags) EXPECT_EQ(get_unless(target, tag).status, 200) << target;
  rig->parts().answers = of_this_start;
  for (const auto& [target, tag] : tags) EXPECT_EQ(get_unless(target, tag).status, 304) << target;
  enter_a_stop();
  for (const auto& [target, tag] : tags) EXPECT_EQ(get_unless(target, tag).status, 200) << target;
}

TEST_F(ApiReading, AnEntryThatIsInNoPictureYetChangesWhatRestsOnTheStore) {
  const std::string tag = rig->get("/observations").header("ETag");
  const std::uint64_t picture = rig->picture()->number;
  ASSERT_EQ(
      rig->call("POST", "/observations",
                R"({"station":"mill-hill","at":"2027-03-30T06:00:00+11:00","kind":"reading","values":{"wind_speed":{"value":9,
    "unit":"km/h"}}})")
          .status,
      201);
  ASSERT_EQ(rig->picture()->number, picture) << "a station's reading is judged by nobody";
  const Answer list = get_unless("/observations", tag);
  EXPECT_EQ(list.status, 200);
  EXPECT_EQ(list.body.at("observations").as_array().size(), 1u);
}

TEST_F(ApiReading, TagsTellFormsQueriesAndCallersApart) {
  const std::string json = rig->get("/units/sawpit-ridge/hours").header("ETag");
  const Answer csv = rig->call("GET", "/units/sawpit-ridge/hours", "", {{"accept", "text/csv"}});
  EXPECT_NE(csv.header("ETag"), json);
  EXPECT_NE(rig->get("/units/sawpit-ridge/hours?quantities=ffdi").header("ETag"), json);
  EXPECT_EQ(rig->get("/days?from=2027-04-01&to=2027-04-02").header("ETag"),
            rig->get("/days?to=2027-04-02&from=2027-04-01").header("ETag"));

  ApiRig service(false);
  service.use_token(service.token(Role::viewer));
  const Answer all = service.get("/units");
  service.use_token(service.token(Role::viewer, {"elsewhere"}));
  const Answer none = service.call("GET", "/units", "", {{"if-none-match", all.header("ETag")}});
  EXPECT_EQ(none.status, 200);
  EXPECT_EQ(none.at("/features"), "[]") << "what is kept for one caller is not another's";
}

TEST_F(ApiReading, TheAgeOfAForecastGoesOnInKeptAnswers) {
  const Answer now = rig->get("/days");
  EXPECT_NE(now.at("/caution").find("7 h old"), std::string::npos);
  rig->clock.set(rig->clock.now() + std::chrono::hours(1));
  const Answer later = get_unless("/days", now.header("ETag"));
  EXPECT_EQ(later.status, 200);
  EXPECT_NE(later.at("/caution").find("8 h old"), std::string::npos) << later.at("/caution");
}

TEST_F(ApiReading, NoTagAndNothingKeptOfWhatWasRefused) {
  EXPECT_EQ(rig->get("/units/nowhere").header("ETag"), "");
  EXPECT_EQ(get_unless("/units/nowhere", "*").status, 404);
  EXPECT_EQ(rig->get("/units/nowhere").at("/request_id"), R"("test-1")");
}

TEST_F(ApiReading, AChangeMayRestOnAnyRepresentationThatWasRead) {
  const Answer packed = rig->call("GET", "/units/sawpit-ridge", "", {{"accept-encoding", "gzip"}});
  ASSERT_TRUE(packed.header("ETag").ends_with("-gz\"")) << packed.header("ETag");
  const std::string patch = R"({"properties":{"priority":1}})";
  EXPECT_EQ(rig->call("PATCH", "/units/sawpit-ridge", patch, {{"if-match", packed.header("ETag")}}).status, 200);
  EXPECT_EQ(rig->call("PATCH", "/units/sawpit-ridge", patch, {{"if-match", packed.header("ETag")}}).status, 412);
  EXPECT_EQ(rig->call("PATCH", "/units/sawpit-ridge", patch, {{"if-match", "\"r22\""}}).status, 412) << "r2 begins r22";
  EXPECT_EQ(
      rig->call("PATCH", "/units/sawpit-ridge", patch, {{"if-match", rig->get("/units/sawpit-ridge").header("ETag")}}).status,
      200);
}

TEST_F(ApiReading, LongAnswersAreCompressedForThoseWhoTakeIt) {
  const Answer plain = rig->get("/days");
  const Answer packed = rig->call("GET", "/days", "", {{"accept-encoding", "br, gzip;q=0.8"}});
  EXPECT_EQ(packed.header("Content-Encoding"), "gzip");
  EXPECT_LT(packed.text.size() * 4, plain.text.size());
  EXPECT_EQ(unpacked(packed.text, plain.text.size() + 1), plain.text);
  EXPECT_EQ(packed.header("ETag"), compressed_tag(plain.header("ETag")));
  EXPECT_NE(packed.header("Vary").find("Accept-Encoding"), std::string::npos);
  EXPECT_EQ(get_unless("/days", packed.header("ETag"), "gzip").status, 304);
  EXPECT_EQ(get_unless("/days", packed.header("ETag")).status, 200) << "not what this caller takes";
  EXPECT_EQ(rig->call("GET", "/days", "", {{"accept-encoding", "gzip;q=0"}}).header("Content-Encoding"), "");
  EXPECT_EQ(rig->call("GET", "/observations", "", {{"accept-encoding", "gzip"}}).header("Content-Encoding"), "") << "a short one";
}

TEST_F(ApiReading, SecretsAreNotCompressed) {
  Request request;
  Response answer{200, "application/json", std::string(5000, 'a'), {}};
  EXPECT_TRUE(is_worth_compressing(request, answer));
  request.path = "/api/v1/session";
  EXPECT_FALSE(is_worth_compressing(request, answer));
  request.path = "/api/v1/subscriptions/1/rotate-secret";
  EXPECT_FALSE(is_worth_compressing(request, answer));
  request.path = "/api/v1/units";
  answer.headers.emplace_back("Set-Cookie", "a=b");
  EXPECT_FALSE(is_worth_compressing(request, answer));
  EXPECT_FALSE(is_worth_compressing(request, {200, "image/png", std::string(5000, 'a'), {}}));
}

TEST_F(ApiReading, WhatIsAskedForAgainComesFromWhereItIsKept) {
  const Answer first = rig->get("/days");
  const std::size_t bytes = rig->parts().answers->bytes();
  EXPECT_GT(bytes, first.text.size());
  EXPECT_EQ(rig->get("/days").text, first.text);
  EXPECT_EQ(rig->parts().answers->bytes(), bytes);
  rig->get("/units/sawpit-ridge/days");
  EXPECT_GT(rig->parts().answers->bytes(), bytes);
  enter_a_stop();
  rig->get("/districts");
  EXPECT_LT(rig->parts().answers->bytes(), bytes) << "those of the picture before are gone";
}

TEST(KnownAnswers, KeepsWithinItsBytesThoseAskedForLast) {
  const auto answer = [](std::size_t size) {
    Response response{200, "text/plain", "", {}};
    response.kept = std::make_shared<const std::string>(size, 'x');
    return std::make_shared<const KnownAnswer>(std::move(response), std::make_shared<const std::string>());
  };
  KnownAnswers answers;
  constexpr std::size_t kMost = 15'000;
  answers.keep(1, "a", answer(5000), kMost);
  answers.keep(1, "b", answer(5000), kMost);
  EXPECT_TRUE(answers.find("a"));
  answers.keep(1, "c", answer(5000), kMost);
  EXPECT_TRUE(answers.find("a"));
  EXPECT_FALSE(answers.find("b")) << "not asked for longest";
  EXPECT_TRUE(answers.find("c"));
  answers.keep(1, "d", answer(20'000), kMost);
  EXPECT_FALSE(answers.find("d")) << "too large at all";
  EXPECT_TRUE(answers.find("a")) << "nothing was let go for it";
  EXPECT_LE(answers.bytes(), kMost);
  answers.keep(2, "e", answer(10), kMost);
  EXPECT_FALSE(answers.find("a"));
  answers.keep(1, "f", answer(10), kMost);
  EXPECT_FALSE(answers.find("f")) << "of a picture that has been replaced";
}

TEST_F(ApiReading, SaysHowLongAndSinceWhenAnAnswerHolds) {
  const Answer hours = rig->get("/units/sawpit-ridge/hours?quantities=ffdi");
  EXPECT_EQ(hours.header("Cache-Control"), "private, max-age=60, stale-if-error=3600");
  EXPECT_EQ(hours.header("Last-Modified"), "Mon, 29 Mar 2027 16:30:00 GMT");
  EXPECT_EQ(rig->get("/days").header("Cache-Control"), "private, no-cache") << "a stop counts from its answer on";
  EXPECT_EQ(rig->get("/days").header("Last-Modified"), "Mon, 29 Mar 2027 16:30:00 GMT");
  EXPECT_EQ(rig->call("POST", "/stops", "{}").header("Cache-Control"), "no-store");
}

TEST_F(ApiReading, EveryAnswerAboutAUnitCarriesTheFourTimes) {
  ASSERT_EQ(rig->call("POST", "/observations", R"({"unit":"sawpit-ridge","at":"2027-03-30T06:00:00+11:00","kind":"reading",
    "values":{"wind_speed":{"value":9,"unit":"km/h"}}})")
                .status,
            201);
  for (const char* target :
       {"/units/sawpit-ridge", "/units", "/units/sawpit-ridge/days", "/units/sawpit-ridge/hours", "/hours",
        "/units/sawpit-ridge/prescription", "/units/sawpit-ridge/history", "/units/sawpit-ridge/verification",
        "/districts/tallowmere/verification", "/days", "/bookings", "/bookings/b-0001", "/observations", "/observations/1"}) {
    const Answer answer = rig->get(target);
    EXPECT_EQ(answer.at("/run/reference_time"), R"("2027-03-29T12:30:00Z")") << target << answer.text.substr(0, 200);
    EXPECT_EQ(answer.at("/run/received_at"), R"("2027-03-29T16:30:00Z")") << target;
    EXPECT_EQ(answer.at("/run/computed_at"), R"("2027-03-29T16:30:00Z")") << target;
    EXPECT_EQ(answer.at("/run/next_expected"), R"("2027-03-29T22:30:00Z")") << target;
    EXPECT_EQ(answer.at("/freshness"), R"("current")") << target;
  }
  const Answer table = rig->call("GET", "/units/sawpit-ridge/hours", "", {{"accept", "text/csv"}});
  EXPECT_EQ(table.header("Hakea-Reference-Time"), "2027-03-29T12:30:00Z");
  EXPECT_EQ(table.header("Hakea-Received-At"), "2027-03-29T16:30:00Z");
  EXPECT_EQ(table.header("Hakea-Computed-At"), "2027-03-29T16:30:00Z");
  EXPECT_EQ(table.header("Hakea-Next-Expected"), "2027-03-29T22:30:00Z");
}

TEST_F(ApiReading, UnitsComeInPagesThatMissNobody) {
  Strings all;
  std::string target = "/units?limit=5&status=ready";
  for (int pages = 0; !target.empty() && pages < 20; ++pages) {
    const Answer page = rig->get(target);
    ASSERT_EQ(page.status, 200) << page.text;
    const auto& features = page.body.at("features").as_array();
    ASSERT_LE(features.size(), 5u);
    for (const json::value& feature : features) all.emplace_back(feature.at("id").as_string());
    target = next_of(page);
    EXPECT_EQ(page.at("/links/0/href"), target.empty() ? "none" : json::serialize(json::value("/api/v1" + target)));
  }
  Strings whole;
  const Answer ready = rig->get("/units?status=ready");
  for (const json::value& feature : ready.body.at("features").as_array()) whole.emplace_back(feature.at("id").as_string());
  EXPECT_GT(whole.size(), 5u);
  EXPECT_EQ(all, whole);
  EXPECT_EQ(rig->get("/units?limit=1001").mistakes(), Strings{"?limit out_of_range"});
  EXPECT_EQ(rig->get("/units?cursor=zz").mistakes(), Strings{"?cursor not_a_cursor"});
}

TEST_F(ApiReading, PagesOfEntriesGoOnBehindTheLastWhateverComesMeanwhile) {
  for (int i = 1; i <= 12; ++i)
    ASSERT_EQ(rig->call("POST", "/observations", R"({"station":"s","at":"2027-03-30T06:00:00+11:00","kind":"reading","values":{
      "wind_speed":{"value":)" + std::to_string(i) + R"(,"unit":"km/h"}}})")
                  .status,
              201);
  Strings ids;
  std::string target = "/observations?station=s&limit=5";
  for (int pages = 0; !target.empty() && pages < 20; ++pages) {
    const Answer page = rig->get(target);
    for (const json::value& o : page.body.at("observations").as_array()) ids.emplace_back(o.at("id").as_string());
    target = next_of(page);
    if (pages == 0) enter_a_stop();
  }
  EXPECT_EQ(ids, (Strings{"1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12"})) << "by number, not as text";
}

TEST_F(ApiReading, DeliveriesComeInPagesNewestFirst) {
  const auto subscribe = [&](int number) {
    const std::string body =
        fmt::format(R"({{"channel":{{"kind":"webhook","url":"https://hooks.shire.example/{}"}},"events":["*"]}})", number);
    ASSERT_EQ(rig->call("POST", "/subscriptions", body).status, 201);
  };
  for (int i = 0; i < 5; ++i) subscribe(i);  // a test message each
  const Answer all = rig->get("/deliveries");
  Strings ids, paged;
  for (const json::value& each : all.body.at("deliveries").as_array()) ids.emplace_back(each.at("id").as_string());
  ASSERT_EQ(ids.size(), 5u);
  EXPECT_EQ(all.header("Link"), "");
  std::string target = "/deliveries?limit=2&state=pending";
  for (int pages = 0; !target.empty() && pages < 4; ++pages) {
    const Answer page = rig->get(target);
    ASSERT_EQ(page.status, 200) << page.text;
    for (const json::value& each : page.body.at("deliveries").as_array()) paged.emplace_back(each.at("id").as_string());
    if (pages == 0) {  // what comes meanwhile moves nothing; of one second nobody could say what came last
      rig->clock.set(rig->clock.now() + std::chrono::minutes(1));
      subscribe(9);
    }
    target = next_of(page);
  }
  EXPECT_EQ(paged, ids);
  EXPECT_EQ(rig->get("/deliveries?cursor=6e6f").mistakes(), Strings{"?cursor not_a_cursor"});
}

TEST_F(ApiReading, ListsAreNarrowedByPlaceDistrictAndChange) {
  const auto count = [&](const std::string& target, const char* list) {
    const Answer answer = rig->get(target);
    return answer.status == 200 ? answer.body.at(list).as_array().size() : 1000;
  };
  EXPECT_EQ(count("/units?bbox=-180,-90,180,90", "features"), 16u);
  EXPECT_EQ(count("/units?bbox=0,0,10,10", "features"), 0u);
  EXPECT_EQ(count("/units?bbox=170,-60,-170,0", "features"), 0u) << "across the antimeridian";
  EXPECT_EQ(count("/units?bbox=150,-60,-170,0", "features"), 16u);
  EXPECT_EQ(rig->get("/units?bbox=1,2,3").mistakes(), Strings{"?bbox not_a_box"});
  EXPECT_EQ(rig->get("/units?bbox=1,9,3,2").mistakes(), Strings{"?bbox out_of_range"});
  // A word that is none must not read as "there are none".
  for (const auto& [list, filter] :
       {std::pair("units", "status"), std::pair("bookings", "state"), std::pair("observations", "kind"),
        std::pair("outcomes", "result"), std::pair("runs", "state"), std::pair("deliveries", "state")})
    EXPECT_EQ(rig->get(std::string("/") + list + "?" + filter + "=comitted").mistakes(),
              Strings{std::string("?") + filter + " unknown_word"})
        << list;
  for (const char* list : {"bookings", "stops", "outcomes"})
    EXPECT_EQ(rig->get(std::string("/") + list + "?from=2027-04-03&to=2027-04-02").mistakes(), Strings{"?from reversed"}) << list;
  EXPECT_EQ(rig->get("/observations?from=2027-04-03T00:00:00Z&to=2027-04-02T00:00:00Z").mistakes(), Strings{"?from reversed"});

  const std::string later = "2027-03-30T06:40:00%2B11:00";
  EXPECT_EQ(count("/units?updated_since=" + later, "features"), 0u);
  rig->clock.set(rig->clock.now() + std::chrono::minutes(20));
  json::value prescription = demo_prescription("sawpit-ridge");
  ASSERT_EQ(rig->call("PUT", "/units/sawpit-ridge/prescription", json::serialize(prescription)).status, 200);
  EXPECT_EQ(count("/units?updated_since=" + later, "features"), 1u) << "a prescription is the unit's";
  EXPECT_EQ(rig->get("/units?updated_since=2027-03-30").mistakes(), Strings{"?updated_since not_a_time"});

  const std::size_t bookings = count("/bookings?district=tallowmere", "bookings");
  EXPECT_GT(bookings, 0u);
  EXPECT_LT(bookings, 1000u);
  EXPECT_EQ(count("/bookings?district=elsewhere", "bookings"), 0u);
  EXPECT_EQ(count("/bookings?updated_since=" + later, "bookings"), 0u);
  enter_a_stop();
  EXPECT_EQ(count("/stops?from=2027-04-02&to=2027-04-02&district=tallowmere", "stops"), 1u);
  EXPECT_EQ(count("/stops?from=2027-04-05", "stops"), 0u) << "the race day is over too";
  EXPECT_EQ(count("/stops?to=2027-04-01", "stops"), 0u);
  EXPECT_EQ(count("/stops?updated_since=" + later, "stops"), 1u);
}

TEST_F(ApiReading, TimesComeInTheUnitsOwnTimeWhenAskedForEachWithItsOffset) {
  // The clocks of this zone go back on Sunday 4 April 2027 at 03:00.
  const std::string span = "&quantities=ffdi&from=2027-04-04&to=2027-04-04";
  const Answer utc = rig->get("/units/sawpit-ridge/hours?tz=utc" + span),
               local = rig->get("/units/sawpit-ridge/hours?tz=unit" + span);
  ASSERT_EQ(local.status, 200) << local.text;
  EXPECT_EQ(utc.at("/times/0"), R"("2027-04-03T13:00:00Z")");
  EXPECT_EQ(local.at("/times/0"), R"("2027-04-04T00:00:00+11:00")");
  EXPECT_EQ(local.at("/times/2"), R"("2027-04-04T02:00:00+11:00")");
  EXPECT_EQ(local.at("/times/3"), R"("2027-04-04T02:00:00+10:00")");
  EXPECT_EQ(local.body.at("times").as_array().size(), 25u);
  EXPECT_EQ(local.at("/run/reference_time"), R"("2027-03-29T23:30:00+11:00")");
  EXPECT_EQ(local.at("/run/id"), utc.at("/run/id"));
  EXPECT_EQ(rig->get("/hours?units=sawpit-ridge,old-tramway&tz=unit" + span).at("/units/1/times/3"),
            R"("2027-04-04T02:00:00+10:00")");
  EXPECT_EQ(rig->get("/days?tz=unit").at("/run/next_expected"), R"("2027-03-30T09:30:00+11:00")");
  EXPECT_EQ(rig->get("/days?tz=local").mistakes(), Strings{"?tz unknown_word"});
  EXPECT_EQ(rig->call("GET", "/units/sawpit-ridge/hours?tz=unit", "", {{"accept", "text/csv"}}).mistakes(),
            Strings{"?tz not_for_tables"});
}

TEST_F(ApiReading, AFeedOfEventsIsAsNewAsItsNewestInEitherOrder) {
  AlertCommit commit;
  for (const char* id : {"01JQ0000000000000000000001", "01JQ0000000000000000000002"}) {
    EventRow& event = commit.events.emplace_back();
    event.id = event.key = id;
    event.type = "window.opened.v1";
    event.at = rig->clock.now() - std::chrono::hours(3 - static_cast<int>(commit.events.size()));
    event.expires_at = rig->clock.now() + std::chrono::hours(6);
    event.title = "A window has opened";
    event.data = "{}";
  }
  ASSERT_TRUE(rig->store().alerts()->commit(commit));
  const std::string newest = "<updated>" + utc_text(commit.events.back().at) + "</updated>";
  for (const char* target : {"/events", "/events?after=0"}) {
    const std::string text = rig->call("GET", target, "", {{"accept", "application/atom+xml"}}).text;
    ASSERT_NE(text.find(newest), std::string::npos) << target << ": " << text;
    EXPECT_EQ(text.find("<updated>"), text.find(newest)) << target << ": " << text;
  }
}

}  // namespace
}  // namespace hakea::test
