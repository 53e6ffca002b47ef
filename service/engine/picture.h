// Making a picture: what people entered and what is known of the weather, judged at one time.
#pragma once

#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "ingest/station/weather_csv.h"
#include "service/engine/carried_days.h"
#include "service/engine/snapshot.h"
#include "service/engine/weather_record.h"
#include "service/input/config.h"

namespace hakea::service {

// Whether a run's hours are used: published ones, and whole ones that came when a newer one was published already. (One that
// lacks something and is used is published, whenever it came.)
inline bool counts(const RunRow& run) { return run.is_published || run.state == "complete"; }

// Whether what stations saw is too old for anything, beside a run of that reference time.
bool is_seen_no_more(const UnitRun& observed, UtcTime newest);

// What pictures are made of besides people's entries.
struct KnownWeather {
  std::map<std::string, std::vector<UnitRunPtr>, std::less<>> runs;  // by unit: published ones, as far back as they are kept
  std::map<std::string, CarriedDays, std::less<>> carried;           // by unit
  std::vector<RunRow> rows;                                          // newest revision of each run, newest first
  std::map<std::string, std::vector<FileRow>, std::less<>> refused;  // by feed
  std::map<std::string, std::string, std::less<>> trouble;           // by feed

  std::shared_ptr<SeriesShelf> shelf = std::make_shared<SeriesShelf>();  // for members that are too many to be held

  const RunRow* row(std::string_view run) const;
  void put_row(RunRow row);
  // Adds a run of a unit in place of an older revision, and lets go of hours that newer runs cover; what is left of a large one
  // is put aside.
  void put_run(const std::string& unit, UnitRunPtr run, bool is_large = false);
};

struct PictureCall {
  const Config* config = nullptr;
  Store* store = nullptr;
  KnownWeather* weather = nullptr;
  const std::vector<ingest::WeatherTable>* past = nullptr;  // hours of past years
  // The run that the picture will be published with, by unit, all its hours: the store does not tell of it yet.
  const RunRow* fresh_row = nullptr;
  const std::map<std::string, UnitRunPtr, std::less<>>* fresh = nullptr;
  // With such a run: gets the states of rain days that have ended with it. They are put to those of `weather` before
  // anything is weighed by them, so that a later picture of the same runs is the same.
  std::vector<CarriedRow>* carried = nullptr;
  const Snapshot* before = nullptr;  // null for the first picture
  UtcTime now{};
  bool is_demo = false;
  bool read_all = false;           // read all units from the store, not only the changed ones
  std::set<std::string> units{};   // changed ones: read and judged
  bool judge_all = false;          // judge also those that were not changed
  std::size_t verify_at_most = 0;  // runs at units; at least one unit is verified, the rest with the next pictures
};

// `troubles` gets a sentence for whatever could not be used.
Result<std::shared_ptr<Snapshot>> make_picture(const PictureCall& call, std::vector<std::string>& troubles);

}  // namespace hakea::service
