#include "core/plan/plan.h"

#include <algorithm>
#include <tuple>

#include "core/days/explain.h"
#include "core/plan/rules.h"

namespace hakea::core {
namespace {

using Chosen = std::vector<std::uint8_t>;

// The search may look at so many nodes: more of a small program than of a large one, so that both take seconds at most.
constexpr int kNodesTimesPairs = 10'000'000, kFewestNodes = 1'000, kMostNodes = 20'000;

int node_limit(std::size_t pairs) {
  return std::clamp(kNodesTimesPairs / std::max(static_cast<int>(pairs), 1), kFewestNodes, kMostNodes);
}

// The rules with the pairs that stand in each, and what a set of chosen pairs makes of their left sides.
class Holder {
 public:
  explicit Holder(const Book& book) : book_(book), rules_(rules_of(book)), of_pair_(book.pairs.size()), left_(rules_.size(), 0) {
    for (std::size_t r = 0; r < rules_.size(); ++r)
      for (const ProgramTerm& term : rules_[r].row.terms)
        of_pair_[static_cast<std::size_t>(term.variable)].emplace_back(r, term.factor);
    chosen_.assign(book.pairs.size(), 0);
  }

  const std::vector<Rule>& rules() const { return rules_; }
  const Chosen& chosen() const { return chosen_; }
  void add(std::size_t pair) {
    chosen_[pair] = 1;
    for (const auto& [r, factor] : of_pair_[pair]) left_[r] += factor;
  }
  // The first rule that adding the pair breaks; null when it fits.
  const Rule* broken_by(std::size_t pair) const {
    for (const auto& [r, factor] : of_pair_[pair])
      if (left_[r] - own(rules_[r], pair) + factor > rules_[r].row.most) return &rules_[r];
    return nullptr;
  }
  std::string why(const Rule& rule, std::size_t pair) const { return why_broken(book_, rule, pair, chosen_); }

 private:
  // What the pair's unit has chosen on other dates, where that is not held against it.
  std::int64_t own(const Rule& rule, std::size_t pair) const {
    std::int64_t sum = 0;
    if (!rule.is_between_units) return sum;
    for (const ProgramTerm& term : rule.row.terms) {
      const auto other = static_cast<std::size_t>(term.variable);
      if (chosen_[other] && book_.pairs[other].unit == book_.pairs[pair].unit) sum += term.factor;
    }
    return sum;
  }

  const Book& book_;
  std::vector<Rule> rules_;  // in the order of kinds, so the first broken one is the reason
  std::vector<std::vector<std::pair<std::size_t, std::int64_t>>> of_pair_;
  std::vector<std::int64_t> left_;
  Chosen chosen_;
};

std::int64_t sum_of(const std::vector<std::int64_t>& values, const Chosen& chosen) {
  std::int64_t sum = 0;
  for (std::size_t i = 0; i < chosen.size(); ++i) sum += chosen[i] ? values[i] : 0;
  return sum;
}

bool keeps(const ProgramRow& row, const Chosen& chosen) {
  std::int64_t left = 0;
  for (const ProgramTerm& term : row.terms) left += chosen[static_cast<std::size_t>(term.variable)] ? term.factor : 0;
  return left <= row.most;
}

Error wrong(const std::string& what) {
  return Error{ErrorKind::failed, "wrong_answer", "the plan's solver", what, "ask again; report it if that does not help"};
}

// An answer that keeps its promises. One that does not is no plan, however it came about.
Result<ProgramAnswer> solved(const Program& program, const ProgramSolver& solver) {
  auto answer = solver(program);
  if (!answer || !answer->is_possible) return answer;
  if (answer->chosen.empty() && !program.values.empty())
    return answer->proven ? Result<ProgramAnswer>(wrong("an answer without a choice says that it is the best")) : answer;
  if (answer->chosen.size() != program.values.size()) return wrong("an answer for another program came back");
  if (std::any_of(answer->chosen.begin(), answer->chosen.end(), [](std::uint8_t c) { return c > 1; }))
    return wrong("an answer has values other than 0 and 1");
  for (const ProgramRow& row : program.rows)
    if (!keeps(row, answer->chosen)) return wrong("the choice that came back breaks a constraint");
  const std::int64_t value = sum_of(program.values, answer->chosen);
  if (answer->bound < value || (answer->proven && answer->bound != value))
    return wrong("a choice worth " + std::to_string(value) + " came back with the bound " + std::to_string(answer->bound));
  answer->proven = answer->bound == value;
  return answer;
}

// What fits beside the chosen is added, the most valuable first.
void complete(const Book& book, Holder& holder) {
  std::vector<std::size_t> order(book.pairs.size());
  for (std::size_t p = 0; p < order.size(); ++p) order[p] = p;
  std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return book.pairs[a].value > book.pairs[b].value; });
  for (const std::size_t p : order)
    if (!holder.chosen()[p] && !holder.broken_by(p)) holder.add(p);
}

