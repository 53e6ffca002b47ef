#include "ingest/run/doubles.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>

#include "ingest/cf/time_axis.h"
#include "ingest/run/variable.h"

namespace hakea::ingest {
namespace {

std::size_t index_of(const std::vector<std::int32_t>& list, std::int32_t wanted) {
  return static_cast<std::size_t>(std::find(list.begin(), list.end(), wanted) - list.begin());
}

bool same_bytes(const std::string& a, const std::string& b) {
  std::error_code failed;
  if (std::filesystem::equivalent(a, b, failed)) return true;
  const auto size = std::filesystem::file_size(a, failed);
  if (failed || size != std::filesystem::file_size(b, failed) || failed) return false;
  std::ifstream first(a, std::ios::binary), second(b, std::ios::binary);
  std::vector<char> of_first(1 << 20), of_second(1 << 20);
  for (auto left = static_cast<std::streamsize>(size); left > 0;) {
    const auto part = std::min(left, static_cast<std::streamsize>(of_first.size()));
    if (!first.read(of_first.data(), part) || !second.read(of_second.data(), part) ||
        !std::equal(of_first.begin(), of_first.begin() + part, of_second.begin()))
      return false;
    left -= part;
  }
  return true;
}

// Half of what one packed step is worth: two files may pack the same value each in its own way.
double half_step(const Decoding& d) { return d.scale == 1 ? 0 : std::abs(d.scale * d.to_unit) / 2; }

}  // namespace

void Doubles::settle(const NetcdfFile& file, const TimeCoordinate& time, std::map<std::size_t, std::size_t> time_of_step) {
  givers_.push_back({&file, &time, std::move(time_of_step)});
  HAKEA_EXPECT(givers_.size() == plan_.fields.size());
  const std::size_t field = givers_.size() - 1;
  for (const auto& [step, place] : givers_.back().time_of_step) settle_step(field, step);
}

void Doubles::settle_step(std::size_t field, std::size_t step) {
  const FieldPlan& f = plan_.fields[field];
  const std::vector<std::int32_t> surface{0}, unnumbered{-1};
  bool is_known = true;
  std::set<std::size_t> quarrels;
  for (const std::int32_t level : core::describe(f.fed).on_levels ? f.level_of : surface) {
    if (level < 0) continue;
    auto& given = given_[{f.fed, step, level}];
    for (const std::int32_t member : f.member_of.empty() ? unnumbered : f.member_of) {
      bool is_given = false;
      for (const auto& [other_member, other] : given) {
        if (other == field || quarrels.contains(other) || (other_member != member && other_member >= 0 && member >= 0)) continue;
        const Finding finding = compare(other, field, step, level, member);
        is_given = is_given || finding != Finding::within_file;
        if (finding == Finding::differing) quarrels.insert(other);
      }
      is_known = is_known && is_given;
      given.emplace_back(member, field);
    }
  }
  if (is_known && quarrels.empty()) withdraw(field, step);
  for (const std::size_t other : quarrels) {
    const bool numbered = !f.member_of.empty(), other_numbered = !plan_.fields[other].member_of.empty();
    if (numbered || !other_numbered) refuse(other, field, step);
    if (other_numbered || !numbered) refuse(field, other, step);
  }
}

Doubles::Finding Doubles::compare(std::size_t first, std::size_t second, std::size_t step, std::int32_t level,
                                  std::int32_t member) {
  const FieldPlan &a = plan_.fields[first], &b = plan_.fields[second];
  if (a.file == b.file) {
    plan_.note(fmt::format("{} of {} is given by two variables of {}, {} counts", core::describe(b.fed).key,
                           utc_text(plan_.steps[step]), file_name(second), givers_[second].file->variables()[b.variable].name));
    withdraw(first, step);
    return Finding::within_file;
  }
  if (a.member_of.empty() != b.member_of.empty()) return Finding::differing;
  const auto [known, is_new] = same_bytes_.try_emplace({a.file, b.file}, false);
  if (is_new) {
    known->second = same_bytes(plan_.files[a.file], plan_.files[b.file]);
    if (known->second) plan_.note(fmt::format("{} and {} are the same; one is read", file_name(first), file_name(second)));
  }
  return known->second || same_values(first, second, step, level, member) ? Finding::same : Finding::differing;
}

bool Doubles::same_values(std::size_t first, std::size_t second, std::size_t step, std::int32_t level,
                          std::int32_t member) const {
  const FieldPlan &a = plan_.fields[first], &b = plan_.fields[second];
  const StepTime when = interval(first, step), other = interval(second, step);
  if (a.grid != b.grid || when.begin != other.begin || when.end != other.end) return false;
  const auto of_a = values(first, step, level, member), of_b = values(second, step, level, member);
  const double packing = half_step(a.decoding) + half_step(b.decoding);
  return !of_a.empty() && std::equal(of_a.begin(), of_a.end(), of_b.begin(), of_b.end(), [&](double x, double y) {
    if (std::isnan(x) || std::isnan(y)) return std::isnan(x) == std::isnan(y);
    return std::abs(x - y) <= packing + 1e-6 * std::max(std::abs(x), std::abs(y));
  });
}

// As the file bounds it; an instant where it does not.
StepTime Doubles::interval(std::size_t field, std::size_t step) const {
  const TimeCoordinate& time = *givers_[field].time;
  const std::size_t place = givers_[field].time_of_step.at(step);
  if (time.begin.empty()) return {plan_.steps[step], plan_.steps[step]};
  return {time.begin[place], time.end[place]};
}

std::vector<double> Doubles::values(std::size_t field, std::size_t step, std::int32_t level, std::int32_t member) const {
  const FieldPlan& f = plan_.fields[field];
  const Giver& giver = givers_[field];
  std::vector<std::size_t> count = giver.file->shape_of(f.variable), start(count.size(), 0);
  const auto fix = [&](int dimension, std::size_t index) {
    if (dimension < 0) return;
    start[static_cast<std::size_t>(dimension)] = index;
    count[static_cast<std::size_t>(dimension)] = 1;
  };
  fix(f.time_dim, giver.time_of_step.at(step));
  if (f.member_dim >= 0) fix(f.member_dim, index_of(f.member_of, member));
  if (f.level_dim >= 0) fix(f.level_dim, index_of(f.level_of, level));
  auto read = giver.file->read(f.variable, start, count);
  if (!read) return {};
  for (double& x : *read) x = decoded(f.decoding, x);
  return *std::move(read);
}

void Doubles::withdraw(std::size_t field, std::size_t step) {
  for (std::int32_t& s : plan_.fields[field].step_of_time)
    if (s == static_cast<std::int32_t>(step)) s = -1;
  plan_.field_times[field][step] = {UtcTime::min(), UtcTime::min()};
}

void Doubles::refuse(std::size_t field, std::size_t other, std::size_t step) {
  withdraw(field, step);
  const FieldPlan& f = plan_.fields[field];
  if (!refused_.insert({field, plan_.fields[other].file}).second) return;
  plan_.refusals.push_back(
      {plan_.files[f.file], givers_[field].file->variables()[f.variable].name,
       fmt::format("gives {} of {} otherwise than {} does", core::describe(f.fed).key, utc_text(plan_.steps[step]),
                   file_name(other)),
       "give each time once; files of one member each need a coordinate with standard_name realization that numbers it"});
}

std::string Doubles::file_name(std::size_t field) const { return plan_.file_name(plan_.fields[field].file); }

}  // namespace hakea::ingest
