#include "service/output/quantities_json.h"

#include "core/catalogue/catalogue.h"
#include "service/base/words.h"
#include "service/output/json_writer.h"

namespace hakea::service {

using core::QuantityRow;

std::string quantities_json() {
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
  return out.str();
}

}  // namespace hakea::service
