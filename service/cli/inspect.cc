// `hakea inspect`: what a file contains, what of it can be used, and what not and why.
//
// The file is read in a child process, so that one which is damaged on purpose ends the child and still gets an answer.
#include "ingest/inspect.h"

#include <fmt/format.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <cstdio>
#include <filesystem>

#include "core/base/words.h"
#include "core/catalogue/catalogue.h"
#include "core/weather/variables.h"
#include "ingest/arrival/child.h"
#include "ingest/arrival/reader_process.h"
#include "service/cli/arguments.h"
#include "service/cli/commands.h"
#include "service/cli/feed_files.h"
#include "service/cli/inputs.h"
#include "service/output/json_writer.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

using ingest::Inspection;

// The fed keys an input leads to. Radiation and cloud are asked of no file: without them a clear sky is taken.
void lead_back(std::string_view input, std::vector<std::string>& needs) {
  if (input == "shortwave_radiation" || input == "cloud_area_fraction") return;
  if (core::fed_by_key(input)) {
    if (std::find(needs.begin(), needs.end(), input) == needs.end()) needs.emplace_back(input);
  } else if (const auto q = core::find_quantity(input)) {
    for (const std::string_view next : words(core::catalogue()[*q].inputs)) lead_back(next, needs);
  }
}

std::vector<ingest::QuantityNeeds> quantity_needs() {
  std::vector<ingest::QuantityNeeds> list;
  for (const core::QuantityRow& row : core::catalogue()) {
    ingest::QuantityNeeds q{std::string(row.key), {}};
    if (core::fed_by_key(row.key))
      q.needs = {q.quantity};
    else
      for (const std::string_view input : words(row.inputs)) lead_back(input, q.needs);
    list.push_back(std::move(q));
  }
  return list;
}

void print_json(const Inspection& found) {
  JsonWriter out;
  out.begin_object()
      .text("file", found.file)
      .text("format", found.format)
      .yes_or_no("accepted", found.accepted)
      .key("refused")
      .begin_list();
  for (const ingest::Refusal& r : found.refused) {
    out.begin_object();
    out.text_or_null("variable", r.variable);
    out.text("why", r.why).text("hint", r.hint).end_object();
  }
  out.end_list();
  write_time(out, "reference_time", found.reference_time);
  out.key("times").begin_object();
  write_time(out, "first", found.times.first);
  write_time(out, "last", found.times.last);
  out.whole("count", static_cast<long long>(found.times.count));
  out.number_or_null("step_h", found.times.step_h);
  out.end_object();
  if (found.grid) {
    const ingest::GridReport& g = *found.grid;
    out.key("grid")
        .begin_object()
        .text("kind", g.kind)
        .key("size")
        .begin_list()
        .whole(static_cast<long long>(g.ny))
        .whole(static_cast<long long>(g.nx))
        .end_list();
    out.key("bounds")
        .begin_object()
        .number("south", g.south)
        .number("north", g.north)
        .number("west", g.west)
        .number("east", g.east)
        .end_object()
        .end_object();
  } else {
    out.null("grid");
  }
  out.whole("members", static_cast<long long>(found.members)).key("variables").begin_list();
  for (const Inspection::Variable& v : found.variables) {
    out.begin_object().text("name", v.name);
    out.text_or_null("quantity", v.quantity);
    out.text_or_null("unit", v.unit);
    out.whole("levels", static_cast<long long>(v.levels));
    out.number_or_null("min", v.min);
    out.number_or_null("max", v.max);
    out.whole("missing", static_cast<long long>(v.missing)).end_object();
  }
  out.end_list().key("missing_for").begin_list();
  for (const ingest::QuantityNeeds& m : found.missing_for) {
    out.begin_object().text("quantity", m.quantity).texts("needs", m.needs).end_object();
  }
  out.end_list();
  if (found.at) {
    out.key("at")
        .begin_object()
        .number("lat", found.at->latitude_deg)
        .number("lon", found.at->longitude_deg)
        .key("values")
        .begin_object();
    for (const auto& [quantity, values] : found.at->values) {
      out.key(quantity).begin_list();
      for (const float v : values) out.number(static_cast<double>(v));
      out.end_list();
    }
    out.end_object();
    if (!found.at->note.empty()) out.text("note", found.at->note);
    out.end_object();
  } else {
    out.null("at");
  }
  out.end_object();
  fmt::print("{}\n", out.str());
}

