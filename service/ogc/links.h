// Addresses of this service as its callers know them, and links to them (RFC 8288 as OGC API writes it).
#pragma once

#include <string>
#include <string_view>

#include "service/http/call.h"

namespace hakea::service {

// "https://host", without a slash at the end: what the caller named, or what a proxy says it was called by.
std::string origin_of(const Call& call);
// An address below /ogc, with the origin.
std::string ogc_url(const Call& call, std::string_view path);

// One link as an element of a list.
void write_link(JsonWriter& out, std::string_view rel, std::string_view href, std::string_view type, std::string_view title = {});

// The landing page's links are the same for both interfaces: itself, its description, what it conforms to, its collections.
Response landing_page(const Call& call, std::string_view root, std::string_view title, std::string_view description);
Response conformance(const Call& call, std::string_view classes);  // URIs separated by blanks

}  // namespace hakea::service
