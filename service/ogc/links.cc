#include "service/ogc/links.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/base/words.h"
#include "service/input/config.h"
#include "service/ogc/door.h"
#include "service/output/cautions.h"

namespace hakea::service {
namespace {

bool is_letter_or_digit(char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

// A name and perhaps a port, and nothing that could mean more in an address.
bool is_host(std::string_view host) {
  return !host.empty() && std::all_of(host.begin(), host.end(), [](char c) {
    return is_letter_or_digit(c) || c == '.' || c == '-' || c == ':' || c == '[' || c == ']';
  });
}

}  // namespace

std::string origin_of(const Call& call) {
  const std::string_view forwarded = call.request.header("x-forwarded-host");
  std::string host(is_host(forwarded) ? forwarded : call.request.header("host"));
  if (!is_host(host) && call.parts.config)
    host = fmt::format("{}:{}", call.parts.config->server.address, call.parts.config->server.port);
  return (call.request.header("x-forwarded-proto") == "https" ? "https://" : "http://") + host;
}

std::string ogc_url(const Call& call, std::string_view path) { return fmt::format("{}{}{}", origin_of(call), kOgcRoot, path); }

void write_link(JsonWriter& out, std::string_view rel, std::string_view href, std::string_view type, std::string_view title) {
  out.begin_object().text("rel", rel).text("href", href).text("type", type);
  if (!title.empty()) out.text("title", title);
  out.end_object();
}

Response landing_page(const Call& call, std::string_view root, std::string_view title, std::string_view description) {
  const auto url = [&](std::string_view path) { return ogc_url(call, std::string(root) + std::string(path)); };
  JsonWriter out;
  out.begin_object()
      .text("title", title)
      .text("description", fmt::format("{} {}", description, kGuidance))
      .key("links")
      .begin_list();
  write_link(out, "self", url("/"), "application/json", "This page");
  write_link(out, "service-desc", url("/api"), "application/vnd.oai.openapi+json;version=3.0",
             "The description of the interface");
  write_link(out, "conformance", url("/conformance"), "application/json", "What it conforms to");
  write_link(out, "data", url("/collections"), "application/json", "The collections");
  out.end_list().end_object();
  return call.json(out.str());
}

Response conformance(const Call& call, std::string_view classes) {
  JsonWriter out;
  out.begin_object().key("conformsTo").begin_list();
  for (const std::string_view uri : words(classes)) out.text(uri);
  out.end_list().end_object();
  return call.json(out.str());
}

}  // namespace hakea::service
