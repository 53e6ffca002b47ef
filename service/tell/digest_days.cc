// The sections about the days: what changed, candidates, near misses, what comes later.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "core/days/explain.h"
#include "service/tell/digest_sections.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

using std::chrono::days;

constexpr int kNextDays = 4, kLastDay = 10;  // the first day is the digest's own
constexpr std::size_t kCandidates = 10, kNearMisses = 5, kChanges = 10;

const core::Limit* limit_at(const UnitView& view, std::size_t index) {
  return index < view.unit.prescription.limits.size() ? &view.unit.prescription.limits[index] : nullptr;
}

// A unit's day, and the order of candidates: verdict, priority, fit, date, id.
struct Pick {
  const UnitView* view;
  const core::Day* day;
  auto order() const {
    return std::tuple(day->verdict, view->unit.priority, -day->fit.value_or(0), -day->smallest_margin, day->date,
                      std::string_view(view->unit.id));
  }
  friend bool operator<(const Pick& a, const Pick& b) { return a.order() < b.order(); }
};

// The best of each unit's days that satisfy `is`, best units first.
template <class Is>
std::vector<Pick> best_days(const Morning& morning, int within_days, Is is) {
  std::vector<Pick> picks;
  for (const UnitView* view : morning.units) {
    std::optional<Pick> best;
    for (const core::Day& day : view->days) {
      if (day.date < morning.date || day.date >= morning.date + days(within_days) || !is(day)) continue;
      if (const Pick pick{view, &day}; !best || pick < *best) best = pick;
    }
    if (best) picks.push_back(*best);
  }
  std::sort(picks.begin(), picks.end());
  return picks;
}

// What several candidates share, said once: a phrase with the units it holds for, in the order of the candidates.
class SharedWords {
 public:
  void add(const std::string& phrase, const std::string& name) {
    const auto known = std::find_if(said_.begin(), said_.end(), [&](const auto& one) { return one.first == phrase; });
    if (known == said_.end())
      said_.push_back({phrase, {name}});
    else
      known->second.push_back(name);
  }
  // A line each: "coarse says near miss: Back Paddock and Emu Track."
  void say(DigestLines& lines, const std::vector<std::string>& everybody) const {
    for (const auto& [phrase, names] : said_) lines.push_back(line_of(fmt::format("{}: {}.", phrase, shortly(names, everybody))));
  }
  // All in one: "Friday Back Paddock and Sawpit Ridge; Saturday Samphire Point".
  std::string text() const {
    std::string all;
    for (const auto& [phrase, names] : said_) all += fmt::format("{}{} {}", all.empty() ? "" : "; ", phrase, listed(names));
    return all;
  }
  bool is_empty() const { return said_.empty(); }

 private:
  // The names, or those it is not said of where these are few: "all but Windrow Flat".
  static std::string shortly(const std::vector<std::string>& names, const std::vector<std::string>& everybody) {
    std::vector<std::string> others;
    for (const std::string& name : everybody)
      if (std::find(names.begin(), names.end(), name) == names.end()) others.push_back(name);
    if (names.size() < 3 || 2 * others.size() >= names.size()) return listed(names);
    return others.empty() ? "all of them" : "all but " + listed(others);
  }
  std::vector<std::pair<std::string, std::vector<std::string>>> said_;
};

bool has_several_feeds(const Morning& morning) { return morning.snapshot.feeds.size() > 1; }

// Where a feed alone says otherwise; that they agree is said once for all. One that does not know says nothing against it.
void add_feeds(const Morning& morning, const core::Day& day, const std::string& name, SharedWords& shared) {
  if (day.feeds.empty() || !has_several_feeds(morning)) return;
  if (day.feeds.size() == 1) return shared.add(fmt::format("{} alone reaches", day.feeds.front().feed), name);
  for (const core::FeedVerdict& f : day.feeds)
    if (f.verdict != day.verdict && f.verdict != core::Verdict::unknown)
      shared.add(fmt::format("{} says {}", f.feed, spoken(f.verdict)), name);
}

