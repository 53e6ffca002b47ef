#include "service/access/oidc.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/base/words.h"
#include "service/access/base64url.h"
#include "service/input/json.h"

namespace hakea::service {
namespace {

constexpr std::size_t kLongest = 16 * 1024;
constexpr double kLeewayS = 60;  // clocks differ [our own default]
constexpr std::size_t kLongestName = 200;

Error invalid(std::string what) {
  return {ErrorKind::invalid, "invalid_jwt", "Authorization", std::move(what), "send an access token of the identity provider"};
}

// Not within a letter of UTF-8, whose further bytes are all 10xxxxxx (RFC 3629 §3).
std::string cut_to_length(std::string text) {
  std::size_t size = std::min(text.size(), kLongestName);
  while (size > 0 && size < text.size() && (static_cast<unsigned char>(text[size]) & 0xC0U) == 0x80U) --size;
  text.resize(size);
  return text;
}

struct Signed {
  json::object header, claims;
  std::string_view message;  // what is signed
  std::string signature;
};

// RFC 7515 §7.1: three parts in base64url. Nothing where it is anything else.
std::optional<Signed> parts_of(std::string_view jwt) {
  const std::size_t first = jwt.find('.'), second = first == std::string_view::npos ? first : jwt.find('.', first + 1);
  if (jwt.size() > kLongest || second == std::string_view::npos) return std::nullopt;
  const auto object = [&](std::string_view part) -> std::optional<json::object> {
    const auto text = from_base64url(part);
    if (!text) return std::nullopt;
    auto document = parse_json(*text, "token");
    if (!document || !document->is_object()) return std::nullopt;
    return std::move(document->get_object());
  };
  auto header = object(jwt.substr(0, first)), claims = object(jwt.substr(first + 1, second - first - 1));
  auto signature = from_base64url(jwt.substr(second + 1));
  if (!header || !claims || !signature) return std::nullopt;
  return Signed{*std::move(header), *std::move(claims), jwt.substr(0, second), *std::move(signature)};
}

// A member of an object within objects: "realm_access.roles". A claim whose own name has dots is found first.
const json::value* claim_at(const json::object& claims, std::string_view path) {
  if (const json::value* whole = claims.if_contains(path)) return whole;
  const json::object* inside = &claims;
  for (;;) {
    const std::size_t dot = path.find('.');
    const json::value* found = inside->if_contains(path.substr(0, dot));
    if (!found || dot == std::string_view::npos) return found;
    inside = found->if_object();
    if (!inside) return nullptr;
    path.remove_prefix(dot + 1);
  }
}

// The words of a claim: a list of texts, or one text with blanks between them, as `scope` has it.
std::vector<std::string> words_of(const json::object& claims, std::string_view path) {
  std::vector<std::string> all;
  const json::value* found = claim_at(claims, path);
  if (found && found->is_string())
    for (const std::string_view word : words(found->get_string())) all.emplace_back(word);
  if (found && found->is_array())
    for (const json::value& each : found->get_array())
      if (each.is_string()) all.emplace_back(each.get_string());
  return all;
}

bool holds(const json::object& claims, std::string_view name, std::string_view wanted) {
  const json::value* found = claims.if_contains(name);
  if (found && found->is_string()) return found->get_string() == wanted;
  return found && found->is_array() && std::any_of(found->get_array().begin(), found->get_array().end(), [&](const auto& each) {
           return each.is_string() && each.get_string() == wanted;
         });
}

std::optional<double> number_in(const json::object& claims, std::string_view name) {
  const json::value* found = claims.if_contains(name);
  if (!found || !found->is_number()) return std::nullopt;
  return found->to_number<double>();
}

// RFC 9068 §2.1; media types are compared without regard to case.
bool is_access_token(const json::object& header) {
  const std::string type = lower(text_member(header, "typ"));
  return type == "at+jwt" || type == "application/at+jwt";
}

// RFC 9068 §4, RFC 7519 §4.1.
std::optional<Error> wrong_claims(const json::object& claims, const OidcSettings& settings, UtcTime now) {
  const auto now_s = static_cast<double>(now.time_since_epoch().count());
  if (text_member(claims, "iss") != settings.issuer) return invalid("the token is of another issuer");
  if (!holds(claims, "aud", settings.audience)) return invalid("the token is for another audience");
  if (text_member(claims, "sub").empty()) return invalid("the token names nobody");
  const auto expires = number_in(claims, "exp"), begins = number_in(claims, "nbf");
  if (!expires) return invalid("the token does not say until when it is valid");
  if (claims.contains("nbf") && (!begins || now_s + kLeewayS < *begins)) return invalid("the token is not valid yet");
  if (!(now_s < *expires + kLeewayS))
    return Error{ErrorKind::invalid, "expired_token", "Authorization", "this token has expired",
                 "sign in again at the identity provider"};
  return std::nullopt;
}

}  // namespace

Oidc::Oidc(OidcSettings settings, KeySet::Read read_keys)
    : settings_(std::move(settings)), keys_(settings_.keys, std::move(read_keys)) {}

Result<Actor> Oidc::actor_of(std::string_view jwt, UtcTime now) {
  const auto token = parts_of(jwt);
  if (!token) return invalid("this is no signed token");
  const auto algorithm = PublicKey::algorithm_of(text_member(token->header, "alg"));
  if (!algorithm) return invalid("the token is signed neither by RS256 nor by ES256");
  if (!is_access_token(token->header)) return invalid("the token is no access token: its type is not at+jwt");
  if (token->header.contains("crit")) return invalid("the token asks for what is not understood here");
  const auto key = keys_.find(text_member(token->header, "kid"), *algorithm, now);
  if (!key) return key.errors();
  if (!key->verifies(token->message, token->signature)) return invalid("the token's signature is wrong");
  if (auto wrong = wrong_claims(token->claims, settings_, now)) return *std::move(wrong);

  Actor actor;
  actor.name = text_member(token->claims, settings_.name_claim);
  if (actor.name.empty()) actor.name = text_member(token->claims, "sub");
  actor.name = cut_to_length(std::move(actor.name));
  actor.token_id = cut_to_length(std::string(kOidcPrefix) + text_member(token->claims, "sub"));
  actor.scopes.emplace();
  for (const std::string& word : words_of(token->claims, settings_.role_claim))
    if (const auto role = settings_.roles.find(word); role != settings_.roles.end()) {
      actor.role = std::max(actor.role, role->second);
      const Scopes& of_role = scopes_of(role->second);
      actor.scopes->insert(of_role.begin(), of_role.end());
    }
  const auto nobody = [&](std::string code, std::string_view claim) {
    return Error{ErrorKind::unsupported, std::move(code), "Authorization",
                 fmt::format("the claim {} of this token gives nothing here", claim), "ask whoever keeps the identity provider"};
  };
  if (actor.scopes->empty()) return nobody("no_role", settings_.role_claim);
  // What the configuration narrows by is never widened by a claim that is not there.
  const auto narrow = [&](const std::string& claim, std::set<std::string>& to) {
    if (claim.empty()) return true;
    const auto ids = words_of(token->claims, claim);
    to = {ids.begin(), ids.end()};
    return !to.empty();
  };
  if (!narrow(settings_.districts_claim, actor.districts)) return nobody("no_district", settings_.districts_claim);
  if (!narrow(settings_.units_claim, actor.units)) return nobody("no_unit", settings_.units_claim);
  return actor;
}

}  // namespace hakea::service
