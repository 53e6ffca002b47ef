// What the service says of itself: feeds, runs, quantities, status, audit; and the demo's clock.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "service/http/audit_rows.h"
#include "service/http/handlers.h"
#include "service/http/paging.h"
#include "service/http/standing.h"
#include "service/output/day_json.h"
#include "service/output/json_text.h"
#include "service/output/quantities_json.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

constexpr std::array<std::string_view, 3> kRunStates{"complete", "incomplete", "refused"};

void write_json(JsonWriter& out, std::string_view name, const std::string& document) {
  out.key(name);
  if (document.empty())
    out.null();
  else
    out.raw(document);
}

// What the engine does with a run at the moment; null when nothing.
void write_progress(JsonWriter& out, const std::optional<Progress>& progress, bool with_run) {
  out.key("progress");
  if (!progress) return static_cast<void>(out.null());
  out.begin_object();
  if (with_run) out.text("run", progress->run);
  out.text("doing", progress->doing).number("share", std::round(progress->share * 100) / 100).end_object();
}

// A run that is being read for the first time: nothing is known of it but its name.
std::string run_being_read(const Progress& progress) {
  JsonWriter head, more;
  write_run(head, {.id = progress.run,
                   .feed = progress.run.substr(0, progress.run.rfind('.')),
                   .reference_time = progress.reference_time,
                   .received_at = {},
                   .computed_at = {},
                   .next_expected = {},
                   .state = "arriving"});
  more.begin_object().yes_or_no("published", false).null("details");
  write_progress(more, progress, false);
  more.end_object();
  return joined_objects(head.str(), more.str());
}

// RUN and what became of its files.
void write_run_row(JsonWriter& out, const RunRow& run, const FeedView& feed, const std::optional<Progress>& progress = {}) {
  JsonWriter head, more;
  write_run(head, run_note(run, feed));
  more.begin_object().yes_or_no("published", run.is_published);
  write_json(more, "details", run.details);
  if (progress && progress->run == run.id) write_progress(more, progress, false);
  more.end_object();
  out.raw(joined_objects(head.str(), more.str()));
}

void write_feed(JsonWriter& out, const FeedView& feed, UtcTime now, bool in_full) {
  out.begin_object().text("id", feed.id).text("freshness", word(feed.freshness));
  out.key("newest_complete");
  if (feed.newest_complete)
    write_run(out, *feed.newest_complete);
  else
    out.null();
  if (feed.newest_complete)
    out.number("age_h", static_cast<double>((now - feed.newest_complete->reference_time).count()) / 3600.0);
  else
    out.null("age_h");
  write_time(out, "next_expected", feed.next_expected);
  out.text_or_null("trouble", feed.trouble).key("refused").begin_list();
  for (const FileRow& file : feed.refused) {
    out.begin_object().text("path", file.path).whole("size", file.size).text("hash", file.content_hash);
    out.text("seen_at", utc_text(file.seen_at)).text("why", file.why).text("hint", file.hint);
    out.text_or_null("run", file.run).end_object();
  }
  out.end_list();
  if (in_full) {
    out.key("runs").begin_list();
    for (const RunRow& run : feed.runs) write_run_row(out, run, feed);
    out.end_list();
  }
  out.end_object();
}

}  // namespace

Response list_feeds(const Call& call) {
  JsonWriter out;
  out.begin_object().key("feeds").begin_list();
  for (const FeedView& feed : call.picture->feeds) write_feed(out, feed, call.now, false);
  out.end_list().end_object();
  return call.json(out.str());
}

Response show_feed(const Call& call) {
  for (const FeedView& feed : call.picture->feeds)
    if (feed.id == call.ids.front()) {
      JsonWriter out;
      write_feed(out, feed, call.now, true);
      return call.json(out.str());
    }
  return call.not_found("feed", call.ids.front());
}

Response list_runs(const Call& call) {
  Errors mistakes;
  const PageAsked page = page_asked(call, mistakes);
  const auto wanted = call.query("feed"), state = query_word(call, "state", kRunStates, mistakes);
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  std::vector<std::pair<const RunRow*, const FeedView*>> runs;
  for (const FeedView& feed : call.picture->feeds)
    for (const RunRow& run : feed.runs)
      if ((!wanted || feed.id == *wanted) && (!state || run.state == *state)) runs.emplace_back(&run, &feed);
  // Newest first; a key that ascends in this order.
  const auto key = [](const RunRow& run) {
    return fmt::format("{:016x}{}", ~static_cast<std::uint64_t>(run.reference_time.time_since_epoch().count()), run.id);
  };
  std::sort(runs.begin(), runs.end(), [&](const auto& a, const auto& b) { return key(*a.first) < key(*b.first); });
  if (page.after) std::erase_if(runs, [&](const auto& run) { return key(*run.first) <= *page.after; });
  std::string next;
  if (runs.size() > page.limit) {
    runs.resize(page.limit);
    next = next_page(call, key(*runs.back().first));
  }
  JsonWriter out;
  out.begin_object().key("runs").begin_list();
  for (const auto& [run, feed] : runs) write_run_row(out, *run, *feed);
  out.end_list().end_object();
  Response answer = call.json(out.str());
  add_next_link(answer, next);
  return answer;
}

