// Solving the integer program of a plan, by CBC in a child process: what the library does when it fails harms the child and
// never the service.
//
// One thread, a limit on nodes and none on time that could decide: the same program gets the same answer. Time, processor and
// memory are bounded as well, far beyond what a plan takes; a child that reaches those bounds, ends or answers nonsense is an
// error. main() must hand the hidden command kSolverCommand to solver_main() before anything else.
#pragma once

#include "core/plan/program.h"

namespace hakea::service {

inline constexpr const char* kSolverCommand = "solve-plan";

struct SolverLimits {
  int seconds = 300, cpu_seconds = 120;
  std::size_t memory_mb = 2048;
};

// A core::ProgramSolver. Errors: `no_solver` (the child cannot be started), `solver_ended` (how, in words).
Result<core::ProgramAnswer> solve_program(const core::Program& program, const SolverLimits& limits = {});

// What the child runs.
int solver_main();

}  // namespace hakea::service
