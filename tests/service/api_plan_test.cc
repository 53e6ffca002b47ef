// The plan through the interface: the demo's headline answers (tests/cases/demo_plan_answers.csv), and what may be asked of it.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <sstream>

#include "service/engine/plan_solver.h"
#include "service/output/json_text.h"
#include "tests/support/api_rig.h"
#include "tests/support/case_file.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

const std::string kPlan = "/plan?district=tallowmere";

// With a solver: this program is its own child (solver_main.cc).
class PlanRig : public ApiRig {
 public:
  PlanRig() {
    parts().solver = [](const core::Program& program) { return solve_program(program); };
  }
};

std::string member(const json::value& of, std::string_view name) { return std::string(of.at(name).as_string()); }

bool is_pair(const json::value& one, const std::string& unit, const std::string& date) {
  return member(one, "unit") == unit && member(one, "date") == date;
}

// "burn", "committed" for a pair that is neither proposed nor lost, or the kind of its reason; `text` gets the reason.
std::string answer_for(const Answer& plan, const std::string& unit, const std::string& date, std::string& text) {
  for (const json::value& burn : plan.body.at("burns").as_array())
    if (is_pair(burn, unit, date)) return "burn";
  for (const json::value& lost : plan.body.at("lost").as_array())
    if (is_pair(lost, unit, date)) {
      text = member(lost.at("why"), "text");
      return member(lost.at("why"), "kind");
    }
  return "committed";
}

std::string answer_for(const Answer& plan, const std::string& unit, const std::string& date) {
  std::string text;
  return answer_for(plan, unit, date, text);
}

struct Told {
  std::string headline, first, with, from, to, unit, date, answer, says;
  int line = 0;
};
void PrintTo(const Told& told, std::ostream* out) { *out << "line " << told.line; }

std::vector<Told> told() {
  std::ifstream file(tests_folder() + "/cases/demo_plan_answers.csv");
  std::vector<Told> all;
  bool header_seen = false;
  std::string line;
  for (int number = 1; std::getline(file, line); ++number) {
    if (line.empty() || line[0] == '#' || !std::exchange(header_seen, true)) continue;
    const auto f = split_csv(line);
    if (f.size() != 10) throw std::runtime_error(fmt::format("demo_plan_answers.csv:{}: {} columns", number, f.size()));
    all.push_back({f[0], f[1], f[2], f[3], f[4], f[5], f[6], f[7], f[8], number});
  }
  return all;
}

class PlanAnswer : public ::testing::TestWithParam<Told> {
 protected:
  void SetUp() override {
    if (!ApiRig::has_files()) GTEST_SKIP() << "the demo's files are not beside the checkout";
  }
};

TEST_P(PlanAnswer, ComesOutOfTheInterface) {
  const Told& row = GetParam();
  PlanRig rig;
  if (!row.first.empty()) {
    std::istringstream entered(row.first);
    std::string method, path, body;
    entered >> method >> path;
    std::getline(entered, body);
    const Answer entry = rig.call(method, path, body);
    ASSERT_LT(entry.status, 300) << entry.text;
  }
  json::object question;
  if (!row.from.empty()) question["from"] = row.from;
  if (!row.to.empty()) question["to"] = row.to;
  if (const std::size_t at = row.with.find('@'); at != std::string::npos)
    question["with"] = json::array{json::object{{"unit", row.with.substr(0, at)}, {"date", row.with.substr(at + 1)}}};
  const Answer plan = rig.call("POST", kPlan, json_text(question));
  ASSERT_EQ(plan.status, 200) << plan.text;
  EXPECT_EQ(plan.at("/proven"), "true");
  std::string text;
  EXPECT_EQ(answer_for(plan, row.unit, row.date, text), row.answer) << text << "\n" << plan.at("/burns");
  EXPECT_NE(text.find(row.says), std::string::npos) << text;
}

INSTANTIATE_TEST_SUITE_P(Headlines, PlanAnswer, ::testing::ValuesIn(told()), [](const auto& row) {
  std::string name = fmt::format("{}_{}_{}_line{}", row.param.headline, row.param.unit, row.param.date.substr(5), row.param.line);
  std::replace(name.begin(), name.end(), '-', '_');
  return name;
});

class ApiPlan : public ::testing::Test {
 protected:
  void SetUp() override {
    if (!ApiRig::has_files()) GTEST_SKIP() << "the demo's files are not beside the checkout";
    rig = std::make_unique<PlanRig>();
  }
  Answer ask(const std::string& question) { return rig->call("POST", kPlan, question); }
  std::unique_ptr<PlanRig> rig;
};

