#include "service/http/shown_hours.h"

#include <algorithm>

#include "core/catalogue/catalogue.h"
#include "service/output/day_json.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

void write_fits(JsonWriter& out, const std::vector<core::Fit>& fits) {
  out.key("fit").begin_list();
  for (const core::Fit fit : fits) out.text(word(fit));
  out.end_list();
}

// The hours [begin, end) of a column.
core::Column part_of(const core::Column& column, std::size_t begin, std::size_t end) {
  core::Column part(end - begin);
  for (std::size_t i = begin; i < end; ++i) {
    if (column.is_missing(i))
      part.set_missing(i - begin, column.why(i));
    else
      part.set(i - begin, static_cast<double>(column[i]), column.flags(i));
  }
  return part;
}

}  // namespace

void write_limit_fits(JsonWriter& out, const core::Prescription& prescription, const std::vector<std::vector<core::Fit>>& fits) {
  out.key("limits").begin_list();
  for (std::size_t i = 0; i < fits.size(); ++i) {
    const core::Limit& limit = prescription.limits[i];
    out.begin_object().text("quantity", core::catalogue()[limit.quantity].key).text("scope", word(limit.scope));
    write_fits(out, fits[i]);
    out.end_object();
  }
  out.end_list();
}

std::string hours_on_trial_json(const UnitView& view, const core::Prescription& prescription, UtcTime now) {
  JsonWriter out;
  out.begin_object().key("hours");
  const auto points = hours_of(view);
  if (points.empty() || points.front().empty()) return out.null().end_object().str();  // before the first run
  const core::UnitPlan plan;
  const core::DayInput input{&view.unit.traits, &prescription, &plan, now, now, points};
  const core::UnitHours& hours = points.front().front();
  out.begin_object().key("times").begin_list();
  for (std::size_t i = 0; i < hours.hours; ++i) out.text(utc_text((hours.first + static_cast<int>(i)).start()));
  out.end_list();
  write_fits(out, core::fit_by_hour(input));
  write_limit_fits(out, prescription, core::fit_of_limits_by_hour(input));
  return out.end_object().end_object().str();
}

core::UnitHours hours_between(const core::UnitHours& all, std::optional<UtcTime> from, std::optional<UtcTime> to,
                              const std::vector<std::size_t>& quantities) {
  const auto index = [&](std::optional<UtcTime> t, std::size_t otherwise) {
    if (!t) return otherwise;
    return static_cast<std::size_t>(
        std::clamp<std::int64_t>(first_hour_from(*t) - all.first, 0, static_cast<std::int64_t>(all.hours)));
  };
  const std::size_t begin = index(from, 0), end = std::max(begin, index(to, all.hours));
  core::UnitHours part;
  part.unit = all.unit;
  part.first = all.first + static_cast<int>(begin);
  part.hours = end - begin;
  part.columns.resize(all.columns.size());
  for (const std::size_t q : quantities) part.columns[q] = part_of(all.columns[q], begin, end);
  const auto stretch = [&](const auto& list, auto& into) {
    if (list.size() == all.hours)
      into.assign(list.begin() + static_cast<std::ptrdiff_t>(begin), list.begin() + static_cast<std::ptrdiff_t>(end));
  };
  stretch(all.mixing, part.mixing);
  stretch(all.stability, part.stability);
  return part;
}

Result<ShownHours> hours_to_show(const UnitView& view, const std::optional<std::string>& run, std::optional<UtcTime> from,
                                 std::optional<UtcTime> to, UtcTime now, const std::vector<std::size_t>& quantities,
                                 bool with_members) {
  const auto points = run ? hours_of(view, *run) : Result<std::vector<std::vector<core::UnitHours>>>(hours_of(view));
  if (!points) return points.errors();
  ShownHours shown;
  shown.hours.unit = &view.unit.traits;
  shown.hours.columns.resize(core::catalogue().size());
  if (points->empty() || points->front().empty()) return shown;  // before the first run
  const core::UnitPlan plan;
  const core::DayInput input{&view.unit.traits, &view.unit.prescription, &plan, now, now, *points};
  const std::vector<core::Fit> fit = core::fit_by_hour(input);
  const core::UnitHours& all = points->front().front();
  shown.hours = hours_between(all, from, to, quantities);
  shown.hours.unit = &view.unit.traits;
  const auto begin = static_cast<std::size_t>(shown.hours.first - all.first), end = begin + shown.hours.hours;
  shown.fit.assign(fit.begin() + static_cast<std::ptrdiff_t>(begin), fit.begin() + static_cast<std::ptrdiff_t>(end));
  for (const std::vector<core::Fit>& fits : core::fit_of_limits_by_hour(input))
    shown.limit_fits.emplace_back(fits.begin() + static_cast<std::ptrdiff_t>(begin),
                                  fits.begin() + static_cast<std::ptrdiff_t>(end));
  if (with_members) shown.members = member_spread(points->front(), begin, end, quantities);
  if (!run) shown.corrected = corrected_hours(view, *points);
  if (shown.corrected) {
    for (core::Column& column : shown.corrected->columns) column = part_of(column, begin, end);
    for (std::vector<double>& of : shown.corrected->deviations)
      of = {of.begin() + static_cast<std::ptrdiff_t>(begin), of.begin() + static_cast<std::ptrdiff_t>(end)};
    const auto first = shown.corrected->fit.begin();
    shown.corrected->fit = {first + static_cast<std::ptrdiff_t>(begin), first + static_cast<std::ptrdiff_t>(end)};
  }
  return shown;
}

}  // namespace hakea::service