std::string limiting_words(const UnitView& view, const core::Day& day) {
  const core::Limit* limit = day.limiting ? limit_at(view, day.limiting->limit) : nullptr;
  return limit ? "; " + core::with_standing(spoken(*limit), limit->quantity, day) + " limits" : "";
}

// The other days on which a unit could be burnt, and which neighbours lighting it would close.
std::string also_words(const Morning& morning, const Pick& pick) {
  std::vector<std::string> others;
  for (int d = 0; d < kNextDays; ++d) {
    const core::Day* other = day_on(*pick.view, morning.date + days(d));
    if (other && other != pick.day && other->verdict == pick.day->verdict && core::best_window(*other))
      others.push_back(weekday_name(other->date));
  }
  std::string text = others.empty() ? "" : "; also " + listed(others);
  std::vector<std::string> closed;
  for (const std::string& id : morning.snapshot.neighbours.of(pick.view->unit))
    if (const UnitView* neighbour = morning.snapshot.unit(id)) closed.push_back(neighbour->unit.name);
  if (!closed.empty()) text += "; lighting it closes " + listed(closed) + " for the season";
  return text;
}

// What makes a candidate doubtful; how much so, and what is advised, is told on its sheet.
void add_doubts(const core::Day& day, const std::string& name, SharedWords& shared) {
  if (std::any_of(day.missing.begin(), day.missing.end(),
                  [](const core::MissingInput& m) { return m.reason == core::Reason::out_of_domain; }))
    shared.add("Some hours outside a model's domain", name);
  if (day.night_smoke)
    shared.add(day.night_smoke->finish_by ? "Night smoke limit not met, earlier end advised" : "Night smoke limit not met", name);
  for (const std::string& flag : day.flags) shared.add(capital(flag), name);
}

DigestLine candidate_line(const Morning& morning, const Pick& pick, SharedWords& shared) {
  const auto& [view, day] = pick;
  const core::Window& window = *core::best_window(*day);
  const TimeZone& zone = view->unit.traits.zone;
  std::string text = fmt::format("{}, {} {}, {}", view->unit.name, weekday_name(day->date),
                                 spoken_span(window.start.start(), window.end.start(), zone), core::word(day->confidence));
  if (window.unconfirmed) text += ", unconfirmed";
  if (day->draft) text += ", draft prescription";
  text += limiting_words(*view, *day);
  if (view->unit.needs.crews > 0) text += "; " + counted(static_cast<std::size_t>(view->unit.needs.crews), "crew", "crews");
  text += also_words(morning, pick) + ".";
  add_feeds(morning, *day, view->unit.name, shared);
  add_doubts(*day, view->unit.name, shared);
  return {view->unit.id, std::move(text), date_text(day->date), std::string(core::word(day->verdict))};
}

// What a pair is lost for that could be burnt by itself; empty for one that could not, or whose unit is burnt on another date.
std::string_view lost_for(core::LossKind kind) {
  switch (kind) {
    case core::LossKind::crews: return "crews";
    case core::LossKind::tankers: return "tankers";
    case core::LossKind::aircraft: return "aircraft";
    case core::LossKind::plant: return "plant";
    case core::LossKind::airshed: return "its airshed";
    case core::LossKind::adjacency: return "a neighbour";
    case core::LossKind::order: return "the unit that goes first";
    case core::LossKind::readiness: return "the crews that stay free";
    case core::LossKind::verdict:
    case core::LossKind::blocked:
    case core::LossKind::notice:
    case core::LossKind::left_out:
    case core::LossKind::displaced: return "";
  }
  return "";
}

