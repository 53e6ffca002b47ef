#include "tests/support/made_up_run.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <numeric>
#include <string_view>
#include <vector>

#include "service/output/time_text.h"
#include "tests/support/netcdf_writer.h"

namespace hakea::test {

namespace fs = std::filesystem;

UtcTime made_up_time(double hours) {
  return UtcTime(std::chrono::sys_days(std::chrono::year(2027) / 3 / 29)) +
         std::chrono::seconds(static_cast<std::int64_t>(std::llround(hours * 3600)));
}

std::string write_made_up_run(const MadeUpRun& run, const std::string& path) {
  const fs::path target = path, written = target.parent_path().parent_path() / ("." + run.name + ".part");
  {
    const NetcdfWriter nc(written.string(), NC_NETCDF4);
    std::vector<double> leads;
    for (int lead = 0; lead <= run.last_lead_h; lead += run.step_h)
      if (lead < run.gap_from || lead > run.gap_to) leads.push_back(lead);
    const int time = nc.dimension("time", leads.size()), lat = nc.dimension("lat", 3), lon = nc.dimension("lon", 3);
    const int t = nc.variable("time", NC_DOUBLE, {time}), y = nc.variable("lat", NC_DOUBLE, {lat}),
              x = nc.variable("lon", NC_DOUBLE, {lon}), r = nc.variable("forecast_reference_time", NC_DOUBLE, {});
    const std::string since = "hours since " + service::utc_text(made_up_time(run.reference_h)).substr(0, 10) + " " +
                              service::utc_text(made_up_time(run.reference_h)).substr(11, 5);
    nc.text(t, "units", since);
    nc.text(t, "standard_name", "time");
    nc.text(r, "units", since);
    nc.text(r, "standard_name", "forecast_reference_time");
    nc.text(y, "units", "degrees_north");
    nc.text(x, "units", "degrees_east");
    struct Field {
      const char *name, *unit, *standard_name;
      double (*value)(double warmth, const MadeUpRun& run, int lead);
    };
    const std::vector<Field> fields{
        {"t", "degC", "air_temperature", [](double w, const MadeUpRun& m, int) { return 16 + 6 * w + m.warmer; }},
        {"td", "degC", "dew_point_temperature", [](double, const MadeUpRun&, int) { return 8.0; }},
        {"u", "m s-1", "eastward_wind", [](double w, const MadeUpRun&, int) { return 3 + w; }},
        {"v", "m s-1", "northward_wind", [](double, const MadeUpRun&, int) { return -1.0; }},
        {"p", "kg m-2 s-1", "precipitation_flux",
         [](double, const MadeUpRun& m, int lead) { return lead > m.rain_from && lead <= m.rain_to ? 4.0 / 3600 : 0.0; }}};
    std::vector<int> ids, dimensions{time, lat, lon};
    const std::size_t members = static_cast<std::size_t>(std::max(run.members, 1));
    if (run.members > 0) {
      dimensions.insert(dimensions.begin() + 1, nc.dimension("member", members));
      const int m = nc.variable("member", NC_INT, {dimensions[1]});
      nc.text(m, "standard_name", "realization");
      std::vector<double> numbers(members);
      std::iota(numbers.begin(), numbers.end(), 0);
      nc.write(m, {0}, {members}, numbers);
    }
    for (const Field& field : fields) {
      const int id = ids.emplace_back(nc.variable(field.name, NC_FLOAT, dimensions));
      nc.text(id, "units", field.unit);
      nc.text(id, "standard_name", field.standard_name);
      if (std::string_view(field.standard_name) == "precipitation_flux") nc.text(id, "cell_methods", "time: mean");
    }
    nc.write(r, {}, {}, {0});
    nc.write(t, {0}, {leads.size()}, leads);
    nc.write(y, {0}, {3}, {-38, -37, -36});
    nc.write(x, {0}, {3}, {149, 150, 151});
    for (std::size_t f = 0; f < fields.size(); ++f) {
      std::vector<double> values;
      for (const double lead : leads) {
        const double warmth = std::sin((run.reference_h + lead - 22) / 24 * 2 * 3.14159265358979);
        for (std::size_t m = 0; m < members; ++m) {
          MadeUpRun member = run;
          member.warmer += 1.5 * static_cast<double>(m);
          values.insert(values.end(), 9, fields[f].value(warmth, member, static_cast<int>(lead)));
        }
      }
      const std::vector<std::size_t> start(dimensions.size(), 0);
      std::vector<std::size_t> count{leads.size(), 3, 3};
      if (run.members > 0) count = {leads.size(), members, 3, 3};
      nc.write(ids[f], start, count, values);
    }
  }
  fs::rename(written, target);
  return target.string();
}

}  // namespace hakea::test
