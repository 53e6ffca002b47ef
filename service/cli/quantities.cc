// `hakea quantities`: the catalogue, for people and for machines.
#include <fmt/format.h>

#include "core/catalogue/catalogue.h"
#include "service/base/words.h"
#include "service/cli/arguments.h"
#include "service/cli/commands.h"
#include "service/output/json_writer.h"

namespace hakea::service {
namespace {

using core::QuantityRow;

constexpr std::array kReasons{core::Reason::not_in_feed,    core::Reason::gap,           core::Reason::no_state,
                              core::Reason::no_parameter,   core::Reason::no_model,      core::Reason::not_applicable,
                              core::Reason::no_profile,     core::Reason::out_of_domain, core::Reason::not_finite,
                              core::Reason::beyond_horizon, core::Reason::no_limits};

void print_json() {
  JsonWriter out;
  out.begin_object().key("quantities").begin_list();
  const auto text_or_null = [&](std::string_view name, std::string_view text) {
    if (text.empty())
      out.null(name);
    else
      out.text(name, text);
  };
  for (const QuantityRow& row : core::catalogue()) {
    out.begin_object().text("key", row.key).text("title", row.title).text("unit", row.unit);
    out.key("range").begin_list().number(row.lowest).number(row.highest).end_list();
    text_or_null("standard_name", row.standard_name);
    out.text("origin", row.origin == core::Origin::feed ? "feed" : "derived");
    text_or_null("model", row.model);
    text_or_null("source", row.source);
    text_or_null("equation", row.equation);
    text_or_null("domain", row.domain);
    out.key("inputs").begin_list();
    for (const std::string_view input : words(row.inputs)) out.text(input);
    out.end_list()
        .number("near", row.near)
        .number("forecast_error", row.forecast_error)
        .yes_or_no("near_is_share", row.near_is_share);
    out.text("status", row.status == core::Status::firm ? "firm" : "provisional").end_object();
  }
  out.end_list().key("reasons").begin_list();
  for (const core::Reason reason : kReasons) out.text(core::word(reason));
  out.end_list().end_object();
  fmt::print("{}\n", out.str());
}

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
    print_json();
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