// The first day beyond the tails on which a tail limit would be out, and the worst value on it; one sentence for all.
std::optional<std::string> beyond_words(const std::vector<Pick>& picks) {
  struct Worst {
    const core::QuantityRow* quantity;
    LocalDate date;
    double value;
    std::string name;
  };
  std::optional<Worst> worst;
  for (const auto& [view, day] : picks) {
    const core::Limit* limit = day->tail.beyond ? limit_at(*view, day->tail.beyond->limit) : nullptr;
    if (!limit) continue;
    const auto* quantity = &core::catalogue()[limit->quantity];
    const LocalDate date = view->unit.traits.zone.date(day->tail.beyond->at.start());
    const auto value = static_cast<double>(day->tail.beyond->value);
    const bool is_worse = worst && quantity == worst->quantity && date == worst->date && value > worst->value;
    if (!worst || date < worst->date || is_worse)
      worst = Worst{quantity, date, value, core::with_standing(spoken(*quantity), limit->quantity, *day)};
  }
  if (!worst) return std::nullopt;
  return fmt::format("Beyond their tails: {} {} on {}.", worst->name,
                     core::with_unit(std::round(worst->value), worst->quantity->unit), weekday_name(worst->date));
}

// "too short by 1 hour", "litter moisture 16.7 %, needs at most 16 %".
std::string miss_words(const UnitView& view, const core::Day& day) {
  std::vector<std::string> parts;
  const TimeZone& zone = view.unit.traits.zone;
  if (day.short_stretch) {
    const core::Window& stretch = *day.short_stretch;
    const int needed = static_cast<int>(std::ceil(view.unit.prescription.duration_h));
    parts.push_back(fmt::format("{} of {} hours, {}", stretch.hours(), needed,
                                spoken_span(stretch.start.start(), stretch.end.start(), zone)));
  }
  const core::Limit* limit = day.limiting ? limit_at(view, day.limiting->limit) : nullptr;
  if (limit && day.limiting->value) {
    const auto& quantity = core::catalogue()[limit->quantity];
    parts.push_back(fmt::format("{} {}, {}", core::with_standing(spoken(*limit), limit->quantity, day),
                                core::with_unit(static_cast<double>(*day.limiting->value), quantity.unit),
                                core::needs_text(*limit)));
  } else if (limit) {
    parts.push_back(core::with_standing(spoken(*limit), limit->quantity, day) + " limits");
  }
  std::string text;
  for (const std::string& part : parts) text += (text.empty() ? "" : "; ") + part;
  return text;
}

std::string domain_words(const core::Day& day) {
  std::vector<std::string> outside;
  int most = 0;
  bool is_even = true;
  for (const core::MissingInput& m : day.missing)
    if (m.quantity && m.reason == core::Reason::out_of_domain) {
      is_even = is_even && (outside.empty() || m.hours == most);
      most = std::max(most, m.hours);
      outside.push_back(spoken(core::catalogue()[*m.quantity]));
    }
  if (outside.empty()) return "";
  return fmt::format("; {} {} for {}{}", listed(outside),
                     outside.size() == 1 ? "is outside its model's domain" : "are outside their models' domains",
                     is_even ? "" : "up to ", counted(static_cast<std::size_t>(most), "hour", "hours"));
}

}  // namespace

std::string doubt_words(const core::Day& day, const TimeZone& zone) {
  std::string text = domain_words(day);
  if (day.night_smoke) {
    text += "; night smoke limit not met";
    if (day.night_smoke->finish_by)
      text += fmt::format(", an end by {} is advised", clock_text(*day.night_smoke->finish_by, zone));
  }
  for (const std::string& flag : day.flags) text += "; " + flag;
  return text;
}

