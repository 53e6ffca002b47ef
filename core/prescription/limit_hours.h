// One limit held against every hour of a record: fit, margin and value by hour, and sums over stretches of hours.
//
// A unit with several points passes an hour when the required share of its points does; what is shown then is the value of
// the point that decides. Hours outside the record are unknown.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "core/catalogue/unit_hours.h"
#include "core/prescription/hour_fit.h"

namespace hakea::core {

// What a stretch of hours says about a limit: the value that decides, where it stands and how far from the bound.
struct StretchValue {
  Fit fit = Fit::unknown;
  double value = std::numeric_limits<double>::quiet_NaN();
  int at = 0;  // hour index of that value; the first hour of the stretch for sums and means
  Margin margin;
  Reason why = Reason::none;  // when unknown
  bool is_out_of_domain = false;
};

// What the limits of a prescription are held against: their quantities, and the wind speed of a wind direction.
Rows rows_of_limits(const Prescription& prescription);

class LimitHours {
 public:
  // `points` are the unit's points (one member of each), all of one shape.
  LimitHours(const Limit& limit, const Prescription& prescription, std::span<const UnitHours* const> points);

  // Every hour that is out in `other`, the same limit held against other hours of the same shape, is out.
  void take_worse(const LimitHours& other);

  const Limit& limit() const { return *limit_; }
  const QuantityRow& quantity() const { return *quantity_; }
  int size() const { return static_cast<int>(hours_.size()); }

  Fit fit(int hour) const { return is_inside(hour) ? hours_[index(hour)].fit : Fit::unknown; }
  double value(int hour) const {
    return is_inside(hour) ? static_cast<double>(hours_[index(hour)].value) : std::numeric_limits<double>::quiet_NaN();
  }
  Margin margin(int hour) const { return is_inside(hour) ? margin_of(hours_[index(hour)]) : Margin{}; }
  Reason why(int hour) const;
  bool is_out_of_domain(int hour) const { return possible_at(hour).is_out_of_domain; }
  bool has_out_of_domain() const { return has_out_of_domain_; }  // in any hour

  // Number of hours of [begin, end) that are out, that are unknown.
  int out_hours(int begin, int end) const;
  int unknown_hours(int begin, int end) const;

  // [begin, end) under scopes that ask of every hour: kept while at most allow_hours are out. Missing hours before
  // `forget_before` are left out (same_day: hours already past).
  Fit every_hour_fit(int begin, int end, int forget_before = std::numeric_limits<int>::min()) const;
  StretchValue every_hour(int begin, int end, int forget_before = std::numeric_limits<int>::min()) const;
  // The sum of an amount over [begin, end); a missing hour can only add to it.
  StretchValue sum(int begin, int end, int forget_before = std::numeric_limits<int>::min()) const;
  // window_mean, window_min, window_max over [begin, end).
  StretchValue mean(int begin, int end) const;
  // The fits of the means over the first hour from `begin`, the first two and so on up to `end`; not of a direction.
  void fits_of_means(int begin, int end, std::vector<Fit>& fits) const;
  StretchValue smallest(int begin, int end) const;
  StretchValue largest(int begin, int end) const;

 private:
  bool is_inside(int hour) const { return hour >= 0 && hour < size(); }
  static std::size_t index(int hour) { return static_cast<std::size_t>(hour); }
  Possible possible_at(int hour) const {
    return is_inside(hour) ? possible_of(hours_[index(hour)].value, hours_[index(hour)].marks) : Possible{};
  }
  static Possible possible_of(float value, std::uint8_t marks) {
    Possible p = core::possible(value, marks);
    p.is_out_of_domain = marks & flag::kOutOfDomain;  // of a wind's speed, where its direction is missing
    return p;
  }
  struct Hour {
    float value;
    Fit fit;
    std::uint8_t marks;  // flags that say what a value can be
    Reason why;
  };
  Margin margin_of(const Hour& hour) const;
  // The hour that decides where so many are allowed to be out: the (allowed + 1)-th worst, of equals the earliest.
  std::optional<int> worst_but(int allowed, int begin, int end) const;
  void count();
  void let_daily_values_stand(UtcHour end, const TimeZone& zone);
  StretchValue of_possible(Possible value, double shown, int at) const;
  void say_why(StretchValue& result, int begin, int end, int forget_before = std::numeric_limits<int>::min()) const;
  StretchValue mean_direction(int begin, int end) const;

  const Limit* limit_;
  const QuantityRow* quantity_;
  std::vector<Hour> hours_;
  std::vector<float> speed_;  // of a direction
  struct Count {
    int out = 0, unknown = 0;
  };
  std::vector<Count> before_;  // how many of the hours before
  bool has_out_of_domain_ = false;
};

}  // namespace hakea::core
