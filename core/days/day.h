// What is said about one unit on one local date: the DAY of INTERFACE §5.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/base/time.h"
#include "core/prescription/prescription.h"
#include "core/weather/column.h"

namespace hakea::core {

enum class Verdict : std::uint8_t { met, unknown, near_miss, out, blocked };  // in the order of rank
enum class TailVerdict : std::uint8_t { none, in, out, unknown };
enum class Confidence : std::uint8_t { firm, likely, possible, early };

// What opens or closes a window.
enum class Edge : std::uint8_t { limit, within, latest_start, horizon, missing, now };

std::string_view word(Verdict verdict);
std::string_view word(TailVerdict verdict);
std::string_view word(Confidence confidence);
std::string_view word(Edge edge);

inline constexpr std::size_t kNoLimit = static_cast<std::size_t>(-1);

struct WindowEdge {
  Edge by = Edge::within;
  std::size_t limit = kNoLimit;  // index into the prescription's limits, when by == limit
  std::optional<float> value;    // of the hour outside the window
  Reason why = Reason::none;     // when by == missing
};

struct Window {
  UtcHour start, end;  // [start, end)
  double fit = 0;
  bool unconfirmed = false, open_ended = false;
  UtcTime latest_light_up{};  // the latest start that still leaves the duration
  UtcTime sunset{};           // of the window's date; zero where the sun does not set
  WindowEdge opens, closes;
  int hours() const { return end - start; }
};

struct Limiting {
  std::size_t limit = kNoLimit;
  std::optional<float> value;
  std::optional<double> margin;         // in the quantity's own unit; negative outside
  std::optional<double> margin_errors;  // in forecast errors
  std::optional<int> gain_h;            // hours a window would gain without it
  std::optional<int> out_h;             // hours of `within` it is out in, when it gains none
  std::optional<UtcHour> at;
  bool alone = false;  // removing it alone makes the day met
  // Of a unit with several points: the lowest and highest of its points in that hour.
  std::optional<std::pair<float, float>> over_points;
};

struct TailValue {
  std::size_t limit = kNoLimit;
  float value = 0;
  UtcHour at;
};

struct Tail {
  TailVerdict verdict = TailVerdict::none;
  std::optional<TailValue> worst;   // of the tail limit with the smallest margin
  std::optional<TailValue> beyond;  // the first later date on which a tail limit would be out
};

// A limit of the night after that smoke hangs on, not kept by a day that has a window: the smoke stays where it drained to.
struct NightSmoke {
  std::size_t limit = kNoLimit;
  std::optional<float> value;
  UtcHour at;
  std::optional<UtcTime> finish_by;  // the earlier end that is advised before such a night, where the window goes on beyond it
};

struct Note {  // a failing preference
  std::size_t limit = kNoLimit;
  std::optional<float> value;
};

struct MissingInput {
  std::optional<std::size_t> quantity;  // none for a reason that concerns the whole day
  int hours = 0;
  Reason reason = Reason::none;
};

struct Blocked {
  std::string kind;  // declared_ban closed season weekday event not_ready notice after adjacent stop
  std::string why;
  std::string until;  // a local date or instant, empty where it does not end by itself
};

struct Part {
  std::string_view name;  // preference margin notes short clipped
  double points = 0;
};

struct MemberCount {
  int met = 0, of = 0;
};

struct FeedVerdict {
  std::string feed, run;
  Verdict verdict = Verdict::unknown;
};

// How many of those that were asked say the same as the day; of none, nothing can be compared.
struct Agreement {
  int same = 0, of = 0;
};

// What a day's word of confidence rests on: how far ahead it is, and what was measured.
struct Evidence {
  int lead_days = 0;
  Agreement members;                  // of an ensemble, in the largest class
  Agreement feeds;                    // that cover the window and know
  Agreement runs;                     // the runs of the feed before this one that had the date and knew
  std::optional<bool> keeps_margin;   // of a met day: still met with every limit a quarter of a forecast error narrower
  std::optional<Agreement> verified;  // of the windows that the feed called so far ahead, those that came; once there are enough
};

struct Day {
  LocalDate date{};
  Verdict verdict = Verdict::unknown;
  Verdict weather = Verdict::unknown;  // the verdict if nothing blocked the day
  int rank = 0;
  std::optional<double> fit;   // two decimals; none without limits
  double smallest_margin = 0;  // in error units, for ranking
  Confidence confidence = Confidence::early;
  Evidence rests_on;  // of the confidence
  std::optional<MemberCount> members;
  std::vector<FeedVerdict> feeds;
  bool draft = false;
  std::vector<Window> windows;          // confirmed, then unconfirmed, in order of time
  std::optional<Window> short_stretch;  // without a window: the best stretch that is too short to be one
  std::optional<Limiting> limiting;
  Tail tail;
  std::vector<Note> notes;
  std::vector<MissingInput> missing;
  std::vector<Blocked> blocked_by;
  std::vector<Part> parts;
  std::optional<NightSmoke> night_smoke;
  std::vector<std::size_t> provisional;  // limited quantities that rest on a provisional model, by catalogue index
  std::vector<std::size_t> spin_up;      // limited states, such as a drought index, that have not found their level yet
  std::vector<std::string> flags;        // what else makes the day doubtful, a phrase each
  std::string why;                       // one sentence
};

// The best-fitting confirmed window, else the best unconfirmed one; null without any. Of equals the earlier.
const Window* best_window(const Day& day);

}  // namespace hakea::core
