// Validators (RFC 9110 §8.8, §13): what a representation rests on makes its tag, never its bytes, so that "not modified" is
// known before anything is written.
//
//   "r3.p17-6b2c91f0-a5-t1f3c-9d0e…"   revision of the resource, published picture of which start, last entry, quarter of an
//   hour,
//                                      and what was asked for in which form and by a token of which districts; "-gz" where
//                                      compressed
//
// A quarter of an hour, because answers say how many hours old a forecast is and which date is today, and zones stand at
// quarters.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "service/http/call.h"
#include "service/http/routes.h"

namespace hakea::service {

// What the answer to a call rests on beside the revision of its resource.
struct Rests {
  std::string state;  // of picture, entries and time
  std::string asked;  // in full: no two different answers share both
  std::string tag() const;
};
// Nothing where the answer may be another at any moment.
Result<std::optional<Rests>> rests_on(const Call& call, RestsOn what);

// The tag of a representation from the one that its handler gave ("r3" with quotes, or none) and what it rests on.
std::string tag_of(std::string_view of_revision, std::string_view rests);
// The tag of the same representation compressed.
std::string compressed_tag(std::string_view tag);

// Of an If-None-Match header the tag that stands for what is there, compressed or not, whatever its revision; nothing when
// none does. `*` never does: whether there is anything is the handler's to say.
std::optional<std::string> known_tag(std::string_view if_none_match, std::string_view rests, bool also_compressed);
// Whether an If-None-Match header names a tag, or anything at all.
bool names_tag(std::string_view if_none_match, std::string_view tag);
// Whether an If-Match header names a revision, in whichever representation; weak tags never match (RFC 9110 §13.1.1).
bool names_revision(std::string_view if_match, int revision);

}  // namespace hakea::service
