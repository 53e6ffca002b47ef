// The morning digest (INTERFACE §7 headings, then the season's; JOB §6.1 facts): one model, written as text, HTML or JSON.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "service/engine/planner.h"
#include "service/input/json.h"

namespace hakea::service {

// One line of a section with the facts it says.
struct DigestLine {
  std::string unit;  // id, empty where it concerns the district
  std::string text;  // a whole sentence
  std::string date;  // local date, empty where none
  std::string verdict;
};

struct DigestSection {
  std::string heading;            // fixed words of INTERFACE §7; "Season" comes after them
  std::vector<DigestLine> lines;  // never empty: what is not known is said
};

struct Digest {
  std::string district, name;
  std::string title;  // district, date, time and offset: the first line, and what a message with it is about
  LocalDate date{};
  UtcTime issued_at{};
  TimeZone zone;                  // its own, so that a digest outlives the picture that it was made of
  std::vector<std::string> head;  // run, age, missing pieces
  std::vector<std::string> cautions;
  std::vector<DigestSection> sections;
};

// The zone in which a district's dates are told; UTC where it names none.
const TimeZone& zone_of(const DistrictView& district);

// What was said of a district's days at an earlier time, for "what changed".
struct SaidBefore {
  struct Said {
    core::Verdict verdict = core::Verdict::unknown;
    std::optional<UtcTime> start, end;  // of the best window
  };
  UtcTime at{};
  std::map<std::string, std::map<LocalDate, Said>, std::less<>> units;
};

// The dates whose plan a digest tells of.
std::pair<LocalDate, LocalDate> planned_dates(LocalDate date);

// `before` may be null: then the digest says that there is nothing to compare with. `plan`: what could be done together on its
// planned dates, or why that is not known; null: nothing is said of it.
Digest make_digest(const Snapshot& snapshot, const DistrictView& district, LocalDate date, const SaidBefore* before,
                   const Result<SharedProposal>* plan = nullptr);

// What a picture says now, to be compared with later; as JSON for the store's notes.
SaidBefore said_now(const Snapshot& snapshot, const DistrictView& district);
std::string said_json(const SaidBefore& said);
Result<SaidBefore> parse_said(std::string_view json);

// Whether there is nothing in it to act on: no burn, booking, change, candidate or near miss.
bool says_nothing(const Digest& digest);

std::string digest_text(const Digest& digest);
// A whole document whose styles stand in its elements, for mail; it takes the reader's own colours and loads nothing.
std::string digest_html(const Digest& digest);
std::string digest_body(const Digest& digest);  // what stands in it, without the document
// The Content-Security-Policy under which that is shown.
inline constexpr std::string_view kDigestPolicy =
    "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
std::string digest_json(const Digest& digest);
// What people read, back from that: title, head, cautions and sections.
Result<Digest> parse_digest(const json::value& document, std::string title);

}  // namespace hakea::service
