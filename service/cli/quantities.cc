// `hakea quantities`: the catalogue, for people and for machines.
#include <fmt/format.h>

#include "core/catalogue/catalogue.h"
#include "service/cli/arguments.h"
#include "service/cli/commands.h"
#include "service/output/quantities_json.h"

namespace hakea::service {
namespace {

using core::QuantityRow;

void print_table() {
  fmt::print("{:<30} {:<7} {:<16} {:<7} {:<11} {}\n", "quantity", "unit", "range", "origin", "status", "source");
  for (const QuantityRow& row : core::catalogue())
    fmt::print("{:<30} {:<7} {:<16} {:<7} {:<11} {}\n", row.key, row.unit, fmt::format("{:g} to {:g}", row.lowest, row.highest),
               row.origin == core::Origin::feed ? "feed" : "derived", row.status == core::Status::firm ? "firm" : "provisional",
               row.source);
  fmt::print("\nWhy a value can be missing:");
  for (const core::Reason reason : kReasons) fmt::print(" {}", core::word(reason));
  fmt::print("\n");
}

}  // namespace

int run_quantities(const Arguments& call) {
  const std::string format = call.one("--format", "table");
  if (format == "json")
    fmt::print("{}\n", quantities_json());
  else if (format == "table")
    print_table();
  else {
    complain({ErrorKind::invalid, "wrong_call", "--format", fmt::format("\"{}\" is not a format of this command", format),
              "write table or json"});
    return kWrongCall;
  }
  return kDone;
}

}  // namespace hakea::service
