// The section about the season: how dry the ground is, which units calendar and drought limits let be burnt, what was lit, and
// whose days are rare.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <set>
#include <span>

#include "core/days/explain.h"
#include "core/prescription/limit_hours.h"
#include "service/engine/weather_record.h"
#include "service/tell/digest_sections.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

using std::chrono::days;

// What changes with the season, from day to day and not from hour to hour.
constexpr std::array<std::string_view, 3> kGround{"kbdi", "drought_factor", "days_since_rain"};
constexpr std::array<std::string_view, 5> kDrought{"kbdi", "drought_factor", "dmc", "dc", "bui"};
constexpr std::chrono::hours kNoon{12};
constexpr days kSeason{365};  // neighbours are not lit within twelve months
constexpr int kGates = 4;     // units that open or close before the rest is only counted

struct ValueRange {
  double least = std::numeric_limits<double>::infinity(), most = -std::numeric_limits<double>::infinity();
  void add(double value) {
    if (std::isnan(value)) return;
    least = std::min(least, value);
    most = std::max(most, value);
  }
  bool is_known() const { return least <= most; }
};

// A unit's first point, by its days of the season; nothing where it has no weather.
struct Ground {
  std::array<double, kGround.size()> values;    // at an hour of the digest's date
  std::map<LocalDate, core::Fit> keeps_limits;  // on drought, at noon of the dates that are judged
};

std::optional<std::size_t> hour_index(const core::UnitHours& hours, UtcTime t) {
  const UtcHour hour = UtcHour::of(t);
  if (hour < hours.first || hour >= hours.end()) return std::nullopt;
  return static_cast<std::size_t>(hour - hours.first);
}

std::optional<Ground> ground_of(const UnitView& view, UtcTime at) {
  const auto record = whole_weather_of(view);
  if (!record) return std::nullopt;
  const core::Prescription& prescription = view.unit.prescription;
  core::UnitHours hours = record->point_hours(view.unit, 0, 0, std::nullopt);
  core::Rows wanted;
  for (const auto& keys : {std::span<const std::string_view>(kGround), std::span<const std::string_view>(kDrought)})
    for (const std::string_view key : keys) wanted.set(core::quantity_index(key));
  core::compute_all(hours, wanted);
  Ground ground{};
  const auto i = hour_index(hours, at);
  for (std::size_t q = 0; q < kGround.size(); ++q)
    ground.values[q] = i ? static_cast<double>(hours[kGround[q]][*i]) : std::numeric_limits<double>::quiet_NaN();
  const core::UnitHours* point = &hours;
  for (const core::Limit& limit : prescription.limits) {
    if (limit.kind == core::Kind::preference ||
        std::find(kDrought.begin(), kDrought.end(), core::catalogue()[limit.quantity].key) == kDrought.end())
      continue;
    const core::LimitHours held(limit, prescription, {&point, 1});
    for (const core::Day& day : view.days) {
      const auto noon = hour_index(hours, view.unit.traits.zone.instant(day.date, kNoon));
      const core::Fit fit = noon ? held.fit(static_cast<int>(*noon)) : core::Fit::unknown;
      core::Fit& all = ground.keeps_limits.emplace(day.date, core::Fit::in).first->second;
      if (fit == core::Fit::out || all == core::Fit::in) all = fit;
    }
  }
  return ground;
}

// Whether calendar and drought limits let a unit be burnt on a date.
core::Fit gate_of(const UnitView& view, const Ground& ground, LocalDate date) {
  const core::Day* day = day_on(view, date);
  if (!day) return core::Fit::unknown;
  const bool is_shut = std::any_of(day->blocked_by.begin(), day->blocked_by.end(),
                                   [](const core::Blocked& by) { return by.kind == "season" || by.kind == "closed"; });
  if (is_shut) return core::Fit::out;
  const auto limits = ground.keeps_limits.find(date);
  return limits == ground.keeps_limits.end() ? core::Fit::in : limits->second;
}

// "71 to 84 mm", "0 d".
std::string range_words(const ValueRange& range, std::string_view unit) {
  const double step = range.most < 20 ? 10 : 1;  // drought factors are told to a tenth
  const double least = std::round(range.least * step) / step, most = std::round(range.most * step) / step;
  return least < most ? fmt::format("{:g} to {}", least, core::with_unit(most, unit)) : core::with_unit(most, unit);
}

