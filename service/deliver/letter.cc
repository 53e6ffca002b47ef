#include "service/deliver/letter.h"

#include <fmt/format.h>

#include "service/input/json.h"
#include "service/output/cautions.h"
#include "service/output/html.h"
#include "service/tell/alert_words.h"
#include "service/tell/cloud_event.h"

namespace hakea::service {
namespace {

constexpr std::size_t kSubjectBytes = 180;

std::string run_of(const json::value& data) {
  const json::object* object = data.if_object();
  const json::value* basis = object ? object->if_contains("basis") : nullptr;
  return basis ? text_member(*basis, "run") : "";
}

json::value parsed_data(const EventRow& event) {
  auto parsed = parse_json(event.data, event.id);
  return parsed ? *std::move(parsed) : json::value();
}

// As much of a text as a subject holds, not cut inside a letter.
std::string shortened(std::string text) {
  if (text.size() <= kSubjectBytes) return text;
  std::size_t end = kSubjectBytes;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xc0) == 0x80) --end;
  return text.substr(0, end) + "…";
}

// The digest that an event tells, if it is one.
std::optional<Digest> digest_in(const EventRow& event, const json::value& data) {
  const json::object* object = data.if_object();
  const json::value* told = object ? object->if_contains("digest") : nullptr;
  auto digest = told ? parse_digest(*told, event.title) : Result<Digest>(Errors());
  return digest ? std::optional(*std::move(digest)) : std::nullopt;
}

std::string with_line_ends(const std::string& text) {
  std::string lines;
  for (const char c : text) (lines += c == '\n' ? "\r" : "") += c;
  return lines;
}

}  // namespace

MailMessage letter(const std::vector<EventRow>& events, bool is_escalation, std::string_view origin) {
  MailMessage mail;
  mail.subject = events.front().title;
  if (events.size() > 1) mail.subject += fmt::format(" (and {} more)", events.size() - 1);
  if (is_escalation) mail.subject = "Not acknowledged: " + mail.subject;
  mail.subject = shortened(std::move(mail.subject));
  mail.list = events.front().unit.empty() ? "all" : events.front().unit;
  for (const EventRow& event : events) mail.threads.push_back(event.thread);
  if (events.size() == 1)
    if (const auto digest = digest_in(events.front(), parsed_data(events.front()))) {
      mail.list = events.front().thread;
      mail.text = with_line_ends(digest_text(*digest));
      mail.html = digest_html(*digest);
      return mail;
    }
  mail.html = "<!DOCTYPE html><html lang=\"en\"><head><meta charset=\"utf-8\"><title>" + html(mail.subject) +
              "</title></head><body style=\"font-family:sans-serif;max-width:40em\">";
  if (is_escalation) {
    const std::string asks = "Nobody has acknowledged this yet. Please do, or reach whoever looks after the burn.";
    mail.text += asks + "\r\n\r\n";
    mail.html += "<p><strong>" + asks + "</strong></p>";
  }
  for (const EventRow& event : events) {
    const json::value data = parsed_data(event);
    if (const auto digest = digest_in(event, data)) {
      mail.text += with_line_ends(digest_text(*digest)) + "\r\n";
      mail.html += digest_body(*digest);
      continue;
    }
    mail.text += event.title + "\r\n";
    mail.html += "<h2 style=\"font-size:1.1em\">" + html(event.title) + "</h2><ul>";
    for (const std::string& why : whys_of(data)) {
      mail.text += "- " + why + "\r\n";
      mail.html += "<li>" + html(why) + "</li>";
    }
    mail.html += "</ul><p>";
    const auto say = [&](std::string_view what, const std::string& value) {
      if (value.empty()) return;
      mail.text += fmt::format("{}: {}\r\n", what, value);
      mail.html += fmt::format("{}: {}<br>", what, html(value));
    };
    say("What would clear it", text_member(data, "clears"));
    say("Forecast run", run_of(data));
    if (!event.unit.empty() && !origin.empty()) say("Unit", page_of_unit(origin, event.unit, text_member(data, "date")));
    if (event.is_answerable && !origin.empty()) say("To acknowledge", fmt::format("{}/#/alerts", origin));
    mail.html += "</p>";
    if (const std::string demo = text_member(data, "demo"); !demo.empty()) {
      mail.text += demo + "\r\n";
      mail.html += "<p>" + html(demo) + "</p>";
    }
    mail.text += "\r\n";
  }
  mail.text += std::string(kGuidance) + "\r\n" + std::string(kNotOfficialRating) + "\r\n";
  mail.html += "<hr><p>" + html(kGuidance) + "<br>" + html(kNotOfficialRating) + "</p></body></html>";
  return mail;
}

WebhookBody webhook_body(const std::vector<EventRow>& events, std::string_view origin) {
  if (events.size() == 1) return {cloud_event(events.front(), origin), "application/cloudevents+json"};
  std::string list;
  for (const EventRow& event : events) (list += list.empty() ? "" : ",") += cloud_event(event, origin);
  return {"[" + list + "]", "application/cloudevents-batch+json"};
}

}  // namespace hakea::service