// Quantities that lack the same, in one line.
void print_missing(const std::vector<ingest::QuantityNeeds>& missing) {
  std::vector<std::pair<std::string, std::vector<std::string_view>>> by_need;
  for (const ingest::QuantityNeeds& m : missing) {
    const std::string needs = fmt::format("{}", fmt::join(m.needs, ", "));
    auto known = std::find_if(by_need.begin(), by_need.end(), [&](const auto& n) { return n.first == needs; });
    if (known == by_need.end()) known = by_need.insert(by_need.end(), {needs, {}});
    known->second.push_back(m.quantity);
  }
  if (!by_need.empty()) fmt::print("\ncannot be computed from this file, for want of\n");
  for (const auto& [needs, quantities] : by_need) fmt::print("  {}\n      {}\n", needs, fmt::join(quantities, ", "));
}

void print_text(const Inspection& found) {
  fmt::print("{}: {}, {}\n", found.file, found.format, found.accepted ? "accepted" : "refused");
  if (found.reference_time) fmt::print("reference time  {}\n", utc_text(*found.reference_time));
  if (found.times.first)
    fmt::print("times           {} to {}, {}{}\n", utc_text(*found.times.first), utc_text(*found.times.last),
               found.times.count == 1 ? "one time" : fmt::format("{} times", found.times.count),
               found.times.step_h      ? fmt::format(", every {:g} h", *found.times.step_h)
               : found.times.count > 1 ? ", unevenly spaced"
                                       : "");
  if (found.grid && found.grid->nx == 0)
    fmt::print("grid            none: the file does not say where its values are, so that no unit can have them\n");
  else if (found.grid)
    fmt::print("grid            {}, {} by {}, {:.3f} to {:.3f} north, {:.3f} to {:.3f} east\n", found.grid->kind, found.grid->ny,
               found.grid->nx, found.grid->south, found.grid->north, found.grid->west, found.grid->east);
  if (found.members > 1) fmt::print("members         {}\n", found.members);
  std::size_t width = 24;
  for (const Inspection::Variable& v : found.variables) width = std::clamp<std::size_t>(v.name.size(), width, 48);
  if (!found.variables.empty())
    fmt::print("\n{:<{}} {:<24} {:<8} {:>6} {:>12} {:>12} {:>10}\n", "variable", width, "quantity", "unit", "levels", "min",
               "max", "missing");
  for (const Inspection::Variable& v : found.variables)
    fmt::print("{:<{}} {:<24} {:<8} {:>6} {:>12} {:>12} {:>10}\n", v.name, width, v.quantity.empty() ? "-" : v.quantity, v.unit,
               v.levels, v.min ? fmt::format("{:.6g}", *v.min) : "-", v.max ? fmt::format("{:.6g}", *v.max) : "-", v.missing);
  for (const ingest::Refusal& r : found.refused)
    fmt::print("\nrefused {}{}\n  {}\n", r.variable.empty() ? "" : r.variable + ": ", r.why, r.hint);
  if (found.accepted) print_missing(found.missing_for);  // of a refused file nothing can
  if (!found.notes.empty()) fmt::print("\n");
  for (const std::string& note : found.notes) fmt::print("note: {}\n", note);
  if (!found.at || !found.accepted) return;
  fmt::print("\nat {:g}, {:g}{}\n", found.at->latitude_deg, found.at->longitude_deg,
             found.at->note.empty() ? "" : ": " + found.at->note);
  for (const auto& [quantity, values] : found.at->values) {
    fmt::print("  {:<24}", quantity);
    for (const float v : values) fmt::print(" {}", std::isnan(v) ? "-" : fmt::format("{:.6g}", v));
    fmt::print("\n");
  }
}

