#include "service/engine/asked_of_run.h"

#include <algorithm>
#include <set>
#include <string_view>

#include "core/catalogue/catalogue.h"
#include "core/prescription/limit_hours.h"
#include "service/engine/run_columns.h"

namespace hakea::service {
namespace {

using core::Fed;
using core::Scope;
using Names = std::set<std::string_view>;

// A mixing height and its wind are made of levels as soon as a run has them.
bool is_of_levels(const Names& names) {
  return names.contains("mixing_height") ||
         std::any_of(names.begin(), names.end(), [](std::string_view name) { return name.starts_with("level_"); });
}

// Whether an hour of the row rests on the levels of that hour only.
bool is_of_its_hour(std::size_t quantity) {
  const std::string_view key = core::catalogue()[quantity].key;
  return key == "mixing_height" || key == "ventilation_index" || key.starts_with("transport_wind");
}

// The hours of the UTC day that limits on what is made of levels look at, bit by hour.
std::uint32_t hours_with_levels(const Unit& unit, const core::Rows& of_levels) {
  constexpr std::uint32_t kWholeDay = ingest::LeftOut::kWholeDay;
  int after = -1;  // hours after the light-up hours
  for (const core::Limit& limit : unit.prescription.limits) {
    if (!of_levels[limit.quantity]) continue;
    const bool is_within = limit.scope == Scope::each_hour || limit.scope == Scope::at_start ||
                           limit.scope == Scope::window_mean || limit.scope == Scope::window_min ||
                           limit.scope == Scope::window_max;
    if (!is_within || !is_of_its_hour(limit.quantity)) return kWholeDay;
    after = std::max(after, limit.hours_after);
  }
  const auto& within = unit.prescription.within;
  if (after < 0) return 0;
  if (!within) return kWholeDay;
  // Summer time or not: from the earliest to the latest that the clock can mean.
  using std::chrono::hours;
  std::chrono::seconds ahead = unit.traits.zone.periods().front().offset, behind = ahead;
  for (const TimeZone::Period& period : unit.traits.zone.periods()) {
    ahead = std::max(ahead, period.offset);
    behind = std::min(behind, period.offset);
  }
  const auto closes = within->to + (within->to <= within->from ? hours(24) : hours(0)) + hours(after);
  const auto begin = std::chrono::floor<hours>(within->from - ahead), end = std::chrono::ceil<hours>(closes - behind);
  if (end - begin >= hours(24)) return kWholeDay;
  std::uint32_t asked = 0;
  for (hours hour = begin; hour < end; ++hour) asked |= 1U << ((hour.count() % 24 + 24) % 24);
  return asked;
}

}  // namespace

AskedOfRun asked_of_run(std::span<const Unit> units, bool is_alone) {
  AskedOfRun asked;
  core::Rows wanted;
  for (const Unit& unit : units) wanted |= core::rows_of_limits(unit.prescription);
  const core::Rows needed = core::with_inputs(wanted);
  const auto is_needed = [&](std::string_view key) { return needed[core::quantity_index(key)]; };
  // How strong an inversion is says whether a profile was at hand, and is always found.
  static_assert(kInversionStrength == 0);
  if (std::none_of(kLevelKeys.begin() + 1, kLevelKeys.end(), is_needed)) asked.depth = core::AirDepth::mixing;
  if (!is_alone) return asked;
  for (const bool has_levels : {true, false}) {
    const Names names = core::names_behind(wanted, has_levels);
    std::vector<Fed>& out = has_levels ? asked.left_out.always : asked.left_out.without_levels;
    // Only what is fed as it is: another quantity may be made of several.
    for (const Fed fed : {Fed::wind_gust, Fed::wind_from_direction, Fed::precipitation_amount, Fed::shortwave_radiation,
                          Fed::cloud_area_fraction, Fed::mixing_height})
      if (!names.contains(core::describe(fed).key)) out.push_back(fed);
    for (std::size_t f = 0; f < core::kFedCount && !is_of_levels(names); ++f)
      if (core::describe(static_cast<Fed>(f)).on_levels) out.push_back(static_cast<Fed>(f));
  }
  core::Rows of_levels;
  for (std::size_t q = 0; q < core::catalogue().size(); ++q)
    of_levels[q] = wanted[q] && is_of_levels(core::names_behind(core::Rows().set(q), true));
  asked.left_out.hours_with_levels = 0;
  for (const Unit& unit : units) asked.left_out.hours_with_levels |= hours_with_levels(unit, of_levels);
  return asked;
}

}  // namespace hakea::service