TEST_F(ApiPlan, TellsOfEachPairWhetherItIsProposedOrWhyNot) {
  const Answer plan = rig->get(kPlan);
  ASSERT_EQ(plan.status, 200) << plan.text;
  std::set<std::pair<std::string, std::string>> pairs;
  for (const char* list : {"burns", "lost"})
    for (const json::value& one : plan.body.at(list).as_array())
      EXPECT_TRUE(pairs.insert({member(one, "unit"), member(one, "date")}).second) << json_text(one);
  EXPECT_EQ(pairs.size(), 160U) << "sixteen units on ten days";
  ASSERT_FALSE(plan.body.at("burns").as_array().empty());
  for (const json::value& burn : plan.body.at("burns").as_array()) {
    EXPECT_TRUE(member(burn.at("window"), "start").starts_with(member(burn, "date"))) << json_text(burn);
    EXPECT_EQ(json_text(burn.at("needs")),
              json_text(json::parse(rig->get("/units/" + member(burn, "unit")).at("/properties/needs"))));
  }
  for (const json::value& lost : plan.body.at("lost").as_array()) EXPECT_NE(member(lost.at("why"), "text"), "");
  EXPECT_EQ(plan.at("/bound"), plan.at("/value")) << "it is proven that none is worth more";
  EXPECT_EQ(plan.at("/run/id"), R"("fine.2027-03-29T12:00:00Z")");
  EXPECT_EQ(plan.at("/freshness"), R"("current")");
  EXPECT_NE(plan.at("/caution").find("Forecast guidance only."), std::string::npos);
}

TEST_F(ApiPlan, IsTheSameToTheByteForTheSamePicture) {
  const Answer plan = rig->get(kPlan);
  EXPECT_EQ(rig->get(kPlan).text, plan.text) << "as it is remembered";
  EXPECT_EQ(rig->call("POST", kPlan, "{}").text, plan.text);
  EXPECT_EQ(PlanRig().get(kPlan).text, plan.text) << "as it is made anew";
}

TEST_F(ApiPlan, IsMadeAnewWhenSomethingIsEntered) {
  ASSERT_EQ(answer_for(rig->get(kPlan + "&from=2027-04-02&to=2027-04-02"), "sawpit-ridge", "2027-04-02"), "burn");
  const Answer stop = rig->call(
      "POST", "/stops", R"({"scope":{"unit":"sawpit-ridge"},"from":"2027-04-02","to":"2027-04-02","kind":"other","why":"slip"})");
  ASSERT_EQ(stop.status, 201) << stop.text;
  EXPECT_EQ(answer_for(rig->get(kPlan + "&from=2027-04-02&to=2027-04-02"), "sawpit-ridge", "2027-04-02"), "blocked");
}

TEST_F(ApiPlan, BooksNothing) {
  const std::string before = rig->get("/bookings").text;
  const auto number = rig->picture()->number;
  ASSERT_EQ(ask(R"({"with":[{"unit":"emu-track","date":"2027-04-01"}]})").status, 200);
  EXPECT_EQ(rig->get("/bookings").text, before);
  EXPECT_EQ(rig->picture()->number, number);
}

TEST_F(ApiPlan, KeepsToTheDatesAskedFor) {
  const Answer plan = rig->get(kPlan + "&from=2027-04-02&to=2027-04-03");
  EXPECT_EQ(plan.body.at("burns").as_array().size() + plan.body.at("lost").as_array().size(), 32U);
  EXPECT_EQ(rig->get(kPlan + "&from=2027-04-03&to=2027-04-02").mistakes(), Strings{"?from reversed"});
  EXPECT_EQ(rig->get(kPlan + "&from=soon").mistakes(), Strings{"?from not_a_date"});
  EXPECT_EQ(rig->get(kPlan + "&from=2028-01-01&to=2028-01-02").at("/lost"), "[]");
}