std::string ground_words(const std::vector<Ground>& grounds) {
  std::vector<std::string> known, unknown;
  for (std::size_t q = 0; q < kGround.size(); ++q) {
    ValueRange range;
    for (const Ground& ground : grounds) range.add(ground.values[q]);
    const core::QuantityRow& row = core::catalogue()[core::quantity_index(kGround[q])];
    if (range.is_known())
      known.push_back(fmt::format("{} {}", spoken(row), range_words(range, row.unit)));
    else
      unknown.push_back(spoken(row));
  }
  std::string text;
  if (!known.empty()) text = capital(listed(known)) + ".";
  if (!unknown.empty()) text += fmt::format("{}Not known: {}.", text.empty() ? "" : " ", listed(unknown));
  return text;
}

// Which units calendar and drought limits let be burnt, and which open or close among the days that are judged.
std::string gate_words(const Morning& morning, const std::map<const UnitView*, Ground>& grounds) {
  std::size_t open = 0, unknown = 0;
  std::vector<std::string> changes;
  for (const auto* view : morning.units) {
    const auto ground = grounds.find(view);
    const core::Fit now = ground == grounds.end() ? core::Fit::unknown : gate_of(*view, ground->second, morning.date);
    open += now == core::Fit::in ? 1 : 0;
    unknown += now == core::Fit::unknown ? 1 : 0;
    if (now == core::Fit::unknown) continue;
    for (LocalDate date = morning.date + days(1); day_on(*view, date); date += days(1)) {
      const core::Fit then = gate_of(*view, ground->second, date);
      if (then == core::Fit::unknown || then == now) continue;
      changes.push_back(fmt::format("{} {} {}", view->unit.name, now == core::Fit::in ? "shuts" : "opens", weekday_name(date)));
      break;
    }
  }
  std::string text = fmt::format("Open by calendar and drought: {} of {}", open, counted(morning.units.size(), "unit", "units"));
  if (unknown > 0) text += fmt::format(", {} not known", unknown);
  const std::size_t more = changes.size() - std::min(changes.size(), std::size_t(kGates));
  changes.resize(changes.size() - more);
  for (const std::string& change : changes) text += "; " + change;
  if (more > 0) text += fmt::format("; and {}", counted(more, "more change", "more changes"));
  return text + ".";
}

// From the bookings of twelve months and what outcomes left of the units.
std::string lit_words(const Morning& morning) {
  std::set<std::string_view> lit, open;
  for (const Booking& booking : morning.district.district.bookings) {
    const UnitView* view = morning.snapshot.unit_or_retired(booking.unit);
    if (!view || view->unit.district != morning.district.district.id || !booking.lit_at) continue;
    const LocalDate date = view->unit.traits.zone.date(*booking.lit_at);
    if (date > morning.date || date + kSeason <= morning.date) continue;
    lit.insert(booking.unit);
    if (is_open_burn(booking)) open.insert(booking.unit);
  }
  std::string text = fmt::format("Lit in twelve months: {}", counted(lit.size(), "unit", "units"));
  if (!open.empty()) text += fmt::format(", {} still open", open.size());
  const auto in_part = std::count_if(morning.units.begin(), morning.units.end(),
                                     [](const UnitView* view) { return view->unit.status == "part_burnt"; });
  if (in_part > 0) text += fmt::format("; {} burnt in part", in_part);
  return text + ".";
}

// Empty where no past years are configured.
std::string rarity_words(const Morning& morning) {
  const UnitView* rarest = nullptr;
  double fewest = std::numeric_limits<double>::infinity();
  for (const UnitView* view : morning.units)
    if (const auto days_a_year = met_days_a_year(*view); days_a_year && *days_a_year < fewest)
      rarest = view, fewest = *days_a_year;
  if (!rarest) return "";
  return fmt::format("Rarest by past years: {}, {:.0f} met days a year.", rarest->unit.name, fewest);
}

}  // namespace

DigestLines season_lines(const Morning& morning) {
  if (!morning.has_days) return {line_of("Not known: no forecast has been read yet."), line_of(lit_words(morning))};
  const TimeZone& zone = zone_of(morning.district);
  const bool is_of_its_date = morning.date == zone.date(morning.snapshot.now);
  const UtcTime at = is_of_its_date ? morning.snapshot.now : zone.instant(morning.date, kNoon);
  std::map<const UnitView*, Ground> by_unit;
  std::vector<Ground> grounds;
  for (const UnitView* view : morning.units)
    if (auto ground = ground_of(*view, at)) {
      grounds.push_back(*ground);
      by_unit.emplace(view, *std::move(ground));
    }
  DigestLines lines{line_of(ground_words(grounds))};
  if (!grounds.empty()) lines.push_back(line_of(gate_words(morning, by_unit)));
  lines.push_back(line_of(lit_words(morning)));
  if (const std::string rarity = rarity_words(morning); !rarity.empty()) lines.push_back(line_of(rarity));
  return lines;
}

}  // namespace hakea::service
