#include "ingest/run/counting.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "ingest/run/accumulation.h"

namespace hakea::ingest {
namespace {

using core::TimeKind;

bool has_intervals(const Candidate& c) {
  const auto kind = core::describe(c.meaning.fed).kind;
  if (kind == TimeKind::amount) return true;
  if (kind == TimeKind::mean)
    return c.meaning.unit.form == UnitForm::energy || !c.time.begin.empty() ||
           c.v().text("cell_methods").find("time: mean") != std::string::npos;
  if (kind == TimeKind::extreme)
    return !c.time.begin.empty() || c.v().text("cell_methods").find("time: max") != std::string::npos;
  return false;
}

bool says_since_start(const Variable& v) {
  const std::string words = v.text("cell_methods") + " " + v.text("long_name");
  return words.find("accumulated since") != std::string::npos || words.find("since forecast_reference_time") != std::string::npos;
}

// Packing noise: 0.05 mm, or the same share of a day's radiation.
double noise_of(const Candidate& c) {
  const double step = std::abs(c.v().number("scale_factor").value_or(0) * c.meaning.unit.factor);
  return std::max(c.meaning.unit.form == UnitForm::energy ? 1000.0 : 0.05, 1.5 * step);
}

// One quantity of a run.
class Counting {
 public:
  Counting(RunPlan& plan, const std::vector<const Candidate*>& origin, const Grids& grids, core::Fed fed)
      : plan_(plan), origin_(origin), grids_(grids) {
    for (std::size_t f = 0; f < plan.fields.size(); ++f)
      if (plan.fields[f].fed == fed) fields_.push_back(f);
  }

  void settle() {
    refuse_other_measures();
    collect_parts();
    if (parts_.empty()) return;
    const bool bounded = std::all_of(parts_.begin(), parts_.end(), [&](const Part& p) { return !of(p).time.begin.empty(); });
    const Accumulation how = counted(bounded);
    for (const Part& part : parts_) plan_.accumulation[part.field] = how;
    if (bounded) return;
    plan_.note(
        fmt::format("{}: {} gives no time bounds; each value is taken to end at its time", file_name(first()), first().v().name));
    for (std::size_t k = 0; k < parts_.size(); ++k) {
      const UtcTime end = plan_.steps[parts_[k].step];
      plan_.field_times[parts_[k].field][parts_[k].step] = {begin_before(k, how), end};
    }
  }

 private:
  struct Part {
    std::int32_t member;
    std::size_t step, field, time;
  };

  const Candidate& of(const Part& part) const { return *origin_[part.field]; }
  const Candidate& first() const { return of(parts_.front()); }
  std::string file_name(const Candidate& c) const { return plan_.file_name(c.source->index); }

  void refuse_other_measures() {
    for (const std::size_t f : fields_) {
      const Candidate &kept = *origin_[fields_.front()], &other = *origin_[f];
      if (other.meaning.unit.form == kept.meaning.unit.form) continue;
      for (std::int32_t& step : plan_.fields[f].step_of_time) step = -1;
      plan_.field_times[f].assign(plan_.steps.size(), {UtcTime::min(), UtcTime::min()});
      plan_.refusals.push_back({plan_.files[other.source->index], other.v().name,
                                fmt::format("is in \"{}\", where {} gives {} in \"{}\"", other.meaning.stated_unit,
                                            file_name(kept), core::describe(other.meaning.fed).key, kept.meaning.stated_unit),
                                "give one run's amounts all as amounts or all as rates"});
    }
  }

  // By step, one member of files of single members after the other.
  void collect_parts() {
    for (const std::size_t f : fields_) {
      if (!has_intervals(*origin_[f])) continue;
      const FieldPlan& field = plan_.fields[f];
      for (std::size_t t = 0; t < field.step_of_time.size(); ++t)
        if (const auto s = field.step_of_time[t]; s >= 0)
          parts_.push_back({field.member_of.size() == 1 ? field.member_of[0] : -1, static_cast<std::size_t>(s), f, t});
    }
    std::sort(parts_.begin(), parts_.end(),
              [](const Part& a, const Part& b) { return std::pair(a.member, a.step) < std::pair(b.member, b.step); });
  }

  bool follows(std::size_t k) const { return k > 0 && parts_[k - 1].member == parts_[k].member; }

  Accumulation counted(bool bounded) {
    const UnitForm form = first().meaning.unit.form;
    if (form == UnitForm::rate) return Accumulation::rate;
    const bool is_sum =
        form == UnitForm::energy || (core::describe(first().meaning.fed).kind == TimeKind::amount && form == UnitForm::plain);
    if (!is_sum) return Accumulation::none;
    if (bounded && parts_.size() > 1) {
      const auto begin_of = [&](const Part& part) { return plan_.field_times[part.field][part.step].begin; };
      for (std::size_t k = 1; k < parts_.size(); ++k)
        if (follows(k) && begin_of(parts_[k]) == begin_of(parts_[k - 1])) return Accumulation::since_start;
      return Accumulation::per_step;
    }
    if (says_since_start(first().v())) return Accumulation::since_start;
    return parts_.size() > 1 ? counted_by_values() : Accumulation::per_step;
  }

  Accumulation counted_by_values() {
    CountingEvidence evidence;
    const std::size_t pairs = parts_.size() - 1;
    const Grid& grid = grids_.all()[first().grid];
    std::set<std::size_t> chosen{pairs, pairs - pairs / 4, (pairs + 1) / 2, (pairs + 2) / 3, (pairs + 3) / 4, (pairs + 7) / 8};
    if (pairs * grid.nx() * std::max<std::size_t>(1, grid.ny()) < 200'000)
      for (std::size_t k = 1; k <= pairs; ++k) chosen.insert(k);
    for (const std::size_t k : chosen)
      if (follows(k)) evidence.add(look(parts_[k - 1]), look(parts_[k]), noise_of(first()));
    const auto verdict = evidence.verdict();
    if (verdict.counted == Accumulation::since_start)
      plan_.note(fmt::format("{}: {} is read as counted since the start of the run{}, because its values never fall{}",
                             file_name(first()), first().v().name, verdict.resets ? " or its last reset" : "",
                             verdict.certain ? "" : " (few values to judge by)"));
    return verdict.counted;
  }

  std::vector<double> look(const Part& part) const {
    const FieldPlan& f = plan_.fields[part.field];
    return look_at(of(part).source->file, f.variable, f.decoding, of(part).horizontal, {f.time_dim, part.time});
  }

  // Where the interval of a part without bounds begins: a first one is as long as the next, as far as the run reaches back.
  UtcTime begin_before(std::size_t k, Accumulation how) const {
    const UtcTime start = plan_.reference_time, end = plan_.steps[parts_[k].step];
    if (how == Accumulation::since_start) return std::min(end, start);
    if (follows(k)) return plan_.steps[parts_[k - 1].step];
    if (k + 1 < parts_.size() && follows(k + 1))
      return std::max(std::min(end, start), end - (plan_.steps[parts_[k + 1].step] - end));
    return end > start && end - start <= std::chrono::hours(6) ? start : end;
  }

  RunPlan& plan_;
  const std::vector<const Candidate*>& origin_;
  const Grids& grids_;
  std::vector<std::size_t> fields_;
  std::vector<Part> parts_;
};

}  // namespace

void count_amounts(RunPlan& plan, const std::vector<const Candidate*>& origin, const Grids& grids) {
  for (const core::FedVariable& row : core::fed_variables()) Counting(plan, origin, grids, row.id).settle();
}

}  // namespace hakea::ingest
