#include "service/tell/cloud_event.h"

#include <fmt/format.h>

#include "service/output/json_writer.h"
#include "service/output/time_text.h"

namespace hakea::service {

std::string cloud_event(const EventRow& event, std::string_view origin) {
  JsonWriter out;
  out.begin_object().text("specversion", "1.0").text("id", event.id);
  out.text("source", event.unit.empty() ? fmt::format("{}/api/v1", origin) : fmt::format("{}/api/v1/units/{}", origin, event.unit));
  out.text("type", event.type).text("subject", event.thread).text("time", utc_text(event.at));
  out.text("datacontenttype", "application/json").text("sequence", fmt::format("{:018}", event.seq));
  out.key("data").raw(event.data).end_object();
  return out.str();
}

}  // namespace hakea::service
