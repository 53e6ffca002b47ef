// `hakea quantities`: the catalogue, for people and for machines.
#include <fmt/format.h>

#include "service/cli/arguments.h"
#include "service/cli/commands.h"
#include "service/cli/inputs.h"
#include "service/output/quantities_json.h"

namespace hakea::service {

int run_quantities(const Arguments& call) {
  Errors mistakes;
  const std::string format = format_of_call(call, {"table", "json"}, mistakes);
  if (!mistakes.empty()) return refused(mistakes);
  if (format == "json")
    fmt::print("{}\n", quantities_json(built_in_fuels()));
  else
    fmt::print("{}", quantities_page(built_in_fuels()));
  return kDone;
}

}  // namespace hakea::service
