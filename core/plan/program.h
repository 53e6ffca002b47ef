// An integer program as the plan needs it, and what its solver promises.
#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "core/base/result.h"

namespace hakea::core {

struct ProgramTerm {
  std::int32_t variable = 0;
  std::int64_t factor = 0;
};

// The sum of factor x variable is at most `most`.
struct ProgramRow {
  std::vector<ProgramTerm> terms;  // each variable at most once
  std::int64_t most = 0;
};

// Choose variables, each 0 or 1, so that every row holds and the sum of the values of the chosen is the largest.
struct Program {
  std::vector<std::int64_t> values;
  std::vector<ProgramRow> rows;
  int node_limit = 0;               // of the search; what is best until then is the answer
  std::vector<std::uint8_t> start;  // a choice that keeps all rows, to begin with; may be empty
};

struct ProgramAnswer {
  bool is_possible = true;           // false: proven that no choice keeps all rows
  std::vector<std::uint8_t> chosen;  // 0 or 1 for each variable; empty where none was found
  std::int64_t bound = 0;            // no choice is worth more
  bool proven = false;               // that `chosen` is the best
};

// The same program must get the same answer. A solver that fails says so; its answer is checked by the caller, so that a
// wrong one is an error and no proposal.
using ProgramSolver = std::function<Result<ProgramAnswer>(const Program&)>;

}  // namespace hakea::core
