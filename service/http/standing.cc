#include "service/http/standing.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "service/output/cautions.h"
#include "service/output/json_writer.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

std::string age_text(const std::optional<RunNote>& run, Freshness freshness, UtcTime now) {
  if (!run) return "There is no forecast yet: nothing is known of the weather.";
  const auto hours = std::max<std::int64_t>(std::chrono::floor<std::chrono::hours>(now - run->reference_time).count(), 0);
  std::string text = fmt::format("Forecast made {}, {} h old.", utc_text(run->reference_time), hours);
  if (freshness == Freshness::stale) return text + " It is stale: treat every window as unconfirmed.";
  if (freshness == Freshness::late) return text + " The next one is late.";
  return text;
}

std::string json_of(const Snapshot& picture, const DistrictView* district, const std::optional<RunNote>& run, Freshness freshness,
                    UtcTime now) {
  JsonWriter out;
  out.begin_object();
  if (run)
    write_run(out.key("run"), *run);
  else
    out.null("run");
  out.text("freshness", word(freshness));
  out.text("caution", caution_text(picture, district, run, freshness, now));
  out.end_object();
  return out.str();
}

}  // namespace

std::string caution_text(const Snapshot& picture, const DistrictView* district, const std::optional<RunNote>& run,
                         Freshness freshness, UtcTime now) {
  std::vector<std::string> lines;
  std::set<std::string> own;
  for (const auto& [id, view] : picture.districts)
    if (!district || district == &view) own.insert(view.caution.begin(), view.caution.end());
  lines.insert(lines.end(), own.begin(), own.end());
  lines.emplace_back(kGuidance);
  lines.push_back(age_text(run, freshness, now));
  lines.insert(lines.end(), {std::string(kAskAboutBans), std::string(kWatchTheTail), std::string(kNotOfficialRating)});
  return fmt::format("{}", fmt::join(lines, " "));
}

std::string standing_json(const Snapshot& picture, const std::vector<const UnitView*>& units, UtcTime now) {
  std::optional<RunNote> newest;
  Freshness worst = units.empty() ? Freshness::stale : Freshness::current;
  std::set<const DistrictView*> districts;
  for (const UnitView* unit : units) {
    if (unit->run && (!newest || unit->run->reference_time > newest->reference_time)) newest = unit->run;
    worst = std::max(worst, unit->freshness);
    const auto district = picture.districts.find(unit->unit.district);
    districts.insert(district == picture.districts.end() ? nullptr : &district->second);
  }
  return json_of(picture, districts.size() == 1 ? *districts.begin() : nullptr, newest, worst, now);
}

RunNote run_note(const RunRow& run, const FeedView& feed) {
  const bool is_newest = feed.newest_complete && feed.newest_complete->id == run.id;
  return {run.id,
          run.feed,
          run.reference_time,
          run.received_at == UtcTime{} ? std::nullopt : std::optional(run.received_at),
          run.computed_at == UtcTime{} ? std::nullopt : std::optional(run.computed_at),
          is_newest ? feed.next_expected : std::nullopt,
          run.state,
          run.revision};
}

std::string standing_json(const Snapshot& picture, const DistrictView* district, const RunRow& run, const FeedView& feed,
                          UtcTime now) {
  const bool is_newest = feed.newest_complete && feed.newest_complete->id == run.id;
  return json_of(picture, district, run_note(run, feed), is_newest ? feed.freshness : Freshness::stale, now);
}

}  // namespace hakea::service
