#include "ingest/arrival/reader_process.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <numeric>
#include <set>
#include <utility>

#include "core/base/zone.h"
#include "ingest/arrival/child.h"
#include "ingest/arrival/wire.h"
#include "ingest/format/netcdf_file.h"

namespace hakea::ingest {
namespace {

enum Kind : std::uint32_t { at_hand, plan, points, slab, refused, failed, reference, done };
enum class Task : std::uint8_t { run, references };

struct Request {
  Task task = Task::run;
  ReadLimits limits;
  Feed feed;
  std::vector<std::string> files;
  std::vector<PointOfInterest> points;
  LeftOut left_out{};
};

template <class A>
void exchange(A& a, Request& r) {
  wire::all(a, r.task, r.limits.cpu_seconds, r.limits.memory_mb, r.feed, r.files, r.points, r.left_out.hours_with_levels,
            r.left_out.always, r.left_out.without_levels);
}

// The child's side.

// Which fields are read in one call. Fields on levels of the same steps make up one profile, whatever their files.
std::vector<std::vector<std::size_t>> passes(const RunPlan& run, const LeftOut& left_out) {
  std::map<std::size_t, std::vector<std::size_t>> surface;                          // by file
  std::vector<std::pair<std::set<std::int32_t>, std::vector<std::size_t>>> levels;  // steps, fields
  for (std::size_t f = 0; f < run.fields.size(); ++f) {
    const FieldPlan& field = run.fields[f];
    if (left_out.has(field.fed, run)) continue;
    if (!core::describe(field.fed).on_levels) {
      surface[field.file].push_back(f);
      continue;
    }
    std::set<std::int32_t> steps(field.step_of_time.begin(), field.step_of_time.end());
    steps.erase(-1);
    std::vector<std::size_t> fields{f};
    std::erase_if(levels, [&](auto& other) {
      const bool meets = std::any_of(other.first.begin(), other.first.end(), [&](std::int32_t s) { return steps.contains(s); });
      if (!meets) return false;
      steps.insert(other.first.begin(), other.first.end());
      fields.insert(fields.end(), other.second.begin(), other.second.end());
      return true;
    });
    std::sort(fields.begin(), fields.end());
    levels.emplace_back(std::move(steps), std::move(fields));
  }
  std::sort(levels.begin(), levels.end());
  std::vector<std::vector<std::size_t>> all;
  for (auto& [file, fields] : surface) all.push_back(std::move(fields));
  for (auto& [steps, fields] : levels) all.push_back(std::move(fields));
  return all;
}

// The fields, without the steps of levels between which and their neighbours no hour is asked for.
std::vector<FieldPlan> fields_asked(const RunPlan& run, const LeftOut& left_out) {
  std::vector<FieldPlan> fields = run.fields;
  if (left_out.hours_with_levels == LeftOut::kWholeDay) return fields;
  std::set<std::int32_t> steps;
  for (const FieldPlan& field : fields)
    if (core::describe(field.fed).on_levels) steps.insert(field.step_of_time.begin(), field.step_of_time.end());
  steps.erase(-1);
  std::set<std::int32_t> asked;
  for (auto step = steps.begin(); step != steps.end(); ++step) {
    const auto at = [&](auto other) { return run.steps[static_cast<std::size_t>(*other)]; };
    constexpr std::chrono::hours kReach{6};  // of a profile: none is interpolated across more
    UtcTime from = at(step) - kReach, to = at(step) + kReach;
    if (step != steps.begin()) from = std::max(from, at(std::prev(step)));
    if (std::next(step) != steps.end()) to = std::min(to, at(std::next(step)));
    for (UtcHour hour = first_hour_from(from + std::chrono::seconds(1)); hour.start() < to; hour = hour + 1)
      if (!left_out.has_levels_of(hour)) asked.insert(*step);
  }
  for (FieldPlan& field : fields)
    for (std::int32_t& step : field.step_of_time)
      if (core::describe(field.fed).on_levels && !asked.contains(step)) step = -1;
  return fields;
}

// Errors name the file first in `where`; the parent gives that file up.
void send_errors(const Errors& errors, const std::vector<std::string>& files) {
  std::size_t file = files.size(), longest = 0;
  for (std::size_t i = 0; i < files.size(); ++i) {
    if (errors.front().where.starts_with(files[i]) && files[i].size() > longest) {
      file = i;
      longest = files[i].size();
    }
  }
  if (file < files.size())
    send(Kind::refused, wire::pack(files[file], errors));
  else
    send(Kind::failed, wire::pack(errors));
}

void send_slab(const Slab& s, std::shared_ptr<const PointList>& last_points) {
  if (s.points != last_points) {
    last_points = s.points;
    send(Kind::points, wire::pack(*s.points));
  }
  // the values go as they lie, as wire::pack would write them
  send(Kind::slab, wire::pack(s.field, s.first_step, s.steps, s.members, s.levels, s.values.size()), s.values);
}

void read_in_child(const Request& request, const Understanding& understanding) {
  const auto planned = understanding.plan(request.feed, request.files, request.points);
  if (!planned) return send_errors(planned.errors(), request.files);
  const RunPlan& run = *planned;
  RunPlan told = run;
  told.stencils.clear();
  send(Kind::plan, wire::pack(std::move(told)));
  const std::vector<FieldPlan> fields = fields_asked(run, request.left_out);
  std::vector<FieldQuality> quality(run.fields.size());
  std::shared_ptr<const PointList> last_points;
  for (const auto& which : passes(run, request.left_out)) {
    std::map<std::size_t, NetcdfFile> open;
    std::vector<const NetcdfFile*> files(run.files.size(), nullptr);
    for (const std::size_t f : which) {
      const std::size_t file = run.fields[f].file;
      if (open.contains(file)) continue;
      auto opened = NetcdfFile::open(run.files.at(file));
      if (!opened) return send_errors(opened.errors(), request.files);
      files[file] = &open.emplace(file, std::move(*opened)).first->second;
    }
    const RunShape shape{run.steps.size(), run.members, run.levels_hpa.size()};
    const auto read = read_fields(files, fields, which, run.stencils, shape, [&](Slab&& s) { send_slab(s, last_points); });
    if (!read) return send_errors(read.errors(), request.files);
    for (const std::size_t f : which) quality[f] = (*read)[f];
  }
  send(Kind::done, wire::pack(quality));
}

void find_references_in_child(const Request& request, const Understanding& understanding) {
  for (const std::string& file : request.files) {
    send(Kind::at_hand, wire::pack(file));
    const auto found = understanding.reference_time(request.feed, file);
    send(Kind::reference, wire::pack(file, found ? std::optional(*found) : std::nullopt, found ? Errors{} : found.errors()));
  }
  send(Kind::done, {});
}

// The parent's side.

Error gave_up(const std::string& file, const std::string& how) {
  return {ErrorKind::unreadable, "reader_ended", file, "the reader of this file " + how,
          "the file is damaged or far too large; fetch it again, and keep it for a report if that does not help"};
}

constexpr std::size_t kMostMembers = 1000;
constexpr std::chrono::hours kFurthestTime{24 * 366 * 8000};  // from 1970

// How many points the run has.
std::size_t points_of(const RunPlan& run, const Request& request) {
  return request.feed.observed ? run.stations.size() : request.points.size();
}

// What a plan promises and a slab must keep to. Everything here came from the child and is looked at with suspicion.
bool makes_sense(const RunPlan& run, const Request& request) {
  const std::size_t fields = run.fields.size();
  if (run.field_times.size() != fields || run.accumulation.size() != fields || run.members < 1 || run.members > kMostMembers)
    return false;
  const auto is_within = [&](UtcTime t) {
    return t == UtcTime::min() || (t >= run.reference_time - kLongestRun && t <= run.reference_time + kLongestRun);
  };
  if (run.reference_time < UtcTime(-kFurthestTime) || run.reference_time > UtcTime(kFurthestTime) ||
      !std::is_sorted(run.steps.begin(), run.steps.end(), std::less_equal<>()) ||
      !std::all_of(run.steps.begin(), run.steps.end(), is_within))
    return false;
  if (run.near.size() != (request.feed.observed ? request.points.size() : 0)) return false;
  for (const PointList& near : run.near)
    if (std::any_of(near.begin(), near.end(),
                    [&](std::int32_t p) { return p < 0 || static_cast<std::size_t>(p) >= run.stations.size(); }))
      return false;
  const std::size_t points = points_of(run, request);
  const auto by_point = [&](std::size_t size) { return size == points || (size == 0 && !request.feed.observed); };
  if (!by_point(run.wind_rotation_deg.size()) || !by_point(run.model_elevation_m.size()) || !by_point(run.sampled_at.size()) ||
      (!run.sea.empty() && run.sea.size() != points) ||
      std::any_of(run.sea.begin(), run.sea.end(), [](Sea sea) { return sea > Sea::near; }))
    return false;
  return std::all_of(run.fields.begin(), run.fields.end(),
                     [&](const FieldPlan& f) {
                       return static_cast<std::size_t>(f.fed) < core::kFedCount && f.file < run.files.size();
                     }) &&
         std::all_of(run.field_times.begin(), run.field_times.end(), [&](const auto& times) {
           return times.size() == run.steps.size() && std::all_of(times.begin(), times.end(), [&](const StepTime& t) {
                    return is_within(t.begin) && is_within(t.end);
                  });
         });
}

bool makes_sense(const Slab& s, const RunPlan& run) {
  const auto one_of = [](std::size_t count, std::size_t whole) { return count == 1 || count == whole; };
  if (s.field >= run.fields.size() || !s.points || s.first_step > run.steps.size() || s.steps > run.steps.size() - s.first_step)
    return false;
  if (!one_of(s.members, run.members) || !one_of(s.levels, run.levels_hpa.size())) return false;
  std::size_t values = s.steps;
  for (const std::size_t n : {s.members, s.levels, s.points->size()}) {
    if (__builtin_mul_overflow(values, n, &values)) return false;
  }
  return values == s.values.size();
}

// One try with the files that are left. What ended it, when it did not come to its end.
struct Trouble {
  std::string file;
  Errors errors;
};

class Attempt {
 public:
  Attempt(const Request& request, const std::vector<Refusal>& refusals) : request_(request), refusals_(refusals) {}

