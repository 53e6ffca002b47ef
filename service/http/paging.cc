#include "service/http/paging.h"

#include <fmt/format.h>

#include <tuple>

#include "service/http/entries.h"
#include "service/http/standing.h"
#include "service/http/target.h"

namespace hakea::service {
namespace {

constexpr int kMost = 1000;
constexpr std::string_view kHex = "0123456789abcdef";

// Opaque to callers: what a key looks like may change.
std::string cursor_of(std::string_view key) {
  std::string cursor;
  for (const char c : key) {
    const auto byte = static_cast<unsigned char>(c);
    (cursor += kHex[byte >> 4]) += kHex[byte & 15];
  }
  return cursor;
}

std::optional<std::string> key_in(std::string_view cursor) {
  if (cursor.empty() || cursor.size() % 2 != 0 || cursor.find_first_not_of(kHex) != std::string_view::npos) return std::nullopt;
  std::string key;
  for (std::size_t i = 0; i < cursor.size(); i += 2)
    key += static_cast<char>(kHex.find(cursor[i]) * 16 + kHex.find(cursor[i + 1]));
  return key;
}

bool comes_after(const Entry& entry, std::string_view id) {
  return std::tuple(number_in(entry.kind, entry.id), std::string_view(entry.id)) > std::tuple(number_in(entry.kind, id), id);
}

}  // namespace

PageAsked page_asked(const Call& call, Errors& mistakes) {
  PageAsked page;
  if (const auto limit = query_number(call, "limit", kMost, mistakes)) page.limit = static_cast<std::size_t>(*limit);
  const auto cursor = call.query("cursor");
  if (!cursor) return page;
  page.after = key_in(*cursor);
  if (!page.after)
    mistakes.push_back({ErrorKind::invalid, "not_a_cursor", "?cursor", fmt::format("\"{}\" is no cursor of this list", *cursor),
                        "follow the link rel=\"next\" of the page before, or leave it out for the first page"});
  return page;
}

std::string next_page(const Call& call, std::string_view last_key) {
  std::string target = encoded(call.request.path) + '?';
  for (const auto& [name, value] : call.request.query)
    if (name != "cursor") target += fmt::format("{}={}&", encoded(name), encoded(value));
  return target + "cursor=" + cursor_of(last_key);
}

void add_next_link(Response& answer, const std::string& next) {
  if (!next.empty()) answer.headers.emplace_back("Link", fmt::format("<{}>; rel=\"next\"", next));
}

std::string for_page(const Call& call, const PageAsked& page, const std::vector<Entry>& entries, const Belongs& belongs,
                     const WithBody& add) {
  std::size_t count = 0;
  std::string_view last;
  for (const Entry& entry : entries) {
    if (page.after && !comes_after(entry, *page.after)) continue;
    const json::value body = body_of(entry);
    if (!may_see_entry(call, body) || !belongs(entry, body)) continue;
    if (count++ == page.limit) return next_page(call, last);
    add(entry, body);
    last = entry.id;
  }
  return {};
}

Response entries_response(const Call& call, std::string_view collection, const std::vector<Entry>& entries, const PageAsked& page,
                          const Belongs& belongs) {
  std::string list;
  std::vector<const UnitView*> units;
  const std::string next = for_page(call, page, entries, belongs, [&](const Entry& entry, const json::value& body) {
    (list += list.empty() ? "" : ",") += entry_json(entry);
    if (const UnitView* unit = call.picture->unit_or_retired(text_member(body, "unit"))) units.push_back(unit);
  });
  const std::string object = fmt::format(R"({{"{}":[{}]}})", collection, list);
  Response answer = units.empty() ? call.json(object) : answer_about(call, units, object);
  add_next_link(answer, next);
  return answer;
}

}  // namespace hakea::service
