#include "service/input/limit_json.h"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "core/base/nearest.h"
#include "core/catalogue/catalogue.h"

namespace hakea::service {
namespace {

using core::Bound;
using core::Kind;
using core::Limit;
using core::Range;
using core::Sector;

// In the order of the enumerations.
constexpr std::array<std::string_view, 3> kKinds{"stop", "hard", "preference"};
constexpr std::array<std::string_view, 9> kScopes{"each_hour", "at_start", "window_mean", "window_min", "window_max",
                                                  "before",    "same_day", "night_after", "days_after"};

bool is_one_of(core::Scope scope, std::initializer_list<core::Scope> scopes) {
  return std::find(scopes.begin(), scopes.end(), scope) != scopes.end();
}

// Bounds meet values as float32.
float rounded(const Bound& bound) { return static_cast<float>(bound.value); }

// Whether no number can be inside both bounds.
bool is_empty(const std::optional<Bound>& lower, const std::optional<Bound>& upper) {
  if (!lower || !upper) return false;
  return rounded(*lower) > rounded(*upper) || (rounded(*lower) == rounded(*upper) && (lower->open || upper->open));
}

std::string_view name_of_lower(const Bound& bound) { return bound.open ? "above" : "min"; }
std::string_view name_of_upper(const Bound& bound) { return bound.open ? "below" : "max"; }

std::optional<Bound> read_bound(JsonObject& range, std::string_view closed, std::string_view open) {
  const auto closed_value = range.number(closed), open_value = range.number(open);
  if (closed_value && open_value) {
    range.refuse(open, "contradictory", fmt::format("{} and {} are both given", closed, open),
                 fmt::format("give one: {} lets an equal value in, {} does not", closed, open));
    return std::nullopt;
  }
  if (closed_value) return Bound{*closed_value, false};
  if (open_value) return Bound{*open_value, true};
  return std::nullopt;
}

Range read_range(const json::value& value, const std::string& pointer, Errors& mistakes) {
  Range found;
  JsonObject range(value, pointer, mistakes);
  found.lower = read_bound(range, "min", "above");
  found.upper = read_bound(range, "max", "below");
  if (value.is_object() && value.get_object().empty())
    mistakes.push_back({ErrorKind::invalid, "empty", pointer, "the range has no bound", "write min, max, above or below"});
  if (found.lower && found.upper) {
    const std::string_view lower = name_of_lower(*found.lower), upper = name_of_upper(*found.upper);
    if (rounded(*found.lower) > rounded(*found.upper))
      range.refuse(lower, "reversed", fmt::format("{} {} is above {} {}", lower, found.lower->value, upper, found.upper->value),
                   "put the smaller number at the lower end");
    else if (is_empty(found.lower, found.upper))
      range.refuse(lower, "contradictory",
                   fmt::format("no number is {} {} and {} {}", lower, found.lower->value, upper, found.upper->value),
                   "widen the range");
  }
  range.refuse_unknown_members();
  return found;
}

// Preferred values that would be out.
void refuse_preferred_outside(JsonObject& limit, const Limit& read) {
  const Range &acceptable = read.acceptable, &preferred = read.preferred;
  const auto refuse = [&](std::string_view bound, double value) {
    limit.mistakes().push_back({ErrorKind::invalid, "outside_acceptable", pointer_to(limit.at("preferred"), bound),
                                fmt::format("preferred {} {} lies outside the acceptable range", bound, value),
                                "keep the preferred range inside the acceptable one"});
  };
  const auto below = [](const Bound& a, const Bound& b) {
    return rounded(a) < rounded(b) || (rounded(a) == rounded(b) && !a.open && b.open);
  };
  const auto above = [](const Bound& a, const Bound& b) {
    return rounded(a) > rounded(b) || (rounded(a) == rounded(b) && !a.open && b.open);
  };
  if (preferred.lower && ((acceptable.lower && below(*preferred.lower, *acceptable.lower)) ||
                          (acceptable.upper && rounded(*preferred.lower) > rounded(*acceptable.upper))))
    refuse(name_of_lower(*preferred.lower), preferred.lower->value);
  if (preferred.upper && ((acceptable.upper && above(*preferred.upper, *acceptable.upper)) ||
                          (acceptable.lower && rounded(*preferred.upper) < rounded(*acceptable.lower))))
    refuse(name_of_upper(*preferred.upper), preferred.upper->value);
}

std::vector<Sector> read_sectors(const json::array& list, const std::string& pointer, Errors& mistakes) {
  std::vector<Sector> sectors;
  if (list.empty())
    mistakes.push_back({ErrorKind::invalid, "empty", pointer, "no sector is listed, so every direction would be out",
                        "list sectors, or leave `sectors` out for any direction"});
  for (std::size_t i = 0; i < list.size(); ++i) {
    JsonObject object(list[i], pointer_to(pointer, i), mistakes);
    object.require("from", "write the direction where the sector begins, clockwise, in degrees");
    object.require("to", "write the direction where the sector ends, clockwise, in degrees");
    const auto from = object.number("from", {0, 360}), to = object.number("to", {0, 360});
    if (from && to) {
      if (std::fmod(*from, 360) == std::fmod(*to, 360))
        mistakes.push_back({ErrorKind::invalid, "ambiguous_sector", object.pointer(),
                            fmt::format("a sector from {} to {} could mean one direction or all of them", *from, *to),
                            "write the two ends of the sector clockwise; for any direction leave `sectors` out"});
      sectors.push_back({std::fmod(*from, 360), std::fmod(*to, 360)});
    }
    object.refuse_unknown_members();
  }
  return sectors;
}

void read_spans(JsonObject& object, Limit& limit, bool sums_amounts) {
  const core::Scope scope = limit.scope;
  const auto refuse_in_scope = [&](std::string_view name, std::string_view where) {
    object.refuse(name, "not_in_this_scope",
                  fmt::format("{} has no meaning with scope {}", name, kScopes[static_cast<std::size_t>(scope)]),
                  fmt::format("{}; leave it out here", where));
  };
  const auto hours = object.whole_number("hours", 1, 24 * 366), days = object.whole_number("days", 1, 366);
  if (scope == core::Scope::before) {
    if (object.has("hours") && object.has("days"))
      object.refuse("days", "contradictory", "hours and days are both given",
                    "give the hours that end at the start, or the local dates before it");
    if (!object.has("hours") && !object.has("days"))
      object.refuse("hours", "required", "scope before needs hours or days",
                    "give the hours that end at the start, or the local dates before it");
    limit.hours = hours.value_or(0);
    limit.days = days.value_or(0);
  } else if (object.has("hours")) {
    refuse_in_scope("hours", "hours belongs to scope before");
  }
  if (scope == core::Scope::days_after) {
    object.require("days", "give the number of local dates after the start date");
    limit.days = days.value_or(0);
  } else if (scope != core::Scope::before && object.has("days")) {
    refuse_in_scope("days", "days belongs to the scopes before and days_after");
  }
  limit.hours_after = object.whole_number("hours_after", 0, 240).value_or(0);
  if (limit.hours_after > 0 && scope != core::Scope::each_hour)
    refuse_in_scope("hours_after", "hours_after belongs to scope each_hour");

  limit.allow_hours = object.whole_number("allow_hours", 0, 240).value_or(0);
  if (limit.allow_hours == 0) return;
  if (is_one_of(scope, {core::Scope::at_start, core::Scope::window_mean, core::Scope::window_min, core::Scope::window_max}))
    refuse_in_scope("allow_hours", "it counts hours, and this scope has one value");
  if (sums_amounts) refuse_in_scope("allow_hours", "amounts are summed over this scope");
  if (scope == core::Scope::each_hour && limit.kind == Kind::stop)
    object.refuse("allow_hours", "not_with_stop", "a stop on each hour puts the hour out for good and cannot allow some",
                  "make the limit hard, or leave allow_hours out");
}

}  // namespace

Limit read_limit(const json::value& value, const std::string& pointer, Errors& mistakes) {
  Limit limit;
  JsonObject object(value, pointer, mistakes);
  limit.quantity = core::catalogue().size();
  object.require("quantity", "name a quantity; `hakea quantities` lists them");
  if (const auto key = object.text("quantity")) {
    if (const auto index = core::find_quantity(*key)) {
      limit.quantity = *index;
    } else {
      std::vector<std::string_view> keys;
      for (const auto& row : core::catalogue()) keys.push_back(row.key);
      const std::string_view near = nearest(*key, keys);
      object.refuse("quantity", "unknown_quantity", fmt::format("the quantity \"{}\" is not known", *key),
                    near.empty() ? "name one that `hakea quantities` lists" : fmt::format("did you mean {}?", near));
    }
  }
  object.require("scope", fmt::format("write one of {}", fmt::join(kScopes, ", ")));
  object.require("kind", fmt::format("write one of {}", fmt::join(kKinds, ", ")));
  const auto scope = object.word("scope", kScopes), kind = object.word("kind", kKinds);
  if (kind) limit.kind = static_cast<Kind>(*kind);
  const core::QuantityRow* row = limit.quantity < core::catalogue().size() ? &core::catalogue()[limit.quantity] : nullptr;

  const json::value *acceptable = object.find("acceptable"), *preferred = object.find("preferred");
  if (acceptable) limit.acceptable = read_range(*acceptable, object.at("acceptable"), mistakes);
  if (preferred) limit.preferred = read_range(*preferred, object.at("preferred"), mistakes);
  if (acceptable && preferred) refuse_preferred_outside(object, limit);
  const json::array* sectors = object.list("sectors");
  if (sectors) {
    limit.sectors = read_sectors(*sectors, object.at("sectors"), mistakes);
    if (row && !row->is_direction)
      object.refuse("sectors", "not_a_direction", fmt::format("{} is not a direction", row->key), "give an acceptable range");
    if (acceptable || preferred)
      object.refuse("sectors", "contradictory", "sectors and a range are both given", "give one of them");
  }
  if (!acceptable && !preferred && !object.has("sectors") && value.is_object())
    object.refuse("acceptable", "required", "the limit has no bound", "give an acceptable range, or sectors for a direction");

  // What belongs to some scopes only is judged once the scope is known.
  if (scope) {
    limit.scope = static_cast<core::Scope>(*scope);
    if (sectors && !is_one_of(limit.scope, {core::Scope::each_hour, core::Scope::at_start}))
      object.refuse("sectors", "not_in_this_scope", fmt::format("sectors have no meaning with scope {}", kScopes[*scope]),
                    "use sectors with each_hour or at_start");
    const bool is_summed =
        row && row->nature == core::Nature::amount &&
        is_one_of(limit.scope, {core::Scope::before, core::Scope::same_day, core::Scope::night_after, core::Scope::days_after});
    read_spans(object, limit, is_summed);
  } else {
    object.ignore({"hours", "days", "hours_after", "allow_hours"});
  }
  if (const auto rain = object.number("rain_mm", {0, 1000})) {
    limit.rain_mm = *rain;
    if (*rain == 0)
      object.refuse("rain_mm", "out_of_range", "0 mm would count every day as rain",
                    "write the amount that counts as rain, such as 2");
    if (row && row->key != "days_since_rain")
      object.refuse("rain_mm", "not_for_this_quantity", fmt::format("rain_mm has no meaning for {}", row->key),
                    "it belongs to days_since_rain; leave it out here");
  }
  object.refuse_unknown_members();
  return limit;
}

namespace {

// Whether what holds of the second limit's value must be inside the first one's range too: both speak of the same hours.
bool speak_of_the_same(const Limit& a, const Limit& b) {
  if (a.quantity != b.quantity || a.quantity >= core::catalogue().size() || a.rain_mm != b.rain_mm) return false;
  if (a.kind == Kind::preference || b.kind == Kind::preference || a.allow_hours > 0 || b.allow_hours > 0) return false;
  if (a.scope == b.scope) return a.hours == b.hours && a.days == b.days;
  const auto is_of_window = [](core::Scope s) {
    return is_one_of(s, {core::Scope::each_hour, core::Scope::at_start, core::Scope::window_mean, core::Scope::window_min,
                         core::Scope::window_max});
  };
  const bool one_is_each_hour = a.scope == core::Scope::each_hour || b.scope == core::Scope::each_hour;
  const bool is_mean_direction =
      core::catalogue()[a.quantity].is_direction && (a.scope == core::Scope::window_mean || b.scope == core::Scope::window_mean);
  return one_is_each_hour && is_of_window(a.scope) && is_of_window(b.scope) && !is_mean_direction;
}

double clockwise(double from, double to) { return std::fmod(to - from + 360, 360); }
bool meet(const Sector& a, const Sector& b) {
  return clockwise(a.from, b.from) <= clockwise(a.from, a.to) || clockwise(b.from, a.from) <= clockwise(b.from, b.to);
}

bool exclude_each_other(const Limit& a, const Limit& b) {
  if (!a.sectors.empty() && !b.sectors.empty())
    return std::none_of(a.sectors.begin(), a.sectors.end(), [&](const Sector& s) {
      return std::any_of(b.sectors.begin(), b.sectors.end(), [&](const Sector& t) { return meet(s, t); });
    });
  // A range that is wrong in itself has been refused already.
  if (is_empty(a.acceptable.lower, a.acceptable.upper) || is_empty(b.acceptable.lower, b.acceptable.upper)) return false;
  return is_empty(a.acceptable.lower, b.acceptable.upper) || is_empty(b.acceptable.lower, a.acceptable.upper);
}

}  // namespace

void refuse_contradictions(const std::vector<Limit>& limits, const std::string& pointer, Errors& mistakes) {
  for (std::size_t j = 1; j < limits.size(); ++j)
    for (std::size_t i = 0; i < j; ++i)
      if (speak_of_the_same(limits[i], limits[j]) && exclude_each_other(limits[i], limits[j])) {
        mistakes.push_back({ErrorKind::invalid, "contradictory",
                            pointer_to(pointer_to(pointer, j), limits[j].sectors.empty() ? "acceptable" : "sectors"),
                            fmt::format("no value of {} can keep this limit and limit {} together",
                                        core::catalogue()[limits[j].quantity].key, i),
                            "widen one of them or leave it out"});
        break;
      }
}

}  // namespace hakea::service
