#include "service/ogc/coverage.h"

#include <fmt/format.h>

#include "core/catalogue/catalogue.h"
#include "service/ogc/asked.h"
#include "service/ogc/parameters.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

void write_axis(JsonWriter& out, std::string_view name, double value) {
  out.key(name).begin_object().key("values").begin_list().raw(degrees_text(value)).end_list().end_object();
}

void write_domain(JsonWriter& out, const Coverage& coverage) {
  out.key("domain").begin_object().text("type", "Domain").text("domainType", "PointSeries").key("axes").begin_object();
  write_axis(out, "x", coverage.longitude_deg);
  write_axis(out, "y", coverage.latitude_deg);
  out.key("t").begin_object().key("values").begin_list();
  for (std::size_t i = 0; i < coverage.hours.hours; ++i) out.text(utc_text((coverage.hours.first + static_cast<int>(i)).start()));
  out.end_list().end_object().end_object().key("referencing").begin_list();
  out.begin_object().key("coordinates").begin_list().text("x").text("y").end_list();
  out.key("system").begin_object().text("type", "GeographicCRS").text("id", kCrs84).end_object().end_object();
  out.begin_object().key("coordinates").begin_list().text("t").end_list();
  out.key("system").begin_object().text("type", "TemporalRS").text("calendar", "Gregorian").end_object().end_object();
  out.end_list().end_object();
}

template <class WriteValue>
void write_range(JsonWriter& out, std::string_view key, std::string_view data_type, std::size_t hours, WriteValue&& write_value) {
  out.key(key).begin_object().text("type", "NdArray").text("dataType", data_type);
  out.key("axisNames").begin_list().text("t").end_list();
  out.key("shape").begin_list().whole(static_cast<long long>(hours)).end_list().key("values").begin_list();
  for (std::size_t i = 0; i < hours; ++i) write_value(i);
  out.end_list().end_object();
}

}  // namespace

std::string degrees_text(double degrees) { return fmt::format("{}", degrees); }

std::string coverage_json(const Coverage& coverage, const std::string& origin) {
  const core::UnitHours& hours = coverage.hours;
  JsonWriter out;
  out.begin_object().text("type", "Coverage").text("id", coverage.id);
  write_domain(out, coverage);
  out.key("parameters").begin_object();
  for (const std::size_t q : coverage.quantities) write_parameter(out, core::catalogue()[q], Labels::by_language, origin);
  if (coverage.fit) write_fit_parameter(out, Labels::by_language, origin);
  out.end_object().key("ranges").begin_object();
  for (const std::size_t q : coverage.quantities) {
    const core::Column& column = hours.columns[q];
    write_range(out, core::catalogue()[q].key, "float", hours.hours,
                [&](std::size_t i) { out.number(static_cast<double>(column[i])); });
  }
  if (coverage.fit)
    write_range(out, kFitParameter, "integer", hours.hours, [&](std::size_t i) { out.whole(category_of((*coverage.fit)[i])); });
  out.end_object().key("flags").begin_object();
  for (const std::size_t q : coverage.quantities) write_flags(out.key(core::catalogue()[q].key), core::catalogue()[q], hours);
  out.end_object();
  write_missing(out, hours, coverage.quantities);
  write_sampling(out, coverage.sampling);
  return out.end_object().str();
}

}  // namespace hakea::service
