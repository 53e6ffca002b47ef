// How values travel between the parent and the reader child: one description of each structure, used by both directions.
//
// Both ends are the same program on the same machine, so numbers go as they lie in memory. Nothing that comes is believed:
// a count larger than what is left of the message ends the reading.
#pragma once

#include <chrono>
#include <cstring>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include "ingest/feed.h"
#include "ingest/run/forecast_run.h"

namespace hakea::ingest::wire {

class Writer {
 public:
  static constexpr bool kReads = false;
  std::string bytes;

  void raw(void* value, std::size_t size) { bytes.append(static_cast<const char*>(value), size); }
  bool count(std::size_t& n, std::size_t) {
    raw(&n, sizeof n);
    return true;
  }
};

class Reader {
 public:
  static constexpr bool kReads = true;
  explicit Reader(std::string_view bytes) : bytes_(bytes) {}

  void raw(void* value, std::size_t size) {
    if (size > bytes_.size() - at_) {
      failed_ = true;
      at_ = bytes_.size();
      return;
    }
    if (size > 0) std::memcpy(value, bytes_.data() + at_, size);
    at_ += size;
  }
  // A count of things that take at least `least` bytes each.
  bool count(std::size_t& n, std::size_t least) {
    raw(&n, sizeof n);
    if (n > (bytes_.size() - at_) / least) failed_ = true;
    if (failed_) n = 0;
    return !failed_;
  }
  bool failed() const { return failed_; }
  // All was there and nothing is left over.
  bool complete() const { return !failed_ && at_ == bytes_.size(); }

 private:
  std::string_view bytes_;
  std::size_t at_ = 0;
  bool failed_ = false;
};

template <class A, class T>
requires std::is_arithmetic_v<T> || std::is_enum_v<T>
void exchange(A& a, T& value) { a.raw(&value, sizeof value); }
// A byte, since not every byte is a bool.
template <class A>
void exchange(A& a, bool& value) {
  std::uint8_t byte = value ? 1 : 0;
  a.raw(&byte, sizeof byte);
  value = byte != 0;
}
template <class A>
void exchange(A& a, UtcTime& time) {
  auto seconds = time.time_since_epoch().count();
  a.raw(&seconds, sizeof seconds);
  time = UtcTime(std::chrono::seconds(seconds));
}
template <class A>
void exchange(A& a, std::string& text) {
  std::size_t n = text.size();
  if (!a.count(n, 1)) return;
  text.resize(n);
  a.raw(text.data(), n);
}
template <class A, class T>
void exchange(A& a, std::optional<T>& value) {
  bool has = value.has_value();
  exchange(a, has);
  if (has && !value) value.emplace();
  if (has) exchange(a, *value);
}
template <class A, class T>
void exchange(A& a, std::vector<T>& list) {
  std::size_t n = list.size();
  if constexpr (std::is_arithmetic_v<T>) {
    if (!a.count(n, sizeof(T))) return;
    list.resize(n);
    a.raw(list.data(), n * sizeof(T));
  } else {
    // An item takes more room in memory than in a message: the list grows with what is there, not with what is announced.
    if (!a.count(n, 1)) return;
    if constexpr (A::kReads) {
      list.clear();
      while (list.size() < n && !a.failed()) exchange(a, list.emplace_back());
    } else {
      for (T& item : list) exchange(a, item);
    }
  }
}
template <class A>
void exchange(A& a, std::map<std::string, std::string>& map) {
  std::vector<std::string> words;
  for (const auto& [key, value] : map) words.insert(words.end(), {key, value});
  exchange(a, words);
  for (std::size_t i = 0; A::kReads && i + 1 < words.size(); i += 2) map[words[i]] = words[i + 1];
}
template <class A, class... T>
void all(A& a, T&... values) {
  (exchange(a, values), ...);
}

template <class A>
void exchange(A& a, Error& e) {
  all(a, e.kind, e.code, e.where, e.what, e.hint);
}
template <class A>
void exchange(A& a, LeadHours& h) {
  all(a, h.first, h.last, h.step);
}
template <class A>
void exchange(A& a, StatedGrid& g) {
  all(a, g.projection, g.first_latitude_deg, g.first_longitude_deg, g.x_step, g.y_step);
}
template <class A>
void exchange(A& a, Feed& f) {
  all(a, f.id, f.path, f.pattern, f.hours, f.quantities, f.members, f.late_after, f.aliases, f.wind, f.time_unit, f.grid,
      f.orography, f.land_mask, f.use_incomplete, f.settle_s, f.set_aside, f.keep, f.lagged_runs, f.observed);
}
template <class A>
void exchange(A& a, PointOfInterest& p) {
  all(a, p.latitude_deg, p.longitude_deg, p.elevation_m);
}
template <class A>
void exchange(A& a, Refusal& r) {
  all(a, r.file, r.variable, r.why, r.hint, r.code);
}
template <class A>
void exchange(A& a, StepTime& t) {
  all(a, t.begin, t.end);
}
template <class A>
void exchange(A& a, VariableReport& v) {
  all(a, v.file, v.name, v.quantity, v.unit, v.levels);
}
template <class A>
void exchange(A& a, GridReport& g) {
  all(a, g.kind, g.nx, g.ny, g.south, g.north, g.west, g.east);
}
template <class A>
void exchange(A& a, FieldQuality& q) {
  all(a, q.implausible, q.lowest, q.highest, q.missing, q.values, q.chunks);
}
template <class A>
void exchange(A& a, Decoding& d) {
  all(a, d.scale, d.offset, d.to_unit, d.unit_offset, d.missing, d.valid_min, d.valid_max, d.lowest, d.highest);
}
template <class A>
void exchange(A& a, FieldPlan& p) {
  all(a, p.fed, p.file, p.variable, p.decoding, p.grid, p.nearest, p.time_dim, p.member_dim, p.level_dim, p.y_dim, p.x_dim,
      p.step_of_time, p.level_of, p.member_of);
}
// Stencils stay in the child.
template <class A>
void exchange(A& a, RunPlan& r) {
  all(a, r.reference_time, r.steps, r.levels_hpa, r.members, r.files, r.fields, r.field_times, r.accumulation, r.stations, r.near,
      r.wind_rotation_deg, r.model_elevation_m, r.sampled_at, r.sea, r.refusals, r.variables, r.grids, r.notes);
}

template <class... T>
std::string pack(T... values) {
  Writer writer;
  all(writer, values...);
  return std::move(writer.bytes);
}
template <class... T>
[[nodiscard]] bool unpack(std::string_view bytes, T&... values) {
  Reader reader(bytes);
  all(reader, values...);
  return reader.complete();
}

}  // namespace hakea::ingest::wire
