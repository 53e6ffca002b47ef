// Reading a run in a child process, so that a damaged file can harm the child and never the parent.
//
// The parent starts its own program again (/proc/self/exe read-run, descriptors handed over), with limits on time, CPU and,
// outside sanitizer builds, memory. The child plans the run, reads it and sends the sampled slabs through a pipe; the parent
// checks every length. If the child crashes or hangs, the file at hand is refused with that reason and the child starts
// again with the others. main() must hand the hidden command `read-run` to reader_main() before anything else.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "ingest/run/forecast_run.h"

namespace hakea::ingest {

struct ReadLimits {
  int seconds = 600;  // wall time without progress before the child is ended
  int cpu_seconds = 1200;
  std::size_t memory_mb = 2048;
};

// Called in the parent, on the caller's thread: first with the plan (stencils left out), then with slabs in the order that
// read_fields() promises. When a file had to be given up midway the plan comes again, without it: everything received
// before is void then.
struct RunReceiver {
  std::function<void(const RunPlan&)> on_plan;
  std::function<void(Slab&&)> on_slab;
};

// One entry of quality for each field of the last plan. Errors when no file could be read. Refusals of single files and variables
// are in the plan.
Result<std::vector<FieldQuality>> read_run(const Feed& feed, const std::vector<std::string>& files,
                                           const std::vector<PointOfInterest>& points, const ReadLimits& limits,
                                           const RunReceiver& receiver, const LeftOut& left_out = {});

// The reference times of files, found in the child too.
struct FileReference {
  std::string file;
  Result<UtcTime> reference_time;
};
std::vector<FileReference> reference_times(const Feed& feed, const std::vector<std::string>& files, const ReadLimits& limits);

// How the child understands files. Tests of this process give it a plain understanding that crashes when told to.
struct Understanding {
  Result<RunPlan> (*plan)(const Feed&, const std::vector<std::string>& files, const std::vector<PointOfInterest>&) = plan_run;
  Result<UtcTime> (*reference_time)(const Feed&, const std::string& file) = reference_time_of;
};

// What the child runs; called by main() for the hidden command `read-run`. What to do comes through its descriptors.
int reader_main(const Understanding& understanding = {});

}  // namespace hakea::ingest
