#include "service/tell/digest.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>

#include "service/engine/verification.h"
#include "service/output/cautions.h"
#include "service/output/html.h"
#include "service/output/json_writer.h"
#include "service/tell/digest_sections.h"
#include "service/tell/missing_pieces.h"
#include "service/tell/words.h"

namespace hakea::service {
namespace {

constexpr std::string_view kNotKnown = "Not known: what could be burnt together.";

std::string offset_words(LocalDate date, const TimeZone& zone) {
  const UtcTime begin = zone.day_begin(date), end = zone.day_begin(date + std::chrono::days(1));
  const std::string first = offset_text(begin, zone), last = offset_text(end, zone);
  return first == last ? first : fmt::format("{} until the clocks change, then {}", first, last);
}

// W5: which runs the picture rests on, how old they are, what is missing.
std::string forecast_words(const Morning& morning) {
  const TimeZone& zone = zone_of(morning.district);
  std::map<UtcTime, std::vector<std::string>, std::greater<>> feeds_by_time;
  for (const FeedView& feed : morning.snapshot.feeds)
    if (feed.newest_complete) feeds_by_time[feed.newest_complete->reference_time].push_back(feed.id);
  std::string text;
  for (const auto& [time, feeds] : feeds_by_time) {
    const auto age = std::chrono::round<std::chrono::hours>(morning.snapshot.now - time).count();
    text += fmt::format("{} {} {} ({}), {} old", text.empty() ? "Forecast made" : " and", spoken_date(zone.date(time)),
                        clock_text(time, zone), listed(feeds),
                        counted(static_cast<std::size_t>(std::max<long>(age, 0)), "hour", "hours"));
  }
  if (text.empty()) return "No forecast has been read yet; inputs missing: all.";
  const std::vector<std::string> missing = missing_pieces(morning.snapshot, zone);
  return fmt::format("{}; inputs missing: {}.", text, missing.empty() ? "none known" : listed(missing));
}

std::optional<std::string> staleness_words(const Morning& morning) {
  std::vector<std::string> stale;
  for (const FeedView& feed : morning.snapshot.feeds)
    if (feed.newest_complete && feed.freshness == Freshness::stale) stale.push_back(feed.id);
  if (stale.empty()) return std::nullopt;
  return fmt::format("OLD FORECAST: {} {} older than one and a half cycles; take its windows as unconfirmed.", listed(stale),
                     stale.size() == 1 ? "is" : "are");
}

// How often what was called a day ahead came, over all units of the district. Counts; a percentage would say more than
// few days know.
std::string scorecard_words(const Morning& morning) {
  core::Contingency table;
  bool is_all_measured = true;
  for (const auto& [id, view] : morning.snapshot.units) {
    if (view->unit.district != morning.district.district.id || !view->verified || !view->run) continue;
    const auto windows = view->verified->windows.find({view->run->feed, 1});
    if (windows == view->verified->windows.end()) continue;
    table += windows->second.table;
    is_all_measured &= view->verified->left_aside.empty();
  }
  if (table.hits + table.false_alarms + table.misses == 0) return "Not verified: no window observed yet.";
  return fmt::format("Of {:g} windows called a day ahead in the last {} days {:g} came; {:g} came that were not called{}.",
                     table.hits + table.false_alarms, kVerifiedDays.count(), table.hits, table.misses,
                     is_all_measured ? "" : "; limits of what nobody measured are left aside");
}

std::string title_of(const Digest& digest) {
  const std::chrono::year_month_day date(digest.date);
  const bool is_of_its_date = digest.date == digest.zone.date(digest.issued_at);
  return fmt::format("{}, {} {}{} ({})", digest.name, spoken_date(digest.date), int(date.year()),
                     is_of_its_date ? ", " + clock_text(digest.issued_at, digest.zone) : "",
                     offset_words(digest.date, digest.zone));
}

}  // namespace

const TimeZone& zone_of(const DistrictView& district) {
  static const TimeZone utc;
  return district.zone ? *district.zone : utc;
}

Digest make_digest(const Snapshot& snapshot, const DistrictView& district, LocalDate date, const SaidBefore* before,
                   const Result<SharedProposal>* plan) {
  const Morning morning(snapshot, district, date);
  Digest digest;
  digest.district = district.district.id;
  digest.name = district.district.name;
  digest.date = date;
  digest.issued_at = snapshot.now;
  digest.zone = zone_of(district);
  digest.title = title_of(digest);
  if (date != digest.zone.date(snapshot.now))
    digest.head.push_back(
        fmt::format("Issued {} {}.", spoken_date(digest.zone.date(snapshot.now)), clock_text(snapshot.now, digest.zone)));
  if (const auto stale = staleness_words(morning)) digest.head.push_back(*stale);
  digest.head.push_back(forecast_words(morning));
  if (!plan) digest.head.emplace_back(kNotKnown);
  digest.head.push_back(scorecard_words(morning));
  digest.cautions.emplace_back(kGuidance);
  digest.cautions.emplace_back(kNotOfficialRating);
  digest.cautions.insert(digest.cautions.end(), district.caution.begin(), district.caution.end());
  DigestLines candidates = candidate_lines(morning);
  if (plan && morning.has_days) say_plan(morning, *plan, candidates);
  digest.sections = {{"Stops today", stops_lines(morning)},
                     {"Open burns", open_burn_lines(morning)},
                     {"Planned today and tomorrow", planned_lines(morning)},
                     {"What changed", changed_lines(morning, before)},
                     {"Best candidates", std::move(candidates)},
                     {"Near misses", near_miss_lines(morning)},
                     {"Days 5–10", later_lines(morning)},
                     {"Season", season_lines(morning)}};
  return digest;
}

bool says_nothing(const Digest& digest) {
  constexpr std::array<std::string_view, 5> kToActOn{"Open burns", "Planned today and tomorrow", "What changed",
                                                     "Best candidates", "Near misses"};
  return std::none_of(digest.sections.begin(), digest.sections.end(), [&](const DigestSection& section) {
    return std::find(kToActOn.begin(), kToActOn.end(), section.heading) != kToActOn.end() &&
           std::any_of(section.lines.begin(), section.lines.end(), [](const DigestLine& line) { return !line.unit.empty(); });
  });
}

std::string digest_text(const Digest& digest) {
  std::string text = digest.title + "\n";
  for (const std::string& line : digest.head) text += line + "\n";
  for (const std::string& line : digest.cautions) text += line + "\n";
  for (const DigestSection& section : digest.sections) {
    text += fmt::format("\n{}\n", section.heading);
    for (const DigestLine& line : section.lines) text += fmt::format("  {}\n", line.text);
  }
  return text;
}

std::string digest_html(const Digest& digest) {
  // Grey lines are legible on white and on black; no other colour is set, so that the reader's own are kept.
  return fmt::format(
      "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width\">\n<meta name=\"color-scheme\" content=\"light dark\">\n"
      "<title>{}</title>\n</head>\n<body style=\"margin:0;padding:16px;font:16px/1.45 Arial,Helvetica,sans-serif\">\n{}"
      "</body>\n</html>\n",
      html(digest.title), digest_body(digest));
}

std::string digest_body(const Digest& digest) {
  std::string text = fmt::format(
      "<div style=\"max-width:42em;margin:0 auto\">\n<h1 style=\"margin:0 0 8px;font-size:20px;line-height:1.25\">{}</h1>\n",
      html(digest.title));
  for (const std::string& line : digest.head) text += fmt::format("<p style=\"margin:0 0 6px\"><b>{}</b></p>\n", html(line));
  for (const std::string& line : digest.cautions)
    text += fmt::format("<p style=\"margin:0 0 4px;font-size:14px\">{}</p>\n", html(line));
  for (const DigestSection& section : digest.sections) {
    text += fmt::format(
        "<h2 style=\"margin:18px 0 6px;padding-top:10px;border-top:1px solid #767676;font-size:17px;line-height:1.25\">{}</h2>\n"
        "<ul style=\"margin:0;padding:0 0 0 20px\">\n",
        html(section.heading));
    for (const DigestLine& line : section.lines) text += fmt::format("<li style=\"margin:0 0 5px\">{}</li>\n", html(line.text));
    text += "</ul>\n";
  }
  return text + "</div>\n";
}

std::string digest_json(const Digest& digest) {
  JsonWriter out;
  out.begin_object()
      .text("district", digest.district)
      .text("name", digest.name)
      .text("date", date_text(digest.date))
      .text("issued_at", local_text(digest.issued_at, digest.zone));
  out.key("head").begin_list();
  for (const std::string& line : digest.head) out.text(line);
  out.end_list().key("cautions").begin_list();
  for (const std::string& line : digest.cautions) out.text(line);
  out.end_list().key("sections").begin_list();
  for (const DigestSection& section : digest.sections) {
    out.begin_object().text("heading", section.heading).key("lines").begin_list();
    for (const DigestLine& line : section.lines) {
      out.begin_object().text("text", line.text);
      if (!line.unit.empty()) out.text("unit", line.unit);
      if (!line.date.empty()) out.text("date", line.date);
      if (!line.verdict.empty()) out.text("verdict", line.verdict);
      out.end_object();
    }
    out.end_list().end_object();
  }
  return out.end_list().end_object().str();
}

Result<Digest> parse_digest(const json::value& document, std::string title) {
  Errors mistakes;
  Digest digest;
  digest.title = std::move(title);
  JsonObject top(document, "", mistakes);
  const auto texts = [](const json::array* list, std::vector<std::string>& into) {
    for (std::size_t i = 0; list && i < list->size(); ++i)
      if (const auto* text = (*list)[i].if_string()) into.emplace_back(*text);
  };
  texts(top.list("head"), digest.head);
  texts(top.list("cautions"), digest.cautions);
  const json::array* sections = top.list("sections");
  for (std::size_t i = 0; sections && i < sections->size(); ++i) {
    JsonObject section((*sections)[i], pointer_to("/sections", i), mistakes);
    DigestSection& read = digest.sections.emplace_back();
    read.heading = section.text("heading").value_or("");
    const json::array* lines = section.list("lines");
    for (std::size_t k = 0; lines && k < lines->size(); ++k) {
      JsonObject line((*lines)[k], pointer_to(section.at("lines"), k), mistakes);
      read.lines.push_back({line.text("unit").value_or(""), line.text("text").value_or(""), line.text("date").value_or(""),
                            line.text("verdict").value_or("")});
    }
  }
  if (!mistakes.empty()) return mistakes;
  return digest;
}

}  // namespace hakea::service
