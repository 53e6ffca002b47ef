// `hakea quantities`: the catalogue, for people and for machines.
#include <fmt/format.h>

#include "service/cli/arguments.h"
#include "service/cli/commands.h"
#include "service/output/quantities_json.h"

namespace hakea::service {
int run_quantities(const Arguments& call) {
  const std::string format = call.one("--format", "table");
  if (format == "json")
    fmt::print("{}\n", quantities_json(built_in_fuels()));
  else if (format == "table")
    fmt::print("{}", quantities_page(built_in_fuels()));
  else {
    complain({ErrorKind::invalid, "wrong_call", "--format", fmt::format("\"{}\" is not a format of this command", format),
              "write table or json"});
    return kWrongCall;
  }
  return kDone;
}

}  // namespace hakea::service
