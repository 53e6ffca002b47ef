// What a plan costs, with the solver's child: a small district's ten days, and 500 units for a fortnight, every kind of
// constraint in both. Printed besides the times: whether the best was proven, and how far the bound is from what was found, in
// percent.
#include <benchmark/benchmark.h>

#include <cstdio>
#include <string>

#include "service/engine/plan_solver.h"
#include "tests/support/plan_rig.h"

namespace hakea::test {
namespace {

void plan(benchmark::State& state, const PlanSize& size, std::uint32_t seed) {
  PlanRig rig(size.dates);
  fill_by_chance(rig, size, seed);
  core::Proposal proposal;
  for (auto _ : state) {
    auto answer = core::propose(rig.question, [](const core::Program& program) { return service::solve_program(program); });
    if (!answer) {
      state.SkipWithError(answer.error().what.c_str());
      return;
    }
    proposal = *std::move(answer);
  }
  state.counters["burns"] = static_cast<double>(proposal.burns.size());
  state.counters["lost"] = static_cast<double>(proposal.lost.size());
  state.counters["proven"] = proposal.proven;
  state.counters["gap_pct"] = 100.0 * static_cast<double>(proposal.bound - proposal.value) / static_cast<double>(proposal.value);
}

void add(const std::string& name, const PlanSize& size, std::uint32_t seed) {
  benchmark::RegisterBenchmark((name + "/" + std::to_string(seed)).c_str(),
                               [size, seed](benchmark::State& s) { plan(s, size, seed); })
      ->Unit(benchmark::kMillisecond)
      ->UseRealTime();
}

void add_all() {
  for (std::uint32_t seed = 1; seed <= 5; ++seed) {
    add("60 units, 10 dates", {.units = 60, .dates = 10, .depots = 3, .scarcity = 4}, seed);
    add("500 units, 14 dates", {.units = 500, .dates = 14, .depots = 5, .scarcity = 10}, seed);
  }
}

}  // namespace
}  // namespace hakea::test

int main(int argc, char** argv) {
  // The solver is this program started again.
  if (argc > 1 && std::string(argv[1]) == hakea::service::kSolverCommand) return hakea::service::solver_main();
  hakea::test::add_all();
  benchmark::Initialize(&argc, argv);
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}
