#include "service/tell/shared_smoke.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "core/catalogue/smoke_hours.h"

namespace hakea::service {
namespace {

// The smoke of one unit in the hours in which it smokes.
struct Smoking {
  const UnitView* view;
  core::Burn burn;
  std::map<UtcHour, core::SmokeAir> hours;
};

std::optional<Smoking> smoking(const UnitView& view, LocalDate date) {
  const auto day = std::find_if(view.days.begin(), view.days.end(), [&](const core::Day& d) { return d.date == date; });
  const auto burn = core::burn_of(view.unit.traits);
  if (day == view.days.end() || day->windows.empty() || !burn || !view.weather) return std::nullopt;
  const auto points = hours_of(view);
  if (points.empty() || points.front().empty()) return std::nullopt;
  const core::UnitHours& hours = points.front().front();
  Smoking found{&view, *burn, {}};
  core::SmokeHours smoke(hours);
  bool was_lit = false, has_smouldered = false;
  for (std::size_t i = 0; i < hours.hours; ++i) {
    const UtcHour hour = hours.first + static_cast<int>(i);
    const bool is_known = smoke.move_to(i) == core::Reason::none;
    const bool is_lit = std::any_of(day->windows.begin(), day->windows.end(),
                                    [&](const core::Window& w) { return hour >= w.start && hour < w.end; });
    const bool smoulders = was_lit && !is_lit && smoke.air.is_night;
    if (has_smouldered && !smoulders) break;  // the night is over
    was_lit = was_lit || is_lit;
    has_smouldered = has_smouldered || smoulders;
    if (is_known && (is_lit || smoulders)) found.hours.emplace(hour, smoke.air);
  }
  return found;
}

// The thickest that the smoke of two or more of them becomes at one receptor.
void take_worst(const std::vector<Smoking>& burns, const Receptor& receptor, std::optional<SharedSmoke>& worst) {
  std::map<UtcHour, std::vector<core::Contribution>> together;
  std::map<UtcHour, std::vector<const UnitView*>> whose;
  for (const Smoking& burn : burns) {
    const core::Receptor seen =
        core::seen_from(burn.view->unit.traits.site, receptor.position.latitude_deg, receptor.position.longitude_deg);
    for (const auto& [hour, air] : burn.hours)
      if (core::is_under_smoke(seen, air)) {
        together[hour].push_back({burn.burn, air, seen});
        whose[hour].push_back(burn.view);
      }
  }
  for (const auto& [hour, contributions] : together) {
    if (contributions.size() < 2) continue;
    const core::Concentration sum = core::combined_concentration(contributions);
    if (!std::isfinite(sum.ug_m3) || (worst && !(sum.ug_m3 > worst->ug_m3))) continue;
    worst = SharedSmoke{burns.front().view->unit.airshed,
                        whose[hour],
                        receptor.name.empty() ? receptor.kind : receptor.name,
                        hour,
                        sum.ug_m3,
                        sum.in_domain};
  }
}

}  // namespace

std::vector<SharedSmoke> shared_smoke(const std::vector<const UnitView*>& booked, LocalDate date) {
  std::map<std::string, std::vector<Smoking>> by_airshed;
  for (const UnitView* view : booked)
    if (!view->unit.airshed.empty())
      if (auto burn = smoking(*view, date)) by_airshed[view->unit.airshed].push_back(*std::move(burn));
  std::vector<SharedSmoke> all;
  for (const auto& [airshed, burns] : by_airshed) {
    if (burns.size() < 2) continue;
    std::optional<SharedSmoke> worst;
    for (const Smoking& burn : burns)
      for (const Receptor& receptor : burn.view->unit.receptors) take_worst(burns, receptor, worst);
    if (worst) all.push_back(*std::move(worst));
  }
  return all;
}

}  // namespace hakea::service
