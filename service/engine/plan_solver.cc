#include "service/engine/plan_solver.h"

#include <coin/Cbc_C_Interface.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <string>
#include <utility>

#include "ingest/arrival/child.h"
#include "ingest/arrival/wire.h"

namespace hakea::service {
namespace {

using core::Program;
using core::ProgramAnswer;
namespace wire = ingest::wire;

enum Kind : std::uint32_t { answered };

// All values are whole numbers, so a choice that is less than one short of the bound is the best.
constexpr double kGap = 0.5;
// What a sum of whole numbers may be off by as the library adds it up.
constexpr double kSlack = 1e-4;

// As it travels: rows one behind the other.
struct SolverRequest {
  std::size_t memory_mb = 0;
  int cpu_seconds = 0, node_limit = 0;
  std::vector<std::int64_t> values, most, factors;
  std::vector<std::int32_t> row_ends, variables;
  std::vector<std::uint8_t> start;
};

template <class A>
void exchange(A& a, SolverRequest& r) {
  wire::all(a, r.memory_mb, r.cpu_seconds, r.node_limit, r.values, r.most, r.factors, r.row_ends, r.variables, r.start);
}

SolverRequest request_of(const Program& program, const SolverLimits& limits) {
  SolverRequest request;
  request.memory_mb = limits.memory_mb;
  request.cpu_seconds = limits.cpu_seconds;
  request.node_limit = program.node_limit;
  request.values = program.values;
  request.start = program.start;
  for (const core::ProgramRow& row : program.rows) {
    for (const core::ProgramTerm& term : row.terms) {
      request.variables.push_back(term.variable);
      request.factors.push_back(term.factor);
    }
    request.row_ends.push_back(static_cast<std::int32_t>(request.variables.size()));
    request.most.push_back(row.most);
  }
  return request;
}

// The child's side.

struct DeleteModel {
  void operator()(Cbc_Model* model) const { Cbc_deleteModel(model); }
};
using Model = std::unique_ptr<Cbc_Model, DeleteModel>;

// Column by column, as the library takes it; it makes the value least, so the values change their sign.
Model model_of(const SolverRequest& request) {
  const std::size_t columns = request.values.size(), rows = request.most.size();
  std::vector<std::vector<std::pair<int, double>>> terms(columns);
  for (std::size_t r = 0, at = 0; r < rows; ++r)
    for (; at < static_cast<std::size_t>(request.row_ends[r]); ++at)
      terms[static_cast<std::size_t>(request.variables[at])].emplace_back(static_cast<int>(r),
                                                                          static_cast<double>(request.factors[at]));
  std::vector<CoinBigIndex> starts{0};
  std::vector<int> index;
  std::vector<double> factors, objective, most(request.most.begin(), request.most.end());
  for (std::size_t c = 0; c < columns; ++c) {
    for (const auto& [row, factor] : terms[c]) {
      index.push_back(row);
      factors.push_back(factor);
    }
    starts.push_back(static_cast<CoinBigIndex>(index.size()));
    objective.push_back(-static_cast<double>(request.values[c]));
  }
  const std::vector<double> zero(columns, 0), one(columns, 1);
  Model model(Cbc_newModel());
  Cbc_loadProblem(model.get(), static_cast<int>(columns), static_cast<int>(rows), starts.data(), index.data(), factors.data(),
                  zero.data(), one.data(), objective.data(), nullptr, most.data());
  for (std::size_t c = 0; c < columns; ++c) Cbc_setInteger(model.get(), static_cast<int>(c));
  return model;
}

ProgramAnswer solve(const SolverRequest& request) {
  const Model model = model_of(request);
  Cbc_setLogLevel(model.get(), 0);
  Cbc_setParameter(model.get(), "maxNodes", std::to_string(request.node_limit).c_str());
  Cbc_setParameter(model.get(), "allowableGap", std::to_string(kGap).c_str());
  Cbc_setParameter(model.get(), "ratioGap", "0");
  if (!request.start.empty()) {
    std::vector<int> index;
    std::vector<double> values;
    for (std::size_t c = 0; c < request.start.size(); ++c) {
      index.push_back(static_cast<int>(c));
      values.push_back(request.start[c]);
    }
    Cbc_setMIPStartI(model.get(), static_cast<int>(index.size()), index.data(), values.data());
  }
  Cbc_solve(model.get());

  ProgramAnswer answer;
  answer.is_possible = !Cbc_isProvenInfeasible(model.get());
  if (!answer.is_possible) return answer;
  std::int64_t value = 0;
  if (const double* best = Cbc_bestSolution(model.get()))
    for (std::size_t c = 0; c < request.values.size(); ++c) {
      answer.chosen.push_back(best[c] > 0.5);
      value += answer.chosen.back() ? request.values[c] : 0;
    }
  const bool is_proven = Cbc_isProvenOptimal(model.get()) && !answer.chosen.empty();
  const double possible = -Cbc_getBestPossibleObjValue(model.get());
  std::int64_t all = 0;
  for (const std::int64_t v : request.values) all += std::max<std::int64_t>(v, 0);
  answer.bound = is_proven                             ? value
                 : possible < static_cast<double>(all) ? static_cast<std::int64_t>(std::floor(possible + kSlack))
                                                       : all;
  answer.bound = std::max(answer.bound, value);
  answer.proven = !answer.chosen.empty() && answer.bound == value;
  return answer;
}

}  // namespace

Result<ProgramAnswer> solve_program(const Program& program, const SolverLimits& limits) {
  auto child = ingest::Child::start(kSolverCommand, wire::pack(request_of(program, limits)));
  const std::string where = "the plan's solver";
  if (!child) return Error{ErrorKind::failed, "no_solver", where, child.error().what, child.error().hint};
  const auto ended = [&](const std::string& how) {
    return Error{ErrorKind::failed, "solver_ended", where, "the solver " + how,
                 "plan fewer days at a time; keep the call for a report if that does not help"};
  };
  const auto message = child->next(limits.seconds);
  if (!message) return ended(child->end());
  ProgramAnswer answer;
  if (message->kind != Kind::answered ||
      !wire::unpack(message->bytes, answer.is_possible, answer.chosen, answer.bound, answer.proven))
    return ended("sent what makes no sense");
  return answer;
}

int solver_main() {
  SolverRequest request;
  if (!wire::unpack(ingest::receive_request(), request)) return 2;
  ingest::bound_myself({request.cpu_seconds, request.memory_mb});
  const ProgramAnswer answer = solve(request);
  ingest::send(Kind::answered, wire::pack(answer.is_possible, answer.chosen, answer.bound, answer.proven));
  return 0;
}

}  // namespace hakea::service