// Of equally valuable choices the one with earlier dates, then earlier ids: a burn counts the more, the fewer dates and ids
// come before it. A date outweighs all ids; the product puts the earlier of two ids on the earlier of two dates.
std::vector<std::int64_t> preferences(const Book& book) {
  std::vector<std::int64_t> values;
  const auto units = static_cast<std::int64_t>(book.units.size());
  const std::int64_t dates = (book.question->to - book.question->from).count() + 1;
  for (const PossibleBurn& pair : book.pairs) {
    const std::int64_t dates_left = (book.question->to - pair.date).count() + 1;
    values.push_back(dates_left * (dates * units + units - static_cast<std::int64_t>(pair.unit)));
  }
  return values;
}

// Why the pairs that are wanted cannot be had together.
Error cannot_hold(const Book& book) {
  Holder holder(book);
  for (const std::size_t p : book.with) {
    const Rule* broken = holder.broken_by(p);
    if (broken && broken->kind != LossKind::order) {
      const std::string& id = book.unit_of(book.pairs[p]).id;
      return {ErrorKind::invalid, "cannot_hold", id,
              id + " cannot be burnt on " + date_in_words(book.pairs[p].date) + ": " + holder.why(*broken, p),
              "leave it out of what has to be in the plan, or one of the others"};
    }
    holder.add(p);
  }
  return {ErrorKind::invalid, "cannot_hold", "with", "the burns asked for cannot be held together with those that must go before",
          "leave one of them out of what has to be in the plan"};
}

Program program_of(const Book& book, const Holder& holder) {
  Program program;
  for (const PossibleBurn& pair : book.pairs) program.values.push_back(pair.value);
  for (const Rule& rule : holder.rules()) program.rows.push_back(rule.row);
  for (const std::size_t p : book.with) program.rows.push_back({{{static_cast<std::int32_t>(p), -1}}, -1});
  program.node_limit = node_limit(book.pairs.size());
  return program;
}

// The best choice there is, or the best that was found.
Result<ProgramAnswer> best_choice(const Book& book, Program program, const ProgramSolver& solver) {
  auto best = solved(program, solver);
  if (!best || !best->is_possible || !best->proven) return best;
  const std::int64_t value = best->bound;
  ProgramRow worth{{}, -value};
  for (std::size_t p = 0; p < program.values.size(); ++p)
    worth.terms.push_back({static_cast<std::int32_t>(p), -program.values[p]});
  program.rows.push_back(std::move(worth));
  program.values = preferences(book);
  program.start = best->chosen;
  auto preferred = solved(program, solver);
  if (!preferred) return preferred;
  if (preferred->is_possible && !preferred->chosen.empty() &&
      sum_of(program.values, preferred->chosen) > sum_of(program.values, best->chosen))
    best->chosen = std::move(preferred->chosen);
  return best;
}

}  // namespace

Result<Proposal> propose(const PlanQuestion& question, const ProgramSolver& solver) {
  const auto ordered = put_in_order(question);
  if (!ordered) return ordered.errors();
  const Book& book = *ordered;
  Holder holder(book);

  Proposal proposal;
  proposal.proven = true;
  if (!book.pairs.empty()) {
    const auto best = best_choice(book, program_of(book, holder), solver);
    if (!best) return best.errors();
    if (!best->is_possible) return cannot_hold(book);
    proposal.bound = best->bound;
    proposal.proven = best->proven;
    // Without any choice found those that are wanted are the beginning of one.
    for (std::size_t p = 0; p < best->chosen.size(); ++p)
      if (best->chosen[p]) holder.add(p);
    for (const std::size_t p : book.with) {
      if (holder.chosen()[p]) continue;
      if (holder.broken_by(p)) return cannot_hold(book);
      holder.add(p);
    }
    if (!best->proven) complete(book, holder);
  }

  proposal.lost = book.barred;
  for (std::size_t p = 0; p < book.pairs.size(); ++p) {
    const PossibleBurn& pair = book.pairs[p];
    const PlannedUnit& unit = book.unit_of(pair);
    if (holder.chosen()[p]) {
      proposal.burns.push_back({unit.id, pair.date, *pair.window, unit.needs, pair.value});
      proposal.value += pair.value;
    } else {
      const Rule* broken = holder.broken_by(p);
      if (!broken) return wrong("a choice that leaves out what fits came back as the best");
      proposal.lost.push_back({unit.id, pair.date, broken->kind, holder.why(*broken, p)});
    }
  }
  if (proposal.value > proposal.bound) return wrong("a choice worth more than the bound that came back was found");
  proposal.proven = proposal.proven || proposal.value == proposal.bound;
  std::sort(proposal.lost.begin(), proposal.lost.end(),
            [](const LostPair& a, const LostPair& b) { return std::tie(a.date, a.unit) < std::tie(b.date, b.unit); });
  return proposal;
}

}  // namespace hakea::core