TEST_F(ApiPlan, MoreCrewsTakeWhatWasLostForThem) {
  const std::string friday = R"("from":"2027-04-02","to":"2027-04-02")";
  ASSERT_EQ(answer_for(ask("{" + friday + "}"), "lyrebird-gully", "2027-04-02"), "crews");
  const Answer lent = ask("{" + friday + R"(,"means":{"depots":[{"id":"quarry-flat","crews":4,"tankers":4}]}})");
  EXPECT_EQ(answer_for(lent, "lyrebird-gully", "2027-04-02"), "burn");
  EXPECT_EQ(answer_for(lent, "sawpit-ridge", "2027-04-02"), "burn");
  EXPECT_EQ(answer_for(lent, "blue-gum-spur", "2027-04-02"), "burn");
  const Answer capped = ask("{" + friday +
                            R"(,"means":{"depots":[{"id":"quarry-flat","crews":4,"tankers":4}],
                               "airsheds":[{"id":"valley","burns_per_day":1}]}})");
  EXPECT_EQ(answer_for(capped, "lyrebird-gully", "2027-04-02"), "airshed");
}

TEST_F(ApiPlan, LeavesOutWhatItIsToldTo) {
  const Answer plan = ask(R"({"from":"2027-04-02","to":"2027-04-03","without":[{"unit":"sawpit-ridge"},{"date":"2027-04-03"},
    {"unit":"blue-gum-spur","date":"2027-04-02"}]})");
  ASSERT_EQ(plan.status, 200) << plan.text;
  EXPECT_EQ(answer_for(plan, "sawpit-ridge", "2027-04-02"), "left_out");
  EXPECT_EQ(answer_for(plan, "blue-gum-spur", "2027-04-02"), "left_out");
  EXPECT_EQ(answer_for(plan, "samphire-point", "2027-04-03"), "left_out");
  EXPECT_EQ(answer_for(plan, "lyrebird-gully", "2027-04-02"), "burn");
}

TEST_F(ApiPlan, SaysWhichNeighbourIsLostForTheSeason) {
  // Without its tail the two days' burn is met as well.
  json::value prescription = demo_prescription("bracken-tops-north");
  json::array kept;
  for (const json::value& limit : prescription.at("limits").as_array())
    if (member(limit, "scope") != "days_after") kept.push_back(limit);
  prescription.as_object()["limits"] = kept;
  ASSERT_EQ(rig->call("PUT", "/units/bracken-tops-north/prescription", json_text(prescription)).status, 200);
  const Answer plan = ask(R"({"with":[{"unit":"emu-track","date":"2027-04-01"}]})");
  ASSERT_EQ(plan.status, 200) << plan.text;
  std::string text;
  EXPECT_EQ(answer_for(plan, "bracken-tops-north", "2027-04-01", text), "crews") << text;
  const Answer other = ask(R"({"with":[{"unit":"bracken-tops-north","date":"2027-04-01"}],"from":"2027-04-01","to":"2027-04-01",
    "means":{"depots":[{"id":"quarry-flat","crews":9,"tankers":9,"plant":9}],"shared":{"aircraft":2},
    "airsheds":[{"id":"tops","area_ha_per_day":9000}]}})");
  ASSERT_EQ(other.status, 200) << other.text;
  EXPECT_EQ(answer_for(other, "bracken-tops-north", "2027-04-01"), "burn");
  EXPECT_EQ(answer_for(other, "emu-track", "2027-04-01", text), "adjacency") << text;
  EXPECT_NE(text.find("Bracken Tops North"), std::string::npos) << text;
}

TEST_F(ApiPlan, KeepsCrewsFreeOnADayOfDanger) {
  // Samphire Point's patrol goes on until Monday 5 April, whose FFDI reaches 24 and more.
  const std::string saturday = R"({"from":"2027-04-03","to":"2027-04-03")";
  ASSERT_EQ(answer_for(ask(saturday + "}"), "samphire-point", "2027-04-03"), "burn");
  std::string text;
  EXPECT_EQ(answer_for(ask(saturday + R"(,"means":{"readiness":{"free_crews":5}}})"), "samphire-point", "2027-04-03", text),
            "readiness")
      << text;
  EXPECT_NE(text.find("5 April"), std::string::npos) << text;
  EXPECT_EQ(answer_for(ask(saturday +
                           R"(,"means":{"readiness":{"free_crews":5,"when":{"quantity":"ffdi","scope":"same_day","min":60}}}})"),
                       "samphire-point", "2027-04-03"),
            "burn")
      << "no day is so dangerous";
}

