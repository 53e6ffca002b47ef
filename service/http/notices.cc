#include "service/http/notices.h"

#include "service/http/entries.h"
#include "service/output/json_writer.h"
#include "service/output/time_text.h"

namespace hakea::service {

void complete_notices(json::value& booking, const NoticeEntry& entry, Errors& mistakes) {
  auto* said = booking.if_object();
  json::value* notices = said ? said->if_contains("notices") : nullptr;
  if (!notices || !notices->is_array()) return;
  json::array& list = notices->get_array();
  for (std::size_t i = 0; i < list.size(); ++i) {
    auto* notice = list[i].if_object();
    if (!notice) continue;
    const auto fill = [&](const char* name, json::value value) {
      if (json::value& member = (*notice)[name]; member.is_null()) member = std::move(value);
    };
    fill("given_at", json::string(local_text(entry.now, entry.zone)));
    fill("by", json::string(entry.by));
    json::array dates;
    for (int k = 0; k < entry.burn_days; ++k) dates.push_back(json::string(date_text(entry.date + std::chrono::days(k))));
    fill("for", std::move(dates));
    if (const auto given = parse_instant(text_member(list[i], "given_at")))
      refuse_the_future(*given, pointer_to("/notices", i) + "/given_at", entry.now, mistakes);
  }
}

std::string notice_json(const Unit& unit, const Booking& booking, UtcTime now) {
  JsonWriter out;
  out.begin_object();
  if (unit.notice_days == 0) return out.null("notice").end_object().str();
  const UtcTime due = notice_due(unit, booking.date);
  const bool is_given = is_notice_given(unit, booking);
  out.key("notice").begin_object().whole("days", unit.notice_days).text("due_by", local_text(due, unit.traits.zone));
  out.yes_or_no("given", is_given).yes_or_no("overdue", !is_given && now >= due);
  return out.end_object().end_object().str();
}

}  // namespace hakea::service