DigestLines changed_lines(const Morning& morning, const SaidBefore* before) {
  if (!before) return {line_of("Nothing to compare with: no earlier digest is kept.")};
  if (!morning.has_days) return {line_of("Not known: no forecast has been read yet.")};
  DigestLines opened, lost, moved;
  for (const UnitView* view : morning.units) {
    const auto said = before->units.find(view->unit.id);
    if (said == before->units.end()) continue;
    std::vector<const core::Day*> days_in_order;
    for (const core::Day& day : view->days) days_in_order.push_back(&day);
    std::sort(days_in_order.begin(), days_in_order.end(), [](const auto* a, const auto* b) { return a->date < b->date; });
    for (const core::Day* day : days_in_order) {
      const auto then = said->second.find(day->date);
      if (day->date < morning.date || then == said->second.end()) continue;
      const bool was_met = then->second.verdict == core::Verdict::met, is_met = day->verdict == core::Verdict::met;
      if (!was_met && !is_met) continue;
      const core::Window* window = is_met ? core::best_window(*day) : nullptr;
      const std::string subject = fmt::format("{}, {}", view->unit.name, spoken_date(day->date));
      const auto line = [&](std::string text) {
        return DigestLine{view->unit.id, std::move(text), date_text(day->date), std::string(core::word(day->verdict))};
      };
      const std::string span =
          window ? spoken_span(window->start.start(), window->end.start(), view->unit.traits.zone) : std::string();
      if (is_met && !was_met) {
        opened.push_back(line(fmt::format("Opened: {}, {}.", subject, span)));
      } else if (was_met && !is_met) {
        std::string why = day->blocked_by.empty() ? limiting_words(*view, *day) : "";
        for (const core::Blocked& b : day->blocked_by) why += "; " + (b.why.empty() ? b.kind : b.why);
        lost.push_back(line(fmt::format("Lost: {}, now {}{}.", subject, spoken(day->verdict), why)));
      } else if (window && then->second.start && then->second.end &&
                 (window->start.start() != *then->second.start || window->end.start() != *then->second.end) &&
                 window->end.start() > morning.snapshot.now) {
        moved.push_back(line(fmt::format("Moved: {}, from {} to {}.", subject,
                                         spoken_span(*then->second.start, *then->second.end, view->unit.traits.zone), span)));
      }
    }
  }
  DigestLines lines = std::move(opened);
  lines.insert(lines.end(), lost.begin(), lost.end());
  lines.insert(lines.end(), moved.begin(), moved.end());
  const LocalDate then = zone_of(morning.district).date(before->at);
  const std::string since = fmt::format("{} {}", spoken_date(then), clock_text(before->at, zone_of(morning.district)));
  if (lines.empty()) return {line_of(fmt::format("No window opened, was lost or moved since {}.", since))};
  if (lines.size() > kChanges) {
    const std::size_t more = lines.size() - kChanges;
    lines.resize(kChanges);
    lines.push_back(line_of(fmt::format("And {} since {}.", counted(more, "more change", "more changes"), since)));
  }
  return lines;
}

DigestLines candidate_lines(const Morning& morning) {
  if (!morning.has_days) return {line_of("Not known: no forecast has been read yet.")};
  std::vector<Pick> picks = best_days(morning, kNextDays, [](const core::Day& day) {
    return (day.verdict == core::Verdict::met || day.verdict == core::Verdict::unknown) && core::best_window(day);
  });
  const std::size_t more = picks.size() - std::min(picks.size(), kCandidates);
  picks.resize(picks.size() - more);
  DigestLines lines;
  SharedWords shared;
  for (const Pick& pick : picks) lines.push_back(candidate_line(morning, pick, shared));
  std::vector<std::string> names;
  for (const Pick& pick : picks) names.push_back(pick.view->unit.name);
  shared.say(lines, names);
  if (has_several_feeds(morning) && !picks.empty()) lines.push_back(line_of("Else feeds agree as far as they reach."));
  if (const auto beyond = beyond_words(picks)) lines.push_back(line_of(*beyond));
  if (more > 0) lines.push_back(line_of(fmt::format("And {}.", counted(more, "more unit", "more units"))));
  if (lines.empty())
    lines.push_back(line_of(fmt::format("No unit has a window until {}.", spoken_date(morning.date + days(kNextDays - 1)))));
  return lines;
}

std::pair<LocalDate, LocalDate> planned_dates(LocalDate date) { return {date, date + days(kNextDays - 1)}; }

