#include "service/input/subscription_json.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "service/input/zones.h"

namespace hakea::service {
namespace {

using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;

constexpr std::array<std::string_view, 2> kChannels{"email", "webhook"};
constexpr std::array<std::string_view, 4> kConfidence{"firm", "likely", "possible", "early"};
constexpr seconds kLongestBatch = hours(6);

bool is_plain(std::string_view text) {  // printable ASCII without blanks: nothing that could end a header or a line
  return std::all_of(text.begin(), text.end(), [](char c) { return c > ' ' && c < 0x7f; });
}

void read_channel(JsonObject& top, SubscriptionEntry& entry) {
  if (!top.require("channel", R"(write {"kind":"email","address":"…"} or {"kind":"webhook","url":"https://…"})")) return;
  JsonObject channel(*top.find("channel"), top.at("channel"), top.mistakes());
  channel.require("kind", "email or webhook");
  const auto kind = channel.word("kind", kChannels);
  if (!kind) return;
  entry.channel = static_cast<SubscriptionEntry::Channel>(*kind);
  const bool is_mail = entry.channel == SubscriptionEntry::Channel::email;
  const std::string_view name = is_mail ? "address" : "url";
  channel.require(name, is_mail ? "write the e-mail address" : "write the https URL of the receiver");
  if (const auto target = channel.text(name)) {
    const std::string why = is_mail ? wrong_address(*target) : wrong_webhook_url(*target);
    if (!why.empty())
      channel.refuse(
          name, is_mail ? "not_an_address" : "not_a_webhook", why,
          is_mail ? "write one address such as officer@shire.example" : "write a URL such as https://hooks.shire.example/burn");
    entry.target = *target;
  }
  channel.refuse_unknown_members();
}

std::vector<std::string> texts(JsonObject& object, std::string_view name) {
  std::vector<std::string> all;
  const json::array* list = object.list(name);
  if (!list) return all;
  for (std::size_t i = 0; i < list->size(); ++i)
    if (const auto* text = (*list)[i].if_string())
      all.emplace_back(*text);
    else
      object.mistakes().push_back(
          {ErrorKind::invalid, "wrong_kind", pointer_to(object.at(name), i), "this is no text", "write a text"});
  return all;
}

std::optional<seconds> duration(JsonObject& object, std::string_view name, seconds most) {
  const auto text = object.text(name);
  if (!text) return std::nullopt;
  const auto read = parse_duration(*text);
  if (!read || *read > most)
    object.refuse(name, "not_a_duration", fmt::format("\"{}\" is no duration from PT0S to {}", *text, duration_text(most)),
                  "write hours as PT36H, minutes as PT15M");
  return read;
}

void read_quiet(JsonObject& top, SubscriptionEntry& entry) {
  const json::value* node = top.find("quiet");
  if (!node) return;
  JsonObject quiet(*node, top.at("quiet"), top.mistakes());
  quiet.require("from", "a clock time such as 21:00");
  quiet.require("to", "a clock time such as 05:30");
  const auto from = quiet.clock("from"), to = quiet.clock("to");
  if (const auto name = quiet.text("time_zone")) {
    auto zone = time_zone(*name);
    if (zone)
      entry.wants.zone = *std::move(zone);
    else
      quiet.refuse("time_zone", zone.error().code, zone.error().what, zone.error().hint);
  }
  if (from && to && *from == *to)
    quiet.refuse("to", "empty", "the quiet hours end where they begin", "leave `quiet` out to have none");
  if (from && to) entry.wants.quiet = core::QuietHours{*from, *to};
  quiet.refuse_unknown_members();
}

}  // namespace

std::string_view word(SubscriptionEntry::Channel channel) { return kChannels.at(static_cast<std::size_t>(channel)); }

std::string wrong_address(std::string_view address) {
  const std::size_t at = address.find('@');
  constexpr std::string_view kNot = "<>()[]\\,;:\"";
  if (address.size() > 254 || !is_plain(address) || address.find_first_of(kNot) != std::string_view::npos)
    return "this is no plain e-mail address";
  if (at == std::string_view::npos || at == 0 || at > 64 || at + 1 == address.size() ||
      address.find('@', at + 1) != std::string_view::npos)
    return "an e-mail address has one @ with something on both sides";
  return "";
}

std::string wrong_webhook_url(std::string_view url) {
  if (!url.starts_with("https://")) return "a webhook is reached by https only";
  if (url.size() > 2000 || !is_plain(url)) return "this is no plain URL";
  const std::string_view rest = url.substr(8), host = rest.substr(0, rest.find_first_of("/?#"));
  if (host.empty()) return "the URL names no host";
  if (host.find('@') != std::string_view::npos) return "the URL may not name a user";
  if (url.find('#') != std::string_view::npos) return "the URL may not have a fragment";
  return "";
}

std::optional<seconds> parse_duration(std::string_view text) {
  if (text.size() < 3 || text.front() != 'P') return std::nullopt;
  text.remove_prefix(1);
  seconds sum{0};
  bool is_time = false;
  std::size_t last_unit = 0;  // units descend
  constexpr std::string_view kUnits = "DHMS";
  constexpr std::array<long, 4> kSeconds{86400, 3600, 60, 1};
  while (!text.empty()) {
    if (text.front() == 'T' && !is_time) {
      is_time = true;
      text.remove_prefix(1);
      if (text.empty()) return std::nullopt;
      continue;
    }
    const std::size_t digits = std::min(text.find_first_not_of("0123456789"), text.size());
    if (digits == 0 || digits > 6 || digits == text.size()) return std::nullopt;
    const std::size_t unit = kUnits.find(text[digits]);
    if (unit == std::string_view::npos || unit < last_unit || is_time != (unit > 0)) return std::nullopt;
    sum += seconds(std::stol(std::string(text.substr(0, digits))) * kSeconds.at(unit));
    last_unit = unit + 1;
    text.remove_prefix(digits + 1);
  }
  return sum;
}

std::string duration_text(seconds duration) {
  const auto s = duration.count();
  if (s % 3600 == 0) return fmt::format("PT{}H", s / 3600);
  if (s % 60 == 0) return s > 3600 ? fmt::format("PT{}H{}M", s / 3600, s / 60 % 60) : fmt::format("PT{}M", s / 60);
  return fmt::format("PT{}S", s);
}

Result<SubscriptionEntry> parse_subscription(const json::value& document, const TimeZone& usual_zone) {
  Errors mistakes;
  SubscriptionEntry entry;
  entry.wants.zone = usual_zone;
  JsonObject top(document, "", mistakes);
  read_channel(top, entry);
  entry.wants.is_for_people = entry.wants.is_grouped = entry.channel == SubscriptionEntry::Channel::email;
  top.require("events", R"(list what to be told of, such as ["window.*","booking.*","open_burn.*"])");
  entry.wants.events = texts(top, "events");
  for (std::size_t i = 0; i < entry.wants.events.size(); ++i)
    if (!core::names_any_type(entry.wants.events[i]))
      mistakes.push_back({ErrorKind::invalid, "unknown_event", pointer_to("/events", i),
                          fmt::format("no event is called \"{}\"", entry.wants.events[i]),
                          "GET /api/v1/events?kinds=yes lists them; \"window.*\" means all of a kind, \"*\" all"});
  if (top.has("events") && entry.wants.events.empty()) top.refuse("events", "empty", "no event is named", "name at least one");
  for (std::string& unit : texts(top, "units")) entry.wants.units.insert(std::move(unit));
  for (std::string& district : texts(top, "districts")) entry.wants.districts.insert(std::move(district));
  const std::vector<std::string> confidence = texts(top, "confidence");
  for (std::size_t i = 0; i < confidence.size(); ++i) {
    const auto found = std::find(kConfidence.begin(), kConfidence.end(), confidence[i]);
    if (found == kConfidence.end())
      mistakes.push_back({ErrorKind::invalid, "unknown_word", pointer_to("/confidence", i),
                          fmt::format("\"{}\" is no word of confidence", confidence[i]), "firm, likely, possible or early"});
    else
      entry.wants.confidence.insert(static_cast<core::Confidence>(found - kConfidence.begin()));
  }
  if (const json::value* node = top.find("lead")) {
    JsonObject lead(*node, "/lead", mistakes);
    entry.wants.lead_min = duration(lead, "min", hours(240));
    entry.wants.lead_max = duration(lead, "max", hours(240));
    if (entry.wants.lead_min && entry.wants.lead_max && *entry.wants.lead_min > *entry.wants.lead_max)
      lead.refuse("min", "reversed", "the nearest lead is beyond the furthest", "give the smaller one as min");
    lead.refuse_unknown_members();
  }
  read_quiet(top, entry);
  entry.wants.batch = duration(top, "batch", kLongestBatch).value_or(seconds(0));
  entry.wants.daily_cap = top.whole_number("daily_cap", 1, 1000).value_or(entry.wants.daily_cap);
  entry.wants.is_grouped = top.yes_or_no("grouped").value_or(entry.wants.is_grouped);
  entry.wants.is_escalation = top.yes_or_no("escalation").value_or(false);
  entry.is_paused = top.yes_or_no("paused").value_or(false);
  if (const auto note = top.text("note"); note && note->size() > 500)
    top.refuse("note", "too_long", "the note has more than 500 bytes", "write a shorter one");
  top.refuse_unknown_members();
  if (!mistakes.empty()) return mistakes;
  return entry;
}

Result<SubscriptionEntry> stored_subscription(std::string_view body, const TimeZone& usual_zone) {
  auto document = parse_json(body, "subscription");
  if (!document) return document.errors();
  if (json::object* said = document->if_object()) said->erase("owner");
  return parse_subscription(*document, usual_zone);
}

}  // namespace hakea::service
