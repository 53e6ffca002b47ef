#include "service/engine/unit_run.h"

#include <algorithm>
#include <cstdint>
#include <cstring>

#include "service/engine/arrivals.h"

namespace hakea::service {
namespace {

// The series of all points one after the other, before each how many bytes it has.
std::string packed(const UnitRun& run) {
  std::string packs;
  for (const auto& members : run.points)
    for (const UnitSeries& series : members) {
      const std::string pack = series.pack();
      const std::uint64_t bytes = pack.size();
      packs.append(reinterpret_cast<const char*>(&bytes), sizeof bytes);
      packs += pack;
    }
  return packs;
}

std::string_view next_pack(std::string_view& packs) {
  std::uint64_t bytes = 0;
  if (packs.size() < sizeof bytes) return {};  // what cannot be unpacked is found to be damaged
  std::memcpy(&bytes, packs.data(), sizeof bytes);
  const std::string_view pack = packs.substr(sizeof bytes, bytes);
  packs.remove_prefix(sizeof bytes + pack.size());
  return pack;
}

}  // namespace

ingest::StationSite site_of(const core::Site& place) {
  return {place.latitude_deg, place.longitude_deg, place.elevation.value()};
}

// Members of a forecast have the same hours.
UtcHour UnitRun::first() const {
  UtcHour first = points.front().front().first();
  for (std::size_t s = 1; s < points.front().size() && is_observed; ++s) first = std::min(first, points.front()[s].first());
  return first;
}

UtcHour UnitRun::end() const {
  UtcHour end = points.front().front().end();
  for (std::size_t s = 1; s < points.front().size() && is_observed; ++s) end = std::max(end, points.front()[s].end());
  return end;
}

UtcHour UnitRun::begins() const { return first_lead > 0 ? std::min(first(), first_hour_from(reference_time)) : first(); }

bool UnitRun::is_at_hand() const {
  if (aside) return aside->is_at_hand;
  return std::any_of(points.begin(), points.end(), [](const auto& members) {
    return std::any_of(members.begin(), members.end(), [](const UnitSeries& series) { return series.is_at_hand(); });
  });
}

UnitRun run_of_feed(const ingest::Feed& feed, std::size_t order, UtcTime reference_time) {
  UnitRun run;
  run.id = run_id(feed.id, reference_time);
  run.feed = feed.id;
  run.order = order;
  run.reference_time = reference_time;
  run.lagged_runs = feed.lagged_runs;
  run.first_lead = feed.hours ? feed.hours->first : 0;
  run.is_observed = feed.observed;
  return run;
}

UnitRun unit_run(const ingest::Feed& feed, std::size_t order, const RunColumns& columns, const Unit& unit,
                 std::size_t first_point) {
  UnitRun run = run_of_feed(feed, order, columns.plan().reference_time);
  for (std::size_t p = 0; p < unit.points.size(); ++p) {
    std::vector<UnitSeries>& members = run.points.emplace_back();
    for (std::size_t member = 0; member < columns.members(); ++member) {
      members.emplace_back(columns, first_point + p, member, unit.points[p].site);
      // What lies outside the feed's lead hours is another's to say.
      const UtcHour issued = UtcHour::of(run.reference_time);
      if (feed.hours && feed.hours->first > 0)
        members.back() = members.back().part(issued + feed.hours->first, members.back().end());
      if (feed.hours) members.back() = members.back().before(issued + feed.hours->last + 1);
      members.back().share_marks_of(members.front());
    }
  }
  return run;
}

UnitRun observed_run(const ingest::Feed& feed, std::size_t order, const ingest::RunPlan& plan,
                     const std::vector<UnitSeries>& stations, const Unit& unit, std::size_t first_point) {
  UnitRun run = run_of_feed(feed, order, plan.reference_time);
  for (std::size_t p = 0; p < unit.points.size(); ++p) {
    const core::Site& place = unit.points[p].site;
    std::vector<UnitSeries>& near = run.points.emplace_back();
    for (const std::int32_t station : plan.near[first_point + p])
      near.push_back(stations[static_cast<std::size_t>(station)].for_place(place));
    if (near.empty()) near.emplace_back(ingest::hours_of(plan).first, place);
  }
  return run;
}

UnitRun joined(const std::vector<UnitRunPtr>& of_files, const Unit& unit) {
  UnitRun run = *of_files.front();
  for (std::size_t p = 0; p < unit.points.size(); ++p) {
    const core::Site& place = unit.points[p].site;
    std::vector<std::pair<ingest::Nearness, const UnitSeries*>> all;
    for (const UnitRunPtr& file : of_files)
      for (const UnitSeries& series : file->points[p])
        if (const auto near = ingest::nearness(site_of(place), site_of(series.sampled_site())); near && series.is_at_hand())
          all.emplace_back(*near, &series);
    std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<UnitSeries> near;
    for (const auto& [nearness, series] : all) {
      if (near.size() == ingest::kStationsAsked) break;
      // The nearest is whole, and shared by the units that it is near to.
      UnitSeries adds = near.empty() ? *series : series->beside(near);
      if (adds.is_at_hand()) near.push_back(std::move(adds));
    }
    if (near.empty()) near.emplace_back(run.points[p].front().first(), place);
    run.points[p] = std::move(near);
  }
  return run;
}

Result<UnitRun> put_aside(const UnitRun& run, SeriesShelf& shelf) {
  auto series = shelf.put(packed(run));
  if (!series) return series.errors();
  UnitRun rest = run;
  rest.aside = std::make_shared<const UnitRun::Aside>(UnitRun::Aside{*std::move(series), run.members(), run.is_at_hand()});
  for (auto& members : rest.points) members.resize(1);
  return rest;
}

Result<UnitRunPtr> whole(const UnitRunPtr& run) {
  if (run->is_whole()) return run;
  const auto packs = run->aside->series->read();
  if (!packs) return packs.errors();
  auto taken_up = std::make_shared<UnitRun>(*run);
  taken_up->aside = nullptr;
  std::string_view rest = *packs;
  for (auto& members : taken_up->points) {
    members.clear();
    for (std::size_t m = 0; m < run->members(); ++m) {
      auto series = UnitSeries::unpack(next_pack(rest), run->id);
      if (!series) return series.errors();
      members.push_back(*std::move(series));
      members.back().share_marks_of(members.front());
    }
  }
  return UnitRunPtr(std::move(taken_up));
}

Result<UnitRun> before(const UnitRun& run, UtcHour end, SeriesShelf& shelf) {
  const auto all = whole(std::make_shared<const UnitRun>(run));
  if (!all) return all.errors();
  UnitRun part = **all;
  for (auto& members : part.points)
    for (UnitSeries& series : members) series = series.before(end);
  return run.is_whole() ? Result<UnitRun>(std::move(part)) : put_aside(part, shelf);
}

Result<std::vector<SeriesBlob>> blobs_of(const std::string& unit, const UnitRun& run) {
  const auto packs = run.is_whole() ? Result<std::string>(packed(run)) : run.aside->series->read();
  if (!packs) return packs.errors();
  std::vector<SeriesBlob> blobs;
  std::string_view rest = *packs;
  for (std::size_t p = 0; p < run.points.size(); ++p)
    for (std::size_t m = 0; m < (run.is_whole() ? run.points[p].size() : run.members()); ++m)
      blobs.push_back({unit, static_cast<int>(p), static_cast<int>(m), std::string(next_pack(rest))});
  return blobs;
}

bool is_for(const UnitRun& run, const Unit& unit) {
  if (run.points.size() != unit.points.size()) return false;
  for (std::size_t p = 0; p < run.points.size(); ++p)
    if (!run.points[p].front().is_for(unit.points[p].site)) return false;
  return true;
}

}  // namespace hakea::service
