// One request on its way through a handler: what was asked, who asks, and the picture it is answered from. Handlers are
// plain functions from a Call to a Response; what several of them do stands here.
#pragma once

#include <array>
#include <functional>
#include <memory>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "service/http/api.h"
#include "service/http/problem.h"
#include "service/input/json.h"
#include "service/output/json_writer.h"

namespace hakea::service {

inline constexpr std::string_view kApiRoot = "/api/v1";

struct Call {
  const ApiParts& parts;
  const Request& request;
  UtcTime now;
  std::shared_ptr<const Snapshot> picture;
  std::vector<std::string> ids;  // what stands at the {…} of the route's template
  std::string type;              // the media type to answer in
  Actor actor;
  const KeyedRequest* keyed = nullptr;  // the request where it may come again (idempotency.h)

  // A query parameter, or nothing when it is absent or empty.
  std::optional<std::string> query(std::string_view name) const;
  bool is_by_token() const { return !actor.token_id.empty(); }
  // Whether a token's districts hold this one.
  bool may_see(std::string_view district) const {
    return actor.districts.empty() || actor.districts.contains(std::string(district));
  }

  // The body as a document. Error: `not_json`.
  Result<json::value> body() const { return parse_json(request.body, "body"); }

  Response json(const std::string& text, int status = 200) const { return {status, type, text, {}}; }
  Response refuse(const Problem& problem) const { return problem_response(problem, request.request_id); }
  Response not_found(std::string_view what, std::string_view id) const;
  Response other_district() const;
  Response store_failed(const Error& error) const;
};

// A unit that may be seen and is not retired, or the answer that refuses it.
struct FoundUnit {
  const UnitView* view = nullptr;
  Response refused;
};
FoundUnit find_unit(const Call& call, const std::string& id);

// The district that ?district= names, or the only one a caller may see, or the answer that refuses it.
struct FoundDistrict {
  const DistrictView* view = nullptr;
  Response refused;
};
FoundDistrict one_district(const Call& call);

// --- query parameters ---

// Mistakes are added, `where` "?NAME".
std::optional<LocalDate> query_date(const Call& call, std::string_view name, Errors& mistakes);
// A whole number from 1 to `most`.
std::optional<int> query_number(const Call& call, std::string_view name, int most, Errors& mistakes);
// An instant with its offset.
std::optional<UtcTime> query_instant(const Call& call, std::string_view name, Errors& mistakes);
// Words separated by commas.
std::vector<std::string> query_list(const Call& call, std::string_view name);
// One of some words; another one is no filter that finds nothing.
std::optional<std::string> query_word(const Call& call, std::string_view name, std::span<const std::string_view> known,
                                      Errors& mistakes);
// The prescription that ?which= names: "main", which is usual, or "edging".
std::string query_which(const Call& call, Errors& mistakes);

// A key that is in no row of the catalogue, with the nearest one.
Error unknown_quantity(std::string where, std::string_view key);

// --- lost updates (RFC 9110 §13.1) ---

std::string etag(int revision);  // "r3", with its quotes

// The revision a change rests on, from If-Match and If-None-Match, or the answer that refuses it. `current` is 0 where
// nothing stands yet. Token callers must send If-Match for what exists; the demo's caller, a person with curl, may leave it
// out and then changes whatever stands there.
struct Expected {
  std::optional<int> revision;
  std::optional<Response> refused;
};
Expected expected_revision(const Call& call, int current);

// --- writing ---

// What a write of entries came to: the entries, or the answer that refuses it.
struct Written {
  std::vector<Entry> entries;
  std::shared_ptr<const Snapshot> picture;  // published after it
  std::optional<Response> refused;
};
// Refuses changes to units that the caller's token does not hold; else stores them, then judges the units again that they touch
// (an empty set: all of them; none: nothing to judge). `beside`: as of Store::write.
Written write(const Call& call, const std::vector<Change>& changes, const std::optional<std::set<std::string>>& units,
              const Store::Beside& beside = {});

// What answers carry beside what was entered.
inline constexpr std::array<std::string_view, 4> kServedMembers{"revision", "run", "freshness", "caution"};
// Removes it, so that what was read may be sent back.
void forget_served_members(json::value& body);

// --- entries as they are served ---

// An entry as it is served: its body with id and revision.
std::string entry_json(const Entry& entry);
// An entry as it is served with its ETag, and Location when it is new; one of a unit with what answers about units carry.
Response entry_response(const Call& call, const Entry& entry, int status, std::string_view collection);
// The same with more members than entry_json() has.
Response entry_response(const Call& call, const Entry& entry, int status, std::string_view collection, const std::string& object);

}  // namespace hakea::service
