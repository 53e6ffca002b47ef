#include "service/http/standing.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "service/output/cautions.h"
#include "service/output/json_text.h"
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

bool is_newest(const RunRow& run, const FeedView& feed) { return feed.newest_complete && feed.newest_complete->id == run.id; }

std::string json_of(const StandingNote& standing) {
  JsonWriter out;
  out.begin_object();
  if (standing.run)
    write_run(out.key("run"), *standing.run);
  else
    out.null("run");
  return out.text("freshness", word(standing.freshness)).text("caution", standing.caution).end_object().str();
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

std::optional<RunNote> newest_run(const std::vector<const UnitView*>& units) {
  std::optional<RunNote> newest;
  for (const UnitView* unit : units)
    if (unit->run && (!newest || unit->run->reference_time > newest->reference_time)) newest = unit->run;
  return newest;
}

StandingNote standing_note(const Snapshot& picture, const std::vector<const UnitView*>& units, UtcTime now) {
  std::optional<RunNote> newest = newest_run(units);
  Freshness worst = units.empty() ? Freshness::stale : Freshness::current;
  std::set<const DistrictView*> districts;
  for (const UnitView* unit : units) {
    worst = std::max(worst, unit->freshness);
    const auto district = picture.districts.find(unit->unit.district);
    districts.insert(district == picture.districts.end() ? nullptr : &district->second);
  }
  std::string caution = caution_text(picture, districts.size() == 1 ? *districts.begin() : nullptr, newest, worst, now);
  return {std::move(newest), worst, std::move(caution)};
}

std::string standing_json(const Snapshot& picture, const std::vector<const UnitView*>& units, UtcTime now) {
  return json_of(standing_note(picture, units, now));
}

RunNote run_note(const RunRow& run, const FeedView& feed) {
  return run_note(run, is_newest(run, feed) ? feed.next_expected : std::nullopt);
}

std::string standing_json(const Snapshot& picture, const DistrictView* district, const RunRow& run, const FeedView& feed,
                          UtcTime now) {
  const Freshness freshness = is_newest(run, feed) ? feed.freshness : Freshness::stale;
  const RunNote note = run_note(run, feed);
  return json_of({note, freshness, caution_text(picture, district, note, freshness, now)});
}

Response answer_about(const Call& call, const Snapshot& picture, const std::vector<const UnitView*>& units,
                      const std::string& object, int status) {
  Response answer = call.json(joined_objects(object, standing_json(picture, units, call.now)), status);
  if (call.query("tz") == "unit") answer.body = in_local_time(answer.body, units);
  if (const auto run = newest_run(units); run && run->computed_at)
    answer.headers.emplace_back("Last-Modified", http_date(*run->computed_at));
  return answer;
}

std::string in_local_time(const std::string& json, const std::vector<const UnitView*>& units) {
  constexpr std::string_view kShape = "\"2027-04-02T10:00:00Z\"";
  std::string text;
  std::size_t written = 0;
  for (std::size_t at = json.find("Z\""); at != std::string::npos; at = json.find("Z\"", at + 1)) {
    const std::size_t end = at + 2;
    if (end < kShape.size()) continue;
    const std::size_t begin = end - kShape.size();
    if (json[begin] != '"' || begin < written) continue;
    const auto instant = parse_instant(std::string_view(json).substr(begin + 1, kShape.size() - 2));
    if (!instant) continue;
    std::set<std::chrono::seconds> offsets;
    for (const UnitView* unit : units) offsets.insert(unit->unit.traits.zone.offset_at(*instant));
    if (offsets.size() != 1) continue;
    text.append(json, written, begin + 1 - written);
    text += local_text(*instant, units.front()->unit.traits.zone);
    written = end - 1;
  }
  text.append(json, written);
  return text;
}

}  // namespace hakea::service
