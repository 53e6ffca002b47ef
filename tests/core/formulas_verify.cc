#include <sstream>

#include "core/verify/calibration.h"
#include "core/verify/emos.h"
#include "core/verify/minimum.h"
#include "core/verify/reliability.h"
#include "core/verify/scores.h"
#include "tests/core/formulas.h"

namespace hakea::test {
namespace {

using namespace hakea::core;

std::vector<double> list(const Case& c, const std::string& name) {
  std::vector<double> numbers;
  std::istringstream in(c.text(name));
  for (std::string one; std::getline(in, one, '/');) numbers.push_back(std::stod(one));
  return numbers;
}

Brier brier(const Case& c) {
  const std::vector<double> chances = list(c, "chances"), happened = list(c, "happened");
  std::vector<Chance> pairs;
  for (std::size_t i = 0; i < chances.size(); ++i) pairs.push_back({chances[i], happened[i] == 1});
  return brier_of(pairs);
}

SpreadOfMembers spread(const Case& c) {
  SpreadOfMembers one;
  one.add(list(c, "members"), c["observed"]);
  return one;
}

// What a list has at a place, counted from 1.
double at_place(const Case& c, const std::vector<double>& values) { return values.at(static_cast<std::size_t>(c["place"]) - 1); }

double rosenbrock(std::span<const double> at) {
  const double rise = at[1] - at[0] * at[0];
  return 100 * rise * rise + (1 - at[0]) * (1 - at[0]);
}

struct FittedEmos {
  Emos emos;
  double mean_crps = 0;
};
FittedEmos fitted_emos(const Case& c) {
  const std::vector<double> means = list(c, "means"), variances = list(c, "variances"), observed = list(c, "observed");
  std::vector<EmosCase> cases;
  for (std::size_t i = 0; i < means.size(); ++i) cases.push_back({means[i], variances[i], observed[i]});
  const EmosKind kind = c.text("kind") == "cut" ? EmosKind::above_zero : EmosKind::normal;
  FittedEmos fitted{fit_emos(cases, kind, c.text("form") == "full").value(), 0};
  for (const EmosCase& one : cases)
    fitted.mean_crps += calibrated(fitted.emos, one.mean, one.variance).crps(one.observed) / static_cast<double>(cases.size());
  return fitted;
}

ContingencyScores contingency(const Case& c) { return scores_of({c["hits"], c["false_alarms"], c["misses"], c["negatives"]}); }

}  // namespace

Formulas verify_formulas() {
  return {
      {"crps_members", [](const Case& c) { return crps_of_members(list(c, "members"), c["observed"]); }},
      {"crps_fair", [](const Case& c) { return fair_crps_of_members(list(c, "members"), c["observed"]); }},
      {"crps_weighted", [](const Case& c) { return crps_of_weighted(list(c, "members"), list(c, "weights"), c["observed"]); }},
      {"crps_normal", [](const Case& c) { return crps_of_normal(c["mean"], c["sd"], c["observed"]); }},
      {"crps_cut_normal", [](const Case& c) { return crps_of_cut_normal(c["mean"], c["sd"], c["observed"]); }},
      {"emos_crps", [](const Case& c) { return fitted_emos(c).mean_crps; }},
      {"emos_a", [](const Case& c) { return fitted_emos(c).emos.a; }},
      {"emos_b", [](const Case& c) { return fitted_emos(c).emos.b; }},
      {"emos_c", [](const Case& c) { return fitted_emos(c).emos.c; }},
      {"minimum",
       [](const Case& c) {
         return at_place(c, minimum_of(rosenbrock, list(c, "start"), {0.1, 0.1}).at);
       }},
      {"binomial_quantile",
       [](const Case& c) {
         return static_cast<double>(binomial_quantile(static_cast<std::size_t>(c["n"]), c["chance"], c["quantile"]));
       }},
      {"spread_ratio", [](const Case& c) { return spread(c).ratio(); }},
      {"rank", [](const Case& c) { return at_place(c, spread(c).ranks()); }},
      {"brier", [](const Case& c) { return brier(c).score; }},
      {"brier_reliability", [](const Case& c) { return brier(c).reliability; }},
      {"brier_resolution", [](const Case& c) { return brier(c).resolution; }},
      {"brier_uncertainty", [](const Case& c) { return brier(c).uncertainty; }},
      {"brier_skill", [](const Case& c) { return brier(c).skill; }},
      {"ranked_probability",
       [](const Case& c) { return ranked_probability_score(list(c, "chances"), static_cast<std::size_t>(c["class"]) - 1); }},
      {"hit_rate", [](const Case& c) { return contingency(c).hit_rate; }},
      {"false_alarm_ratio", [](const Case& c) { return contingency(c).false_alarm_ratio; }},
      {"false_alarm_rate", [](const Case& c) { return contingency(c).false_alarm_rate; }},
      {"threat", [](const Case& c) { return contingency(c).threat_score; }},
      {"frequency_bias", [](const Case& c) { return contingency(c).frequency_bias; }},
      {"proportion_correct", [](const Case& c) { return contingency(c).proportion_correct; }},
      {"peirce", [](const Case& c) { return contingency(c).peirce_skill; }},
      {"equitable_threat", [](const Case& c) { return contingency(c).equitable_threat; }},
      {"heidke", [](const Case& c) { return contingency(c).heidke_skill; }},
      {"odds_ratio", [](const Case& c) { return contingency(c).odds_ratio; }},
      {"odds_ratio_skill", [](const Case& c) { return contingency(c).odds_ratio_skill; }},
      {"extremal_dependence", [](const Case& c) { return contingency(c).extremal_dependence; }},
      {"decaying_average", [](const Case& c) { return decaying_average(list(c, "errors"), c["weight"], false); }},
      {"wilson_low", [](const Case& c) { return wilson_95(c["count"], c["of"]).low; }},
      {"wilson_high", [](const Case& c) { return wilson_95(c["count"], c["of"]).high; }},
      {"direction_error", [](const Case& c) { return direction_error(c["forecast"], c["observed"]); }},
  };
}

}  // namespace hakea::test
