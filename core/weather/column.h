// One quantity over the hours of a unit, with what is known about each value.
//
// Values are float32: the number that decides, is stored and is shown. NaN is missing, and then `why` says the reason.
// Flags mark how a value came about. Hour i of a column is hour `first + i` of the series it belongs to.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <span>
#include <string_view>
#include <vector>

namespace hakea::core {

// Why a value is missing. The words are shown to people and listed by `hakea quantities`.
enum class Reason : std::uint8_t {
  none,
  not_in_feed,     // no feed or file gives it, nor what it is computed from
  gap,             // the feed has it, but not for this hour
  no_state,        // needs an antecedent state or a longer record
  no_parameter,    // needs a property of the unit that nobody gave
  no_model,        // no model for this fuel yet
  not_applicable,  // has no meaning for this unit
  no_profile,      // needs levels above the ground
  out_of_domain,   // computed outside the model's published domain, and would have passed
  not_finite,      // the formula has no finite value here
  beyond_horizon,  // after the last hour of the forecast
  no_limits,       // the prescription has no limits
};
std::string_view word(Reason reason);

namespace flag {
inline constexpr std::uint8_t kInterpolated = 1, kOutOfDomain = 2, kSpinUp = 4, kReading = 8, kAtLeast = 16;
}

class Column {
 public:
  Column() = default;
  explicit Column(std::size_t hours, Reason why = Reason::not_in_feed) : size_(hours), why_(why) {}

  std::size_t size() const { return size_; }
  bool empty() const { return size_ == 0; }
  struct Mark {
    std::uint8_t flags;
    Reason why;
  };
  // All of them; empty where the column has no value at all.
  std::span<const float> values() const { return value_; }
  std::span<const Mark> marks() const { return mark_; }
  float operator[](std::size_t i) const { return value_.empty() ? kMissing : value_[i]; }
  bool is_missing(std::size_t i) const { return value_.empty() || std::isnan(value_[i]); }
  std::uint8_t flags(std::size_t i) const { return value_.empty() ? std::uint8_t{0} : mark_[i].flags; }
  Reason why(std::size_t i) const { return value_.empty() ? why_ : mark_[i].why; }

  // Rounds to float32. A value that is not finite is missing, for the reason given or else not_finite.
  void set(std::size_t i, double value, std::uint8_t flags = 0, Reason why_missing = Reason::not_finite) {
    const auto rounded = static_cast<float>(value);
    if (!std::isfinite(rounded)) return set_missing(i, why_missing);
    make_room();
    value_[i] = rounded;
    mark_[i] = {flags, Reason::none};
  }
  void set_missing(std::size_t i, Reason why) {
    if (value_.empty() && why == why_) return;
    make_room();
    value_[i] = kMissing;
    mark_[i] = {0, why};
  }
  void add_flags(std::size_t i, std::uint8_t flags) {
    make_room();
    mark_[i].flags = static_cast<std::uint8_t>(mark_[i].flags | flags);
  }

 private:
  static constexpr float kMissing = std::numeric_limits<float>::quiet_NaN();
  void make_room() {
    if (!value_.empty()) return;
    value_.assign(size_, kMissing);
    mark_.assign(size_, {0, why_});
  }

  // Of a unit's many columns most are never asked for: one whose hours are all missing for the same reason has no values.
  std::size_t size_ = 0;
  Reason why_ = Reason::not_in_feed;
  std::vector<float> value_;
  std::vector<Mark> mark_;
};

}  // namespace hakea::core
