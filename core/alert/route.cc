#include "core/alert/route.h"

#include <algorithm>
#include <array>
#include <tuple>

namespace hakea::core {
namespace {

using std::chrono::days;
using std::chrono::seconds;
using enum AlertKind;

bool is_window(AlertKind kind) { return kind == window_opened || kind == window_changed || kind == window_lost; }
bool is_state(AlertKind kind) { return is_window(kind) || kind == feed_late || kind == feed_recovered; }
// It ends what was told, or goes on with it: without that it says nothing.
bool needs_told(AlertKind kind) { return kind == window_changed || kind == window_lost || kind == feed_recovered; }
// What a booking says of its window: the window's own event would say it twice.
bool is_for_window(AlertKind kind) {
  return kind == booking_window_lost || kind == booking_tail_fails || kind == booking_closes_earlier;
}
bool is_end(const std::string& says) { return says == "lost" || says == "current"; }

// The first instant from `t` on that is not quiet.
UtcTime after_quiet(const Subscription& subscription, UtcTime t) {
  if (!subscription.quiet) return t;
  const auto [from, to] = *subscription.quiet;
  const TimeZone& zone = subscription.zone;
  for (LocalDate date = zone.date(t) - days(1); date <= zone.date(t); date += days(1)) {
    const UtcTime begin = zone.instant(date, from), end = zone.instant(to <= from ? date + days(1) : date, to);
    if (t >= begin && t < end) return end;
  }
  return t;
}

class Router {
 public:
  Router(RouteMemory& memory, const std::vector<AlertEvent>& events, UtcTime now, const RouteRules& rules)
      : memory_(memory), events_(events), now_(now), rules_(rules) {}

  void hold(const Subscription& subscription) {
    Listener& listener = memory_.listeners[subscription.id];
    std::erase_if(listener.held, [&](const Held& held) { return held.expires_at <= now_; });
    std::set<std::string> by_booking;  // threads whose booking tells it
    for (const AlertEvent& event : events_)
      if (is_for_window(event.kind) && hears(subscription, event)) by_booking.insert(event.thread);
    for (const AlertEvent& event : events_) {
      const bool is_over = event.kind == window_lost || event.kind == booking_window_lost || event.kind == booking_tail_fails;
      // Whatever waits to be told of a window that is gone.
      if (is_over)
        std::erase_if(listener.held, [&](const Held& held) {
          return held.thread == event.thread && (held.kind == notice_due || held.kind == window_rare || is_window(held.kind)) &&
                 held.event != event.id;
        });
      if (!hears(subscription, event) || subscription.is_escalation) continue;
      if ((event.kind == window_lost || event.kind == window_changed) && by_booking.contains(event.thread)) continue;
      Held held{event.id, event.kind, event.thread, event.says, now_, event.expires_at};
      if (!row_of(event.kind).is_urgent) {
        held.due += subscription.batch;
        if (subscription.lead_max && event.hours) held.due = std::max(held.due, event.hours->start - *subscription.lead_max);
        held.due = after_quiet(subscription, cooled(listener, held));
      }
      // The newest state of a thread stands for what waits; where nobody has told yet that it opened, it is still that.
      const auto is_same = [&](const Held& other) { return is_state(other.kind) && other.thread == event.thread; };
      const bool opens = std::any_of(listener.held.begin(), listener.held.end(),
                                     [&](const Held& other) { return is_same(other) && other.kind == window_opened; });
      if (is_state(event.kind)) std::erase_if(listener.held, is_same);
      if (event.kind == window_changed && (opens || begins_for(subscription, listener, event))) held.kind = window_opened;
      listener.held.push_back(std::move(held));
    }
  }

