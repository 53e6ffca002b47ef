// What the runs of one feed say at the points of many units: the newest run, and before it what older runs knew.
//
// A few hundred bytes an hour-of-a-unit would be gigabytes, so runs are kept as floats (run_columns.h), an ensemble that is
// larger than that in a file (slab_spool.h), and a unit's series are made on demand, block by block of neighbouring points.
// Reading is single-threaded and deterministic; what is const may be called from several threads.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "ingest/arrival/reader_process.h"
#include "service/engine/run_columns.h"
#include "service/engine/slab_spool.h"
#include "service/engine/weather_record.h"

namespace hakea::service {

struct RunReading {
  bool all_members = false;             // else the first member only
  std::vector<std::size_t> block_ends;  // see SlabSpool; empty: one block
  ingest::ReadLimits limits;
  // Told which run is read, of how many, and how much of it has come.
  std::function<void(std::size_t run, std::size_t of, double share)> tell{};
  std::function<void(const ingest::RunPlan&)> on_plan{};  // told besides, if set: what the reader says
  std::function<void(const ingest::Slab&)> on_slab{};
  double held_bytes = 100e6;  // an ensemble that would take more is not held
  AskedOfRun asked{};
};

// What the stations of a file saw: they, and not the points of units, are the points of its plan.
struct SeenFile {
  ingest::RunPlan plan;
  std::vector<UnitSeries> stations;
};

// The runs of a feed at the points of one block.
class RunBlock {
 public:
  // Oldest first, at a unit whose points begin with `first_point`; of stations each file by itself.
  std::vector<UnitRunPtr> at(const Unit& unit, std::size_t first_point) const;

 private:
  friend class RunWeather;
  const ingest::Feed* feed_ = nullptr;
  std::size_t order_ = 0;
  std::vector<std::pair<std::shared_ptr<const RunColumns>, std::size_t>> runs_;  // each with the first point it has
  std::vector<std::shared_ptr<const SeenFile>> seen_;                            // where the feed is of stations
};

class RunWeather {
 public:
  // `runs` holds the files of each run, oldest first, at least one, of stations each file by itself; `order` is that of the feed
  // among others. The newest must be readable, of what was observed any; one that is not is left out and named in left_out().
  static Result<RunWeather> read(const ingest::Feed& feed, const std::vector<std::vector<std::string>>& runs,
                                 const std::vector<core::Site>& points, const RunReading& how, std::size_t order = 0);
  // From runs already read, oldest first; the last is the newest.
  explicit RunWeather(std::vector<RunColumns> runs);

  const ingest::RunPlan& newest() const { return runs_.back().plan(); }
  // Of each run, oldest first, with its plan.
  std::vector<std::pair<const ingest::RunPlan*, const std::vector<ingest::FieldQuality>*>> qualities() const;
  const Errors& left_out() const { return left_out_; }
  const ingest::Feed& feed() const { return *feed_; }

  // Errors: what was put into a file cannot be read again.
  Result<RunBlock> block(std::size_t block) const;

 private:
  struct Held {
    std::shared_ptr<const RunColumns> columns;  // or
    std::shared_ptr<const SlabSpool> spool;     // or
    std::shared_ptr<const SeenFile> seen;
    UtcHour keep_before;
    std::vector<ingest::FieldQuality> quality;
    const ingest::RunPlan& plan() const { return seen ? seen->plan : columns ? columns->plan() : spool->plan(); }
  };
  RunWeather() = default;

  std::shared_ptr<const ingest::Feed> feed_;
  std::size_t order_ = 0;
  std::vector<core::Site> points_;
  RunReading how_;
  std::vector<Held> runs_;
  Errors left_out_;
};

}  // namespace hakea::service