Response show_run(const Call& call) {
  const auto progress = call.parts.engine->progress();
  for (const FeedView& feed : call.picture->feeds)
    for (const RunRow& run : feed.runs)
      if (run.id == call.ids.front()) {
        JsonWriter out;
        write_run_row(out, run, feed, progress);
        return call.json(out.str());
      }
  if (progress && progress->run == call.ids.front()) return call.json(run_being_read(*progress));
  return call.not_found("run", call.ids.front());
}

Response list_quantities(const Call& call) { return call.json(quantities_json(call.parts.config->fuels)); }

Response show_status(const Call& call) {
  const Snapshot& picture = *call.picture;
  const std::vector<std::string> troubles = call.parts.engine->troubles();
  JsonWriter out;
  out.begin_object().text("state", troubles.empty() ? "good" : "troubled").texts("troubles", troubles);
  out.text("now", utc_text(call.now)).yes_or_no("demo", picture.is_demo);
  out.key("picture").begin_object().whole("number", static_cast<long long>(picture.number));
  out.text("made_at", utc_text(picture.made_at)).text("judged_at", utc_text(picture.now)).end_object();
  out.key("counts").begin_object().whole("districts", static_cast<long long>(picture.districts.size()));
  out.whole("units", static_cast<long long>(picture.units.size()))
      .whole("bookings", static_cast<long long>(picture.bookings.size()));
  out.whole("stops", static_cast<long long>(picture.stops.size())).end_object();
  write_progress(out, call.parts.engine->progress(), true);
  out.key("feeds").begin_list();
  for (const FeedView& feed : picture.feeds) write_feed(out, feed, call.now, false);
  out.end_list().end_object();
  return call.json(out.str());
}

Response list_audit(const Call& call) {
  Errors mistakes;
  const auto before = query_number(call, "before", std::numeric_limits<int>::max(), mistakes);
  const PageAsked page = page_asked(call, mistakes);
  const std::int64_t from = page.after ? parse_whole_number(*page.after, 1, std::numeric_limits<int>::max()).value_or(0) : 0;
  if (!mistakes.empty()) return call.refuse(mistakes_of_query(mistakes));
  const auto rows = call.parts.store->audit(page.after ? from : before.value_or(0), static_cast<int>(page.limit));
  if (!rows) return call.store_failed(rows.error());
  JsonWriter out;
  out.begin_object().key("audit").begin_list();
  for (const AuditRow& row : *rows) {
    if (!may_see_audit_row(call, row)) continue;
    out.begin_object().whole("seq", row.seq).text("at", utc_text(row.at)).text("actor", row.actor).text("token_id", row.token_id);
    out.text("address", row.address).text("request_id", row.request_id).text("action", row.action).text("object", row.object);
    out.text("reason", row.reason);
    write_json(out, "before", row.before);
    write_json(out, "after", row.after);
    out.end_object();
  }
  out.end_list().end_object();
  Response answer = call.json(out.str());
  if (!rows->empty() && rows->back().seq > 1) add_next_link(answer, next_page(call, fmt::format("{}", rows->back().seq)));
  return answer;
}

Response move_clock(const Call& call) {
  if (!call.parts.is_demo || !call.parts.move_clock)
    return call.refuse({404, "not_found", "There is no such thing", "only the demo's clock can be moved", {}});
  const auto body = call.body();
  if (!body) return call.refuse(mistakes_of_body(body.errors()));
  Errors mistakes;
  JsonObject object(*body, "", mistakes);
  object.require("to", "write the time to move to, with its offset");
  const auto to = object.instant("to");
  object.refuse_unknown_members();
  if (!mistakes.empty()) return call.refuse(mistakes_of_body(mistakes));
  const auto moved = call.parts.move_clock(*to);
  if (!moved && moved.error().kind == ErrorKind::failed)
    return call.refuse({500, moved.error().code, "The clock was not moved whole", moved.error().what, {}});
  if (!moved) {
    Errors errors = moved.errors();
    errors.front().where = "/to";
    return call.refuse(mistakes_of_body(errors));
  }
  const auto audited = call.parts.store->add_audit(call.actor, call.now, "move", "demo/clock", utc_text(*to));
  if (!audited) return call.refuse({503, audited.error().code, "The move was not noted", audited.error().what, {}});
  const auto picture = call.parts.engine->snapshot();
  JsonWriter out;
  out.begin_object().text("now", utc_text(call.parts.clock->now())).key("feeds").begin_list();
  for (const FeedView& feed : picture->feeds) write_feed(out, feed, call.parts.clock->now(), false);
  out.end_list().end_object();
  return call.json(out.str());
}

}  // namespace hakea::service