  std::vector<AlertMessage> release(const Subscription& subscription) {
    Listener& listener = memory_.listeners[subscription.id];
    const LocalDate today = subscription.zone.date(now_);
    if (listener.counted_on != today) listener.counted_on = today, listener.messages = 0;
    std::vector<Held> due, later;
    for (Held& held : listener.held) {
      if (held.expires_at <= now_) continue;
      if (held.due > now_) {
        later.push_back(std::move(held));
        continue;
      }
      if (is_state(held.kind) && is_told(listener, held)) continue;
      if (!row_of(held.kind).is_urgent && listener.messages >= subscription.daily_cap) {
        held.due = after_quiet(subscription, subscription.zone.day_begin(today + days(1)));
        later.push_back(std::move(held));
        continue;
      }
      due.push_back(std::move(held));
    }
    listener.held = std::move(later);
    for (const Held& held : due) remember(listener, held);
    // A late feed stays late; a window ends with its hours.
    std::erase_if(listener.told, [&](const auto& told) { return told.second.until <= now_ && told.second.says != "late"; });
    std::stable_sort(due.begin(), due.end(), [](const Held& a, const Held& b) {
      return std::tie(a.kind, a.thread, a.event) < std::tie(b.kind, b.thread, b.event);
    });
    std::vector<AlertMessage> messages;
    for (const Held& held : due) {
      if (messages.empty() || !subscription.is_grouped) {
        AlertMessage& message = messages.emplace_back();
        message.id = held.event + "." + subscription.id;
        message.subscription = subscription.id;
        message.at = now_;
      }
      messages.back().events.push_back(held.event);
      messages.back().expires_at = std::max(messages.back().expires_at, held.expires_at);
      messages.back().is_urgent = messages.back().is_urgent || row_of(held.kind).is_urgent;
      if (held.kind == open_burn_danger) memory_.unanswered[held.event].told.push_back(subscription.id);
    }
    listener.messages += static_cast<int>(
        std::count_if(messages.begin(), messages.end(), [](const AlertMessage& message) { return !message.is_urgent; }));
    return messages;
  }

 private:
  // Whether a window that changed is one that the subscription's wish for confidence kept from it so far.
  static bool begins_for(const Subscription& subscription, const Listener& listener, AlertEvent event) {
    event.kind = window_opened;
    return !subscription.confidence.empty() && !listener.told.contains(event.thread) && hears(subscription, event);
  }

  UtcTime cooled(const Listener& listener, const Held& held) const {
    const auto told = listener.told.find(held.thread);
    return is_window(held.kind) && told != listener.told.end() ? std::max(held.due, told->second.at + rules_.cooldown) : held.due;
  }

  // Whether the subscription knows already what an item would say.
  static bool is_told(const Listener& listener, const Held& held) {
    const auto told = listener.told.find(held.thread);
    if (told == listener.told.end()) return needs_told(held.kind);
    return told->second.says == held.says || (needs_told(held.kind) && is_end(told->second.says));
  }

  void remember(Listener& listener, const Held& held) const {
    if (is_state(held.kind) || is_for_window(held.kind))
      listener.told.insert_or_assign(held.thread, ToldThread{held.says, now_, held.expires_at});
  }

