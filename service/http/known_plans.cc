#include "service/http/known_plans.h"

#include <fmt/format.h>

#include "service/output/json_writer.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr std::size_t kMost = 16;

void write_pairs(JsonWriter& out, const std::vector<core::UnitDate>& pairs) {
  out.begin_list();
  for (const core::UnitDate& pair : pairs) out.text(pair.unit).text(date_text(pair.date));
  out.end_list();
}

// Every digit counts: two that differ are two questions.
void write_exactly(JsonWriter& out, std::optional<double> number) { out.text(number ? fmt::format("{}", *number) : ""); }

// What is asked, told so that two wishes have one text only where they are one. Means are those of the picture's district
// unless a caller changed them.
std::string text_of(const DistrictView& district, const PlanWish& wish) {
  JsonWriter out;
  out.begin_list().text(district.district.id).text(date_text(wish.from)).text(date_text(wish.to));
  write_pairs(out, wish.with);
  write_pairs(out, wish.without);
  const auto& [means, quiet] = wish.means;
  out.begin_list();
  for (const core::Depot& depot : means.depots) {
    out.text(depot.id).text(depot.name).whole(depot.crews).whole(depot.tankers).whole(depot.plant);
    write_exactly(out, depot.place ? std::optional(depot.place->latitude_deg) : std::nullopt);
    write_exactly(out, depot.place ? std::optional(depot.place->longitude_deg) : std::nullopt);
  }
  out.end_list().begin_list();
  for (const core::Airshed& airshed : means.airsheds) {
    out.text(airshed.id).text(airshed.name).whole(airshed.burns_per_day.value_or(-1));
    write_exactly(out, airshed.area_ha_per_day);
  }
  out.end_list().whole(means.aircraft).whole(means.readiness.free_crews);
  if (quiet) {
    out.whole(static_cast<long long>(quiet->quantity));
    for (const auto& bound : {quiet->acceptable.lower, quiet->acceptable.upper}) {
      write_exactly(out, bound ? std::optional(bound->value) : std::nullopt);
      out.yes_or_no(bound && bound->open);
    }
  }
  return out.end_list().str();
}

}  // namespace

Result<SharedProposal> KnownPlans::get(const Snapshot& picture, const DistrictView& district, const PlanWish& wish,
                                       const core::ProgramSolver& solver) {
  const std::string question = text_of(district, wish);
  {
    const std::lock_guard lock(mutex_);
    if (const auto known = plans_.find(question); picture.number == picture_ && known != plans_.end()) return known->second;
  }
  const auto made = propose_burns(picture, district, wish, solver);
  if (!made) return made.errors();
  const std::lock_guard lock(mutex_);
  if (picture.number < picture_) return made;
  if (picture.number > picture_ || plans_.size() >= kMost) plans_.clear();
  picture_ = picture.number;
  plans_[question] = *made;
  return made;
}

}  // namespace hakea::service