TEST_F(ApiPlan, AllMistakesOfAQuestionAreNamed) {
  EXPECT_EQ(ask(R"({"from":"2027-04-05","to":"2027-04-02","colour":1})").mistakes(),
            (Strings{"/colour unknown_member", "/from reversed"}));
  EXPECT_EQ(
      ask(R"({"from":"2027-04-01","to":"2027-04-02","with":[{"unit":"emu-trak","date":"2027-04-01"},{"unit":"emu-track"},{"date":"x"}],
        "without":[{},{"unit":"sawpit-ridge","date":"2027-05-01"}],"means":{"depots":[{"crews":-1}],"ships":1}})")
          .mistakes(),
      (Strings{"/means/depots/0/crews out_of_range", "/means/depots/0/id required", "/means/ships unknown_member",
               "/with/0/unit unknown_unit", "/with/1/date required", "/with/2/date not_a_date", "/with/2/unit required",
               "/without/0/unit required", "/without/1/date out_of_range"}));
  EXPECT_EQ(ask(R"({"with":[{"unit":"emu-track","date":"2027-04-01"}],"without":[{"unit":"emu-track"}]})").mistakes(),
            Strings{"/with/0 contradictory"});
  EXPECT_EQ(ask("7").status, 422);
  EXPECT_EQ(ask("{").status, 400);
  EXPECT_EQ(ask(R"({"from":"2027-04-01","to":"2027-09-01"})").mistakes(), Strings{"/to out_of_range"});
}

TEST_F(ApiPlan, SaysWhyWhatIsWantedCannotBe) {
  const Answer wet = ask(R"({"with":[{"unit":"sawpit-ridge","date":"2027-03-31"}]})");
  EXPECT_EQ(wet.status, 422) << wet.text;
  EXPECT_EQ(wet.mistakes(), Strings{"/with/0 cannot_hold"});
  EXPECT_NE(wet.at("/detail").find("sawpit-ridge"), std::string::npos) << wet.text;
  const Answer many = ask(R"({"with":[{"unit":"sawpit-ridge","date":"2027-04-02"},{"unit":"lyrebird-gully","date":"2027-04-02"},
    {"unit":"blue-gum-spur","date":"2027-04-02"}]})");
  EXPECT_EQ(many.status, 422) << many.text;
}

TEST_F(ApiPlan, IsOfOneDistrictThatTheCallerMaySee) {
  EXPECT_EQ(rig->get("/plan").mistakes(), Strings{"?district required"});
  EXPECT_EQ(rig->get("/plan?district=nowhere").status, 404);
  EXPECT_EQ(rig->get("/plan?district=elsewhere").at("/lost"), "[]");
  rig->use_token(rig->token(Role::viewer, {"elsewhere"}));
  EXPECT_EQ(rig->get(kPlan).status, 403);
  EXPECT_EQ(rig->get("/plan").at("/burns"), "[]");
  rig->use_token(rig->token(Role::viewer, {"tallowmere"}));
  EXPECT_EQ(rig->get("/plan").status, 200) << "a proposal books nothing: whoever may read may ask for it";
  EXPECT_EQ(ask("{}").status, 200);
}

TEST_F(ApiPlan, IsToldInTheDigestOfItsDates) {
  const std::string digest = rig->call("GET", "/digest?district=tallowmere", "", {{"accept", "text/plain"}}).text;
  const Answer plan = rig->get(kPlan + "&from=2027-03-30&to=2027-04-02");
  for (const json::value& burn : plan.body.at("burns").as_array()) {
    const std::string name = member(rig->get("/units/" + member(burn, "unit")).body.at("properties"), "name");
    EXPECT_NE(digest.substr(digest.find("Together could be burnt")).find(name), std::string::npos) << digest;
  }
  EXPECT_NE(digest.find("Lost out: "), std::string::npos) << digest;
}

TEST_F(ApiPlan, FailsInWordsWhenNothingChooses) {
  rig->parts().solver = [](const core::Program&) -> Result<core::ProgramAnswer> {
    return Error{ErrorKind::failed, "solver_ended", "", "the solver ended by signal 9", ""};
  };
  const Answer plan = rig->get(kPlan);
  EXPECT_EQ(plan.status, 503) << plan.text;
  EXPECT_EQ(plan.at("/type"), R"("/problems/solver_ended")");
  EXPECT_EQ(plan.header("Retry-After"), "30") << "as with every 503";
  const Answer digest = rig->get("/digest?district=tallowmere");
  EXPECT_EQ(digest.status, 200);
  EXPECT_NE(digest.text.find("What could be done together is not known: the solver ended by signal 9."), std::string::npos);
}

}  // namespace
}  // namespace hakea::test
