#include "service/http/problem.h"

#include "service/output/json_writer.h"

namespace hakea::service {
namespace {

void write_error(JsonWriter& out, const Error& error) {
  out.begin_object();
  if (error.where.starts_with('?'))
    out.text("parameter", std::string_view(error.where).substr(1));
  else  // a document's name, where no member is meant, is the whole body
    out.text("pointer", error.where.starts_with('/') ? error.where : "");
  out.text("code", error.code).text("detail", error.what);
  if (!error.hint.empty()) out.text("hint", error.hint);
  out.end_object();
}

std::string_view counted(const Errors& errors, std::string_view one, std::string_view several) {
  return errors.size() == 1 ? one : several;
}

}  // namespace

Response problem_response(const Problem& problem, std::string_view request_id) {
  JsonWriter out;
  out.begin_object().text("type", "/problems/" + problem.code).text("title", problem.title).whole("status", problem.status);
  if (!problem.detail.empty()) out.text("detail", problem.detail);
  if (!problem.errors.empty()) {
    out.key("errors").begin_list();
    for (const Error& error : problem.errors) write_error(out, error);
    out.end_list();
  }
  if (!request_id.empty()) out.text("request_id", request_id);
  out.end_object();
  return {problem.status, "application/problem+json", out.str(), {}};
}

Problem mistakes_of_body(const Errors& errors) {
  if (errors.front().code == "not_json")
    return {400, "not_json", "The body is not JSON", errors.front().what + "; " + errors.front().hint, {}};
  return {422, "validation", std::string(counted(errors, "The body holds a mistake", "The body holds mistakes")),
          errors.front().what, errors};
}

Problem mistakes_of_query(const Errors& errors) {
  return {400, "query", std::string(counted(errors, "A query parameter is wrong", "Query parameters are wrong")),
          errors.front().what, errors};
}

}  // namespace hakea::service