std::optional<ingest::PointOfInterest> read_place(const std::string& text) {
  ingest::PointOfInterest place;
  const std::size_t comma = text.find(',');
  if (comma == std::string::npos) return std::nullopt;
  const char *middle = text.data() + comma, *end = text.data() + text.size();
  const auto lat = std::from_chars(text.data(), middle, place.latitude_deg),
             lon = std::from_chars(middle + 1, end, place.longitude_deg);
  const bool is_read = lat.ec == std::errc() && lat.ptr == middle && lon.ec == std::errc() && lon.ptr == end;
  if (!is_read || !(std::abs(place.latitude_deg) <= 90) || !(std::abs(place.longitude_deg) <= 360)) return std::nullopt;
  return place;
}

constexpr int kEnded = 70;  // the child's exit code where it gave up

int inspect_here(const ingest::Feed& feed, const std::string& file, std::optional<ingest::PointOfInterest> at, bool as_json) {
  const Inspection found = ingest::inspect(feed, file, at, quantity_needs());
  if (as_json)
    print_json(found);
  else
    print_text(found);
  if (!found.accepted)
    for (const ingest::Refusal& r : found.refused)
      complain({ErrorKind::unsupported, "refused", r.variable.empty() ? file : file + ": " + r.variable, r.why, r.hint});
  return found.accepted ? kDone : kFailed;
}

}  // namespace

int run_inspect(const Arguments& call) {
  Errors mistakes;
  const std::string format = format_of_call(call, {"text", "json"}, mistakes);
  std::optional<ingest::PointOfInterest> at;
  if (call.has("--at")) {
    at = read_place(call.one("--at"));
    if (!at)
      mistakes.push_back(wrong_call("--at", fmt::format("\"{}\" is not a place", call.one("--at")),
                                    "write latitude and longitude in degrees, such as -37.72,152.61"));
  }
  const auto feeds = feeds_of_call(call.one("--feed-config"));
  if (!feeds) mistakes.insert(mistakes.end(), feeds.errors().begin(), feeds.errors().end());
  const ingest::Feed* own = feeds ? feed_of(call.operand(), *feeds) : nullptr;
  const ingest::Feed feed = own ? *own : feeds && feeds->size() == 1 ? feeds->front() : ingest::Feed{};
  std::error_code failed;
  // An address is no file of this machine, and the reader says so.
  const bool is_address = call.operand().find("://") != std::string::npos || call.operand().find('#') != std::string::npos;
  if (!is_address && !std::filesystem::exists(call.operand(), failed))
    mistakes.push_back(wrong_call(call.operand(), "there is no such file", "give the path of a forecast file"));
  if (!mistakes.empty()) return refused(mistakes);

  std::fflush(stdout);
  const pid_t child = fork();
  if (child == 0) {
    const ingest::ReadLimits limits;
    ingest::bound_myself({limits.cpu_seconds, limits.memory_mb});
    try {
      const int code = inspect_here(feed, call.operand(), at, format == "json");
      std::fflush(stdout);
      _exit(code);
    } catch (const std::exception&) {  // out of memory, before anything was printed
      _exit(kEnded);
    }
  }
  int status = 0;
  if (child > 0 && waitpid(child, &status, 0) == child && WIFEXITED(status) && WEXITSTATUS(status) != kEnded)
    return WEXITSTATUS(status);
  Inspection ended{.file = call.operand(),
                   .format = "unknown",
                   .accepted = false,
                   .refused = {},
                   .reference_time = {},
                   .times = {},
                   .grid = {},
                   .members = 0,
                   .variables = {},
                   .missing_for = {},
                   .at = {},
                   .notes = {}};
  ended.refused.push_back({call.operand(), "", "reading the file ended the reader", "the file is damaged; fetch it again"});
  if (format == "json")
    print_json(ended);
  else
    print_text(ended);
  complain({ErrorKind::unreadable, "reader_ended", call.operand(), ended.refused[0].why, ended.refused[0].hint});
  return kFailed;
}

}  // namespace hakea::service
