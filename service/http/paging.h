// Lists in pages by key (not by number, so that an entry that comes meanwhile moves nothing): `limit` entries, then a link
// with the cursor that goes on behind the last of them (RFC 8288 §3).
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "service/http/call.h"

namespace hakea::service {

struct PageAsked {
  std::size_t limit = 100;
  std::optional<std::string> after;  // the key of the last entry that the caller has; nothing for the first page
};
// From ?limit= and ?cursor=; a mistake where either is not right.
PageAsked page_asked(const Call& call, Errors& mistakes);

// Where the list of a call goes on behind the entry with this key: the same target with the cursor.
std::string next_page(const Call& call, std::string_view last_key);
// Adds the link to where a list goes on; nothing for the last page.
void add_next_link(Response& answer, const std::string& next);

// Those of `entries`, in the store's order, that a caller may see, that `belongs` holds for and that are on the page: `add` is
// called with each. What is returned is the target of the next page, empty behind the last.
using WithBody = std::function<void(const Entry& entry, const json::value& body)>;
using Belongs = std::function<bool(const Entry& entry, const json::value& body)>;
std::string for_page(const Call& call, const PageAsked& page, const std::vector<Entry>& entries, const Belongs& belongs,
                     const WithBody& add);
// {"COLLECTION":[ENTRY…]} of one page, with what answers about units carry where the entries are of units.
Response entries_response(const Call& call, std::string_view collection, const std::vector<Entry>& entries, const PageAsked& page,
                          const Belongs& belongs);

}  // namespace hakea::service
