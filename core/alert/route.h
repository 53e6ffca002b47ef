// From events to messages: who hears what, when.
//
// Pure. All that is due for a subscription at one time is one message (grouped per run and person). Quiet hours and the daily cap
// hold back what is not urgent; what came and went meanwhile is not told, since what is due is compared with what that
// subscription was told last. The clock of a window's cooldown starts at a message, so that a long flap cannot silence itself.
#pragma once

#include <chrono>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/alert/facts.h"

namespace hakea::core {

struct QuietHours {
  ClockTime from{0}, to{0};  // `to` at or before `from`: into the next date
};

struct Subscription {
  std::string id;
  std::vector<std::string> events;               // patterns
  std::set<std::string> units, districts;        // empty: all
  std::set<Confidence> confidence;               // of windows; empty: any
  std::optional<std::chrono::seconds> lead_min;  // what is nearer is not told
  std::optional<std::chrono::seconds> lead_max;  // what is further off waits until it is so near
  std::optional<QuietHours> quiet;
  TimeZone zone;                  // of its quiet hours and days
  std::chrono::seconds batch{0};  // how long what is not urgent waits for company
  int daily_cap = 20;             // messages that are not urgent; the rest comes rolled up in the next morning
  bool is_active = true;          // else nothing is sent for now; what it was told is kept
  bool is_for_people = true;
  bool is_grouped = true;      // else a message for each event
  bool is_escalation = false;  // hears of open burns when nobody acknowledges
};

struct RouteRules {
  std::chrono::seconds cooldown{3 * 3600};       // of a window, for one subscription
  std::chrono::seconds escalate_after{60 * 60};  // of an open burn's danger that nobody acknowledged
  bool operator==(const RouteRules&) const = default;
};

// An event that waits for a subscription.
struct Held {
  std::string event;  // id
  AlertKind kind = AlertKind::window_opened;
  std::string thread, says;
  UtcTime due{}, expires_at{};
  bool operator==(const Held&) const = default;
};

struct ToldThread {
  std::string says;
  UtcTime at{};
  UtcTime until{};  // when it is over
  bool operator==(const ToldThread&) const = default;
};

struct Listener {
  std::map<std::string, ToldThread> told;
  std::vector<Held> held;
  LocalDate counted_on{};
  int messages = 0;  // not urgent ones, on that date
  bool operator==(const Listener&) const = default;
};

// An open burn's danger that waits to be acknowledged.
struct Unanswered {
  UtcTime at{}, expires_at{};
  std::string unit, district;
  std::vector<std::string> told;  // subscriptions
  bool operator==(const Unanswered&) const = default;
};

struct RouteMemory {
  std::map<std::string, Listener> listeners;     // by subscription
  std::map<std::string, Unanswered> unanswered;  // by event
};

struct AlertMessage {
  std::string id;  // "EVENT.SUBSCRIPTION" of its first event; ".again" for an escalation
  std::string subscription;
  std::vector<std::string> events;  // ids, in the order in which they are told
  UtcTime at{}, expires_at{};
  bool is_urgent = false, is_escalation = false;
};

// `acknowledged` are ids of events. Listeners without a subscription are forgotten. One that has begun and is not active now
// hears later of what is still to come.
std::vector<AlertMessage> route(RouteMemory& memory, const std::vector<AlertEvent>& events,
                                const std::vector<Subscription>& subscriptions, const std::set<std::string>& acknowledged,
                                UtcTime now, const RouteRules& rules = {});

// Whether a subscription hears of an event at all, whenever.
bool hears(const Subscription& subscription, const AlertEvent& event);

// When a message that could not be delivered is tried again after its n-th attempt (1 = the first), none after the last: the
// example schedule of Standard Webhooks 1.0.0, each step times 0.8 to 1.2 by a hash of the message.
std::optional<std::chrono::seconds> wait_after(const std::string& message, int attempt);

}  // namespace hakea::core