  std::optional<Trouble> run(const RunReceiver& receiver) {
    return listen([&](const Message& message) { return take(message, receiver); });
  }
  std::optional<Trouble> references(std::vector<FileReference>& found) {
    return listen([&](const Message& message) {
      std::string file;
      std::optional<UtcTime> time;
      Errors errors;
      if (message.kind != Kind::reference || !wire::unpack(message.bytes, file, time, errors) || (!time && errors.empty()))
        return false;
      found.push_back({file, time ? Result<UtcTime>(*time) : Result<UtcTime>(errors)});
      return true;
    });
  }
  std::vector<FieldQuality> quality;

 private:
  template <class Take>
  std::optional<Trouble> listen(const Take& take) {
    auto child = Child::start("read-run", wire::pack(request_));
    if (!child) return Trouble{"", child.errors()};
    std::string file = request_.files.size() == 1 ? request_.files.front() : "";
    while (const auto message = child->next(request_.limits.seconds)) {
      Trouble trouble;
      if (message->kind == Kind::done) {
        if (request_.task == Task::references ||
            (has_plan_ && wire::unpack(message->bytes, quality) && quality.size() == plan_.fields.size()))
          return std::nullopt;
        return nonsense(file);
      }
      if (message->kind == Kind::at_hand) {
        if (!wire::unpack(message->bytes, file)) return nonsense(file);
      } else if (message->kind == Kind::refused || message->kind == Kind::failed) {
        const bool read = message->kind == Kind::refused ? wire::unpack(message->bytes, trouble.file, trouble.errors)
                                                         : wire::unpack(message->bytes, trouble.errors);
        return read && !trouble.errors.empty() ? trouble : nonsense(file);
      } else if (!take(*message)) {
        return nonsense(file);
      }
    }
    return Trouble{file, {gave_up(file, child->end())}};
  }
  static Trouble nonsense(const std::string& file) { return {file, {gave_up(file, "sent what makes no sense")}}; }

