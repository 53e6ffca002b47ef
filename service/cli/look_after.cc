// `hakea token`, `hakea backup` and `hakea restore`: looking after a service's data.
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <variant>

#include "core/base/nearest.h"
#include "service/access/tokens.h"
#include "service/base/clock.h"
#include "service/cli/arguments.h"
#include "service/cli/commands.h"
#include "service/input/config.h"
#include "service/input/json.h"
#include "service/output/time_text.h"
#include "service/store/store.h"

namespace hakea::service {
namespace {

int wrong(std::string where, std::string what, std::string hint) {
  return refused({wrong_call(std::move(where), std::move(what), std::move(hint))});
}

// The data folder of the configuration a call names, or the exit code that refuses the call.
std::variant<std::string, int> data_folder(const Arguments& call) {
  if (!call.has("--config")) return wrong("", "--config FILE is needed", "give the configuration of the service");
  const auto config = read_config(call.one("--config"));
  if (!config) return refused(config.errors());
  return config->data;
}

// Whoever sits at the machine.
Actor command_line() {
  return {.name = fmt::format("command line, user {}", getuid()),
          .token_id = {},
          .address = {},
          .request_id = {},
          .role = Role::operator_};
}

int create_token(const Arguments& call, Store& store, UtcTime now) {
  const std::string name = call.one("--name");
  if (name.empty()) return wrong("--name", "create needs --name NAME", "say whom the token is for");
  const auto role = role_of(call.one("--role", "viewer"));
  if (!role)
    return wrong("--role", fmt::format("there is no role \"{}\"", call.one("--role")),
                 "use viewer, officer, coordinator or operator");
  const std::string days_text = call.one("--days", std::to_string(kTokenLivesUsually.count()));
  const auto days = parse_whole_number(days_text, 1, kTokenLivesAtMost.count());
  if (!days)
    return wrong("--days", fmt::format("\"{}\" is no number of days", days_text),
                 fmt::format("write 1 to {}", kTokenLivesAtMost.count()));
  Token wanted;
  wanted.name = name;
  wanted.role = *role;
  wanted.districts = call.all("--district");
  wanted.units = call.all("--unit");
  wanted.expires_at = now + std::chrono::days(*days);
  for (const std::string& each : call.all("--scope")) {
    const auto scope = scope_of(each);
    if (!scope)
      return wrong("--scope", fmt::format("there is no scope \"{}\"", each),
                   fmt::format("known: {}", fmt::join(scope_words(), ", ")));
    if (!wanted.scopes) wanted.scopes.emplace();
    wanted.scopes->insert(*scope);
  }
  const auto token = new_token(wanted, now);
  if (!token) return token.error().kind == ErrorKind::invalid ? refused(token.errors(), "token create") : failed(token.errors());
  if (const auto added = store.add_token(command_line(), now, token->row); !added) return failed(added.errors());
  fmt::print("{}\n", token->text);
  fmt::print(stderr, "Token {} for {}, {}, until {}. It is shown this once and kept nowhere.\n", token->row.id, name, word(*role),
             utc_text(token->row.expires_at));
  return kDone;
}

// "all districts", or what it is held to.
std::string held_to(const Token& token) {
  std::string held = token.districts.empty() ? "all districts" : fmt::format("{}", fmt::join(token.districts, ", "));
  if (!token.units.empty()) held += fmt::format(", writes {}", fmt::join(token.units, ", "));
  if (token.scopes) {
    held += ", only";
    for (const Scope scope : *token.scopes) held += fmt::format(" {}", word(scope));
  }
  return held;
}

int list_tokens(Store& store, UtcTime now) {
  const auto tokens = store.tokens();
  if (!tokens) return failed(tokens.errors());
  if (tokens->empty()) fmt::print("no token\n");
  for (const Token& token : *tokens) {
    const std::string state = token.revoked_at          ? "revoked " + utc_text(*token.revoked_at)
                              : token.expires_at <= now ? "expired " + utc_text(token.expires_at)
                                                        : "until " + utc_text(token.expires_at);
    fmt::print("{}  {:<11}  {}  {}  {}  {}\n", token.id, word(token.role), state,
               token.last_used_at ? "last used " + utc_text(*token.last_used_at) : "never used", held_to(token), token.name);
  }
  return kDone;
}

int revoke_token(const Arguments& call, Store& store, UtcTime now) {
  if (!call.has("--id")) return wrong("--id", "revoke needs --id ID", "`hakea token list` shows the ids");
  const auto revoked = store.revoke_token(command_line(), now, call.one("--id"));
  if (!revoked) return failed(revoked.errors());
  fmt::print("{} is revoked\n", call.one("--id"));
  return kDone;
}

}  // namespace

int run_token(const Arguments& call) {
  constexpr std::array<std::string_view, 3> kVerbs{"create", "list", "revoke"};
  const std::string& verb = call.operand();
  if (std::find(kVerbs.begin(), kVerbs.end(), verb) == kVerbs.end()) {
    const std::string_view near = nearest(verb, kVerbs);
    return wrong("", fmt::format("there is no \"token {}\"", verb),
                 near.empty() ? "use create, list or revoke" : fmt::format("did you mean {}?", near));
  }
  const auto folder = data_folder(call);
  if (const int* code = std::get_if<int>(&folder)) return *code;
  const UtcTime now = clock_time();
  auto store = Store::open(std::get<std::string>(folder), now);
  if (!store && store.error().code == "in_use") store = Store::open_beside(std::get<std::string>(folder));
  if (!store) return failed(store.errors());
  if (verb == "create") return create_token(call, **store, now);
  if (verb == "list") return list_tokens(**store, now);
  return revoke_token(call, **store, now);
}

int run_backup(const Arguments& call) {
  const auto folder = data_folder(call);
  if (const int* code = std::get_if<int>(&folder)) return *code;
  if (const auto done = back_up(std::get<std::string>(folder), call.operand()); !done) return failed(done.errors());
  // For the metrics; a backup is a good one without it.
  if (const auto store = Store::open_beside(std::get<std::string>(folder)))
    (void)(*store)->set_note(kBackupNote, utc_text(clock_time()));
  fmt::print("{} holds what people entered, checked\n", call.operand());
  return kDone;
}

int run_restore(const Arguments& call) {
  const auto folder = data_folder(call);
  if (const int* code = std::get_if<int>(&folder)) return *code;
  if (const auto done = restore_backup(call.operand(), std::get<std::string>(folder), clock_time()); !done)
    return failed(done.errors());
  fmt::print("{} is in place in {}; what stood there is kept beside it\n", call.operand(), std::get<std::string>(folder));
  return kDone;
}

}  // namespace hakea::service
