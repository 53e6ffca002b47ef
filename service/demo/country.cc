#include "service/demo/country.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "service/input/built_in_tables.h"
#include "service/input/json.h"

namespace hakea::service {
namespace {

constexpr double kKmPerDegree = 111.19;
constexpr double kTopsM = 620, kFootM = 200, kPlainM = 10;

double smooth_step(double from, double to, double x) {
  const double s = std::clamp((x - from) / (to - from), 0.0, 1.0);
  return s * s * (3 - 2 * s);
}

double km_per_degree_east(double latitude_deg) { return kKmPerDegree * std::cos(latitude_deg * std::numbers::pi / 180); }

}  // namespace

DemoCountry::DemoCountry() {
  const auto document = parse_json(built_in_table("demo/district.json"), "demo/district.json");
  HAKEA_EXPECT(document);
  for (const json::value& feature : document->at("district").at("map").at("features").as_array()) {
    const json::string& kind = feature.at("properties").at("kind").as_string();
    Line* line = kind == "coast" ? &coast_ : kind == "escarpment" ? &escarpment_ : nullptr;
    if (!line) continue;
    for (const json::value& p : feature.at("geometry").at("coordinates").as_array())
      line->push_back({p.at(1).to_number<double>(), p.at(0).to_number<double>()});
  }
  HAKEA_EXPECT(coast_.size() >= 2 && escarpment_.size() >= 2);
}

double DemoCountry::distance_km(const Line& line, Place place) {
  const double east = km_per_degree_east(place.latitude_deg);
  double nearest = std::numeric_limits<double>::infinity(), side = 1;
  for (std::size_t i = 1; i < line.size(); ++i) {
    const double ax = (line[i - 1].longitude_deg - place.longitude_deg) * east,
                 ay = (line[i - 1].latitude_deg - place.latitude_deg) * kKmPerDegree,
                 dx = (line[i].longitude_deg - line[i - 1].longitude_deg) * east,
                 dy = (line[i].latitude_deg - line[i - 1].latitude_deg) * kKmPerDegree;
    const double along = std::clamp(-(ax * dx + ay * dy) / (dx * dx + dy * dy), 0.0, 1.0);
    const double here = std::hypot(ax + along * dx, ay + along * dy);
    if (here >= nearest - 1e-9) continue;
    nearest = here;
    side = ax * dy - ay * dx > 0 ? 1 : -1;
  }
  return side * nearest;
}

double DemoCountry::elevation_m(Place place) const {
  const double inland = distance_km(coast_, place);
  if (inland <= 0) return 0;
  const double above = distance_km(escarpment_, place);
  const double towards_hills = inland / (inland + std::max(0.0, -above));
  const double low = kPlainM + (kFootM - kPlainM) * towards_hills * towards_hills;
  const double high = kTopsM + 3 * std::max(0.0, above);
  return std::lerp(low, high, smooth_step(-2.5, 0.5, above));
}

double DemoCountry::smoothed_elevation_m(Place place, double radius_km) const {
  double sum = 0;
  int count = 0;
  constexpr int kSamples = 6;  // from the middle to the rim
  for (int y = -kSamples; y <= kSamples; ++y)
    for (int x = -kSamples; x <= kSamples; ++x) {
      if (x * x + y * y > kSamples * kSamples) continue;
      const double step = radius_km / kSamples;
      sum += elevation_m({place.latitude_deg + y * step / kKmPerDegree,
                          place.longitude_deg + x * step / km_per_degree_east(place.latitude_deg)});
      ++count;
    }
  return sum / count;
}

ZoneShares DemoCountry::zones(Place place) const {
  const double tops = smooth_step(-6, -1.5, distance_km(escarpment_, place));
  const double coast = (1 - tops) * (1 - smooth_step(8, 11, distance_km(coast_, place)));
  return {coast, 1 - tops - coast, tops};
}

}  // namespace hakea::service
