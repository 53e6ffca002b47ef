// What is answered when something was refused or went wrong: problem details (RFC 9457).
//
// `type` is /problems/CODE, one stable word a kind. Where an input holds mistakes, `errors` lists them all, each with the
// JSON pointer of the body's member or the name of the query parameter it is about, its code, and what to do.
#pragma once

#include <string>
#include <string_view>

#include "core/base/result.h"
#include "service/http/message.h"

namespace hakea::service {

struct Problem {
  int status = 500;
  std::string code;    // "validation", "not_found", …
  std::string title;   // of the kind
  std::string detail;  // of this occurrence
  Errors errors;       // `where` a JSON pointer, or "?NAME" for a query parameter
};

Response problem_response(const Problem& problem, std::string_view request_id);

// Mistakes of a body: 400 for what is no JSON, else 422.
Problem mistakes_of_body(const Errors& errors);
// Mistakes of query parameters: 400.
Problem mistakes_of_query(const Errors& errors);

}  // namespace hakea::service