  RouteMemory& memory_;
  const std::vector<AlertEvent>& events_;
  const UtcTime now_;
  const RouteRules& rules_;
};

// To whom an unanswered danger goes: whoever asked for escalations and may hear of the unit, else those who were told.
std::vector<std::string> next_in_line(const Unanswered& unanswered, const std::vector<Subscription>& subscriptions) {
  AlertEvent event;
  event.kind = open_burn_danger;
  event.unit = unanswered.unit;
  event.district = unanswered.district;
  std::vector<std::string> next;
  for (const Subscription& subscription : subscriptions)
    if (subscription.is_active && subscription.is_escalation && hears(subscription, event)) next.push_back(subscription.id);
  if (!next.empty()) return next;
  for (const Subscription& subscription : subscriptions)
    if (subscription.is_active &&
        std::find(unanswered.told.begin(), unanswered.told.end(), subscription.id) != unanswered.told.end())
      next.push_back(subscription.id);
  return next;
}

void escalate(RouteMemory& memory, const std::vector<Subscription>& subscriptions, const std::set<std::string>& acknowledged,
              UtcTime now, const RouteRules& rules, std::vector<AlertMessage>& messages) {
  std::map<std::string, AlertMessage> by_subscription;
  std::erase_if(memory.unanswered, [&](const auto& entry) {
    const auto& [event, unanswered] = entry;
    if (acknowledged.contains(event) || unanswered.expires_at <= now) return true;
    if (unanswered.at + rules.escalate_after > now) return false;
    for (const std::string& subscription : next_in_line(unanswered, subscriptions)) {
      AlertMessage& message = by_subscription[subscription];
      if (message.events.empty()) {
        message.id = event + "." + subscription + ".again";
        message.subscription = subscription;
        message.at = now;
        message.is_urgent = message.is_escalation = true;
      }
      message.events.push_back(event);
      message.expires_at = std::max(message.expires_at, unanswered.expires_at);
    }
    return true;
  });
  for (auto& [subscription, message] : by_subscription) messages.push_back(std::move(message));
}

}  // namespace

bool hears(const Subscription& subscription, const AlertEvent& event) {
  const AlertKindRow& row = row_of(event.kind);
  if (!row.is_chosen || (subscription.is_for_people && !row.is_for_people)) return false;
  if (std::none_of(subscription.events.begin(), subscription.events.end(), [&](const std::string& pattern) {
        return names_type(pattern, row.type) && !(row.is_by_name && pattern == "*");
      }))
    return false;
  if (!event.unit.empty() && !subscription.units.empty() && !subscription.units.contains(event.unit)) return false;
  if (!event.district.empty() && !subscription.districts.empty() && !subscription.districts.contains(event.district))
    return false;
  if (!subscription.units.empty() && event.kind == district_short_of_crews &&
      std::none_of(event.units.begin(), event.units.end(), [&](const std::string& u) { return subscription.units.contains(u); }))
    return false;
  // What ends a window is told to whoever was told that it opened.
  const bool begins = event.kind == window_opened || event.kind == window_rare;
  if (begins && !subscription.confidence.empty() && event.confidence && !subscription.confidence.contains(*event.confidence))
    return false;
  if (begins && subscription.lead_min && event.hours && event.hours->start - event.at < *subscription.lead_min) return false;
  return true;
}

std::vector<AlertMessage> route(RouteMemory& memory, const std::vector<AlertEvent>& events,
                                const std::vector<Subscription>& subscriptions, const std::set<std::string>& acknowledged,
                                UtcTime now, const RouteRules& rules) {
  std::erase_if(memory.listeners, [&](const auto& listener) {
    return std::none_of(subscriptions.begin(), subscriptions.end(),
                        [&](const Subscription& subscription) { return subscription.id == listener.first; });
  });
  for (const AlertEvent& event : events)
    if (event.kind == open_burn_danger)
      memory.unanswered.emplace(event.id, Unanswered{event.at, event.expires_at, event.unit, event.district, {}});
  Router router(memory, events, now, rules);
  std::vector<AlertMessage> messages;
  for (const Subscription& subscription : subscriptions) {
    if (!subscription.is_active && !memory.listeners.contains(subscription.id)) continue;
    router.hold(subscription);
    if (!subscription.is_active) continue;
    for (AlertMessage& message : router.release(subscription)) messages.push_back(std::move(message));
  }
  escalate(memory, subscriptions, acknowledged, now, rules, messages);
  return messages;
}

std::optional<seconds> wait_after(const std::string& message, int attempt) {
  using std::chrono::hours;
  using std::chrono::minutes;
  constexpr std::array<seconds, 9> kSteps{seconds(5), minutes(5), minutes(30), hours(2), hours(5),
                                          hours(10),  hours(14),  hours(20),   hours(24)};
  if (attempt < 1 || attempt > static_cast<int>(kSteps.size())) return std::nullopt;
  const double share = 0.8 + 0.4 * share_of(message + "/" + std::to_string(attempt));
  const auto whole =
      static_cast<std::int64_t>(static_cast<double>(kSteps[static_cast<std::size_t>(attempt - 1)].count()) * share);
  return seconds(whole);
}

}  // namespace hakea::core
