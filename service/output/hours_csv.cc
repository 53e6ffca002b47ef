#include "service/output/hours_csv.h"

#include <fmt/format.h>

#include "core/catalogue/status.h"
#include "service/output/day_json.h"
#include "service/output/time_text.h"

namespace hakea::service {

std::string hours_csv_head(const std::vector<std::size_t>& quantities) {
  std::string line = "unit,time_utc,fit";
  for (const std::size_t q : quantities) line += fmt::format(",{} [{}]", core::catalogue()[q].key, core::catalogue()[q].unit);
  return line + ",out_of_domain,provisional\r\n";
}

// Ids, keys and numbers need no quotes.
void add_hours_csv(std::string& text, const std::string& unit, const core::UnitHours& hours, const std::vector<core::Fit>& fit,
                   const std::vector<std::size_t>& quantities) {
  const auto add_key = [](std::string& keys, std::size_t q) { (keys += keys.empty() ? "" : " ") += core::catalogue()[q].key; };
  std::string provisional, out_of_domain;
  for (const std::size_t q : quantities)
    if (hours.unit && core::status_of(core::catalogue()[q], *hours.unit) == core::Status::provisional) add_key(provisional, q);
  for (std::size_t i = 0; i < hours.hours; ++i) {
    out_of_domain.clear();
    text += fmt::format("{},{},{}", unit, utc_text((hours.first + static_cast<int>(i)).start()), word(fit[i]));
    for (const std::size_t q : quantities) {
      const core::Column& column = hours.columns[q];
      text += ',';
      if (column.is_missing(i)) continue;
      text += JsonWriter().number(static_cast<double>(column[i])).str();
      if (column.flags(i) & core::flag::kOutOfDomain) add_key(out_of_domain, q);
    }
    text += fmt::format(",{},{}\r\n", out_of_domain, provisional);
  }
}

}  // namespace hakea::service