  bool take(const Message& message, const RunReceiver& receiver) {
    switch (message.kind) {
      case Kind::plan:
        plan_ = {};
        if (!wire::unpack(message.bytes, plan_) || !makes_sense(plan_, request_)) return false;
        has_plan_ = true;
        plan_.refusals.insert(plan_.refusals.end(), refusals_.begin(), refusals_.end());
        receiver.on_plan(plan_);
        return true;
      case Kind::points: {
        PointList list;
        if (!wire::unpack(message.bytes, list)) return false;
        const auto limit = static_cast<std::int64_t>(points_of(plan_, request_));
        if (!std::all_of(list.begin(), list.end(), [&](std::int32_t p) { return p >= 0 && p < limit; })) return false;
        points_ = std::make_shared<const PointList>(std::move(list));
        return true;
      }
      case Kind::slab: {
        Slab s;
        if (!wire::unpack(message.bytes, s.field, s.first_step, s.steps, s.members, s.levels, s.values)) return false;
        s.points = points_;
        if (!makes_sense(s, plan_)) return false;
        receiver.on_slab(std::move(s));
        return true;
      }
      default: return false;
    }
  }

  const Request& request_;
  const std::vector<Refusal>& refusals_;
  RunPlan plan_;
  bool has_plan_ = false;
  std::shared_ptr<const PointList> points_;
};

}  // namespace

Result<std::vector<FieldQuality>> read_run(const Feed& feed, const std::vector<std::string>& files,
                                           const std::vector<PointOfInterest>& points, const ReadLimits& limits,
                                           const RunReceiver& receiver, const LeftOut& left_out) {
  Request request{Task::run, limits, feed, files, points, left_out};
  std::vector<Refusal> refusals;
  Errors given_up;
  while (!request.files.empty()) {
    Attempt attempt(request, refusals);
    auto trouble = attempt.run(receiver);
    if (!trouble) return std::move(attempt.quality);
    given_up.insert(given_up.end(), trouble->errors.begin(), trouble->errors.end());
    if (std::erase(request.files, trouble->file) == 0) break;  // no file is to blame, and a second try would end alike
    for (const Error& e : trouble->errors) {
      const std::string variable = e.where.size() > trouble->file.size() + 2 ? e.where.substr(trouble->file.size() + 2) : "";
      refusals.push_back({trouble->file, variable, e.what, e.hint, e.code});
    }
  }
  if (given_up.empty())
    given_up.push_back({ErrorKind::incomplete, "no_files", "", "there is no file to read", "name at least one forecast file"});
  return given_up;
}

std::vector<FileReference> reference_times(const Feed& feed, const std::vector<std::string>& files, const ReadLimits& limits) {
  std::vector<FileReference> found;
  Request request{Task::references, limits, feed, files, {}};
  while (!request.files.empty()) {
    const std::size_t before = found.size();
    auto trouble = Attempt(request, {}).references(found);
    for (std::size_t i = before; i < found.size(); ++i) std::erase(request.files, found[i].file);
    if (!trouble && request.files.empty()) break;
    if (!trouble) trouble = Trouble{"", {gave_up("", "left files out")}};
    if (std::erase(request.files, trouble->file) > 0) {
      found.push_back({trouble->file, trouble->errors});
    } else {
      for (const std::string& file : request.files) {
        for (Error& e : trouble->errors)
          if (e.where.empty() || std::find(request.files.begin(), request.files.end(), e.where) != request.files.end())
            e.where = file;
        found.push_back({file, trouble->errors});
      }
      break;
    }
  }
  return found;
}

int reader_main(const Understanding& understanding) {
  Request request;
  if (!wire::unpack(receive_request(), request)) return 2;
  bound_myself({request.limits.cpu_seconds, request.limits.memory_mb});
  std::string last;
  NetcdfFile::observe([&](const std::string& file) {
    if (file == last) return;
    last = file;
    send(Kind::at_hand, wire::pack(file));
  });
  if (request.task == Task::run)
    read_in_child(request, understanding);
  else
    find_references_in_child(request, understanding);
  NetcdfFile::observe(nullptr);
  return 0;
}

}  // namespace hakea::ingest
