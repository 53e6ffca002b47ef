#include "core/days/night_smoke.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace hakea::core {
namespace {

constexpr std::chrono::hours kStopBy{15};  // standard time

constexpr std::array<std::string_view, 9> kBearOnSmoke{"wind_speed",           "mixing_height",       "transport_wind_speed",
                                                       "ventilation_index",    "stability_class",     "inversion_strength",
                                                       "near_ground_gradient", "smoke_concentration", "receptors_under_smoke"};

bool bears_on_smoke(const Limit& limit) {
  return limit.scope == Scope::night_after &&
         std::find(kBearOnSmoke.begin(), kBearOnSmoke.end(), catalogue()[limit.quantity].key) != kBearOnSmoke.end();
}

}  // namespace

std::optional<NightSmoke> night_smoke_not_kept(const Record& record, const Judge& judge, Stretch window, Certainty certainty) {
  const DateHours &first = judge.first().date, &last = judge.last().date;
  const auto end = judge.last_window_end(first.within_begin + window.end, certainty);
  if (!end) return std::nullopt;
  for (std::size_t i = 0; i < record.limits().size(); ++i) {
    if (!bears_on_smoke(record.limits()[i].limit())) continue;
    const StretchValue value = record.tail_of(i, last, *end);
    if (value.fit != Fit::out) continue;
    const UnitClock& clock = record.clock();
    NightSmoke found{.limit = i, .value = {}, .at = clock.hour(value.at), .finish_by = {}};
    if (!std::isnan(value.value)) found.value = static_cast<float>(value.value);
    const int begin = &judge.first() == &judge.last() ? first.within_begin + window.begin : last.within_begin;
    const UtcTime stop_by = clock.standard_instant(last.date, kStopBy);
    if (clock.hour(begin).start() < stop_by && stop_by < clock.hour(*end).start()) found.finish_by = stop_by;
    return found;
  }
  return std::nullopt;
}

}  // namespace hakea::core