void say_plan(const Morning& morning, const Result<SharedProposal>& plan, DigestLines& lines) {
  if (!plan) {
    lines.push_back(line_of(fmt::format("What could be done together is not known: {}.", plan.error().what)));
    return;
  }
  const auto named = [&](const std::string& unit) {
    const UnitView* view = morning.snapshot.unit(unit);
    return view ? view->unit.name : unit;
  };
  SharedWords together, lost;  // by date; by what was short
  std::set<std::string> told;
  for (const core::ProposedBurn& burn : (*plan)->burns) {
    together.add(weekday_name(burn.date), named(burn.unit));
    told.insert(burn.unit);
  }
  for (const core::LostPair& pair : (*plan)->lost)
    if (const std::string_view what = lost_for(pair.kind); !what.empty() && told.insert(pair.unit).second)
      lost.add("for " + std::string(what), named(pair.unit) + " " + weekday_name(pair.date));
  if (!together.is_empty())
    lines.push_back(line_of(fmt::format("Together could be burnt, {}: {}.",
                                        (*plan)->proven ? "nothing is booked" : "by the best plan found", together.text())));
  if (!lost.is_empty()) lines.push_back(line_of(fmt::format("Lost out: {}.", lost.text())));
}

DigestLines near_miss_lines(const Morning& morning) {
  if (!morning.has_days) return {line_of("Not known: no forecast has been read yet.")};
  DigestLines lines;
  for (const Pick& pick :
       best_days(morning, kLastDay, [](const core::Day& day) { return day.verdict == core::Verdict::near_miss; })) {
    if (lines.size() == kNearMisses) break;
    const std::string miss = miss_words(*pick.view, *pick.day);
    lines.push_back({.unit = pick.view->unit.id,
                     .text = fmt::format("{}, {}{}{}.", pick.view->unit.name, spoken_date(pick.day->date),
                                         miss.empty() ? "" : ": ", miss + doubt_words(*pick.day, pick.view->unit.traits.zone)),
                     .date = date_text(pick.day->date),
                     .verdict = "near_miss"});
  }
  if (lines.empty()) lines.push_back(line_of("None."));
  return lines;
}

DigestLines later_lines(const Morning& morning) {
  if (!morning.has_days) return {line_of("Not known: no forecast has been read yet.")};
  // Dates in a row of which the same is told are told together.
  struct Alike {
    std::string told;
    LocalDate from, to;
    std::vector<std::string> limits;
  };
  std::vector<Alike> alike;
  for (int d = kNextDays; d < kLastDay; ++d) {
    const LocalDate date = morning.date + days(d);
    std::map<core::Verdict, std::size_t> by_verdict;
    std::map<std::string, std::size_t> by_limit;
    for (const UnitView* view : morning.units)
      if (const core::Day* day = day_on(*view, date)) {
        ++by_verdict[day->verdict];
        const core::Limit* limit = day->limiting ? limit_at(*view, day->limiting->limit) : nullptr;
        if (limit && day->verdict != core::Verdict::met) ++by_limit[spoken(*limit)];
      }
    std::vector<std::string> counts;
    for (const auto& [verdict, number] : by_verdict)
      counts.push_back(verdict == core::Verdict::near_miss ? counted(number, "near miss", "near misses")
                                                           : fmt::format("{} {}", number, core::word(verdict)));
    const std::string told = counts.empty() ? "beyond the forecast" : fmt::format("{}", fmt::join(counts, ", "));
    if (alike.empty() || alike.back().told != told) alike.push_back({told, date, date, {}});
    Alike& last = alike.back();
    last.to = date;
    const auto most =
        std::max_element(by_limit.begin(), by_limit.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
    if (most != by_limit.end() && std::find(last.limits.begin(), last.limits.end(), most->first) == last.limits.end())
      last.limits.push_back(most->first);
  }
  const auto day_name = [](LocalDate date) {
    return fmt::format("{} {}", weekday_name(date), unsigned(std::chrono::year_month_day(date).day()));
  };
  DigestLines lines;
  for (const Alike& each : alike) {
    std::string text = day_name(each.from);
    if (each.to > each.from) text += (each.to == each.from + days(1) ? " and " : " to ") + day_name(each.to);
    text += ": " + each.told;
    if (!each.limits.empty()) text += ", mostly " + listed(each.limits);
    lines.push_back({.unit = {}, .text = text + ".", .date = date_text(each.from), .verdict = {}});
  }
  return lines;
}

}  // namespace hakea::service
