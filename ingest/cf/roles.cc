#include "ingest/cf/roles.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/base/words.h"
#include "ingest/cf/alias_proposals.h"

namespace hakea::ingest {
namespace {

using core::Fed;

// Names in general use among GRIB-to-NetCDF converters (ecCodes short names and their CF-safe forms, wgrib2, NCL, the NetCDF
// Java library) and the climate archives' request tables, in lower case. Names of one quantity are separated by blanks.
struct CommonNames {
  Fed fed;
  std::string_view names;
};
constexpr std::array kCommonNames{
    CommonNames{Fed::air_temperature,
                "2t t2m t2 tas tmp2m 2t_gds0_sfc tmp_2maboveground temperature_2m t_2m air_temperature_2m air_temperature__at_2m "
                "temperature_height_above_ground"},
    CommonNames{Fed::dew_point_temperature, "2d d2m td2m td2 tdps dpt2m 2d_gds0_sfc dpt_2maboveground td_2m"},
    CommonNames{Fed::relative_humidity,
                "2r r2 rh2 rh2m hurs rh_2maboveground relhum_2m "
                "relative_humidity_height_above_ground"},
    CommonNames{Fed::specific_humidity, "2sh sh2 q2 q2m huss spfh2m spfh_2maboveground"},
    CommonNames{Fed::eastward_wind,
                "10u u10 u10m uas ugrd10m 10u_gds0_sfc ugrd_10maboveground u_10m "
                "u_component_of_wind_height_above_ground"},
    CommonNames{Fed::northward_wind,
                "10v v10 v10m vas vgrd10m 10v_gds0_sfc vgrd_10maboveground v_10m "
                "v_component_of_wind_height_above_ground"},
    CommonNames{Fed::wind_speed, "10si si10 ws10 ff10 sfcwind wind_10m"},
    CommonNames{Fed::wind_from_direction, "10wdir wdir10 dd10 sfcwindfromdir"},
    CommonNames{Fed::wind_gust, "gust 10fg fg10 i10fg gustsfc gust10 gust_surface wsgs vmax_10m wind_speed_gust_surface"},
    CommonNames{Fed::precipitation_amount,
                "tp pr precipitation total_precipitation rain rainfall apcp apcpsfc tprate prate pratesfc tp_gds0_sfc tot_prec "
                "prcp rainnc"},
    CommonNames{Fed::shortwave_radiation, "ssrd rsds dswrf dswrfsfc sdswrf swdown"},
    CommonNames{Fed::cloud_area_fraction, "tcc clt tcdc tcdcclm"},
    CommonNames{Fed::surface_pressure, "sp ps psfc pressfc sp_gds0_sfc pres_surface"},
    CommonNames{Fed::mixing_height, "blh hpbl hpblsfc pblh hpbl_surface"},
    CommonNames{Fed::surface_altitude, "orog hsurf hgtsfc topography elevation hgt_surface"},
    CommonNames{Fed::land_area_fraction, "lsm sftlf landsfc landmask land_surface"},
    CommonNames{Fed::level_temperature, "t ta tmp temperature_isobaric tdry"},
    CommonNames{Fed::level_relative_humidity, "r hur rh relative_humidity_isobaric"},
    CommonNames{Fed::level_specific_humidity, "q hus spfh"},
    CommonNames{Fed::level_dew_point_temperature, "dp td"},
    CommonNames{Fed::level_eastward_wind, "u ua ugrd u_component_of_wind_isobaric u_wind"},
    CommonNames{Fed::level_northward_wind, "v va vgrd v_component_of_wind_isobaric v_wind"},
    CommonNames{Fed::level_height, "gh z zg hgt geopotential_height_isobaric alt"},
};

bool has_word(std::string_view list, std::string_view word) {
  for (std::size_t at = 0; at < list.size();) {
    const auto end = std::min(list.find(' ', at), list.size());
    if (list.substr(at, end - at) == word) return true;
    at = end + 1;
  }
  return false;
}

// The height above ground at which a quantity is defined (WMO-No. 8), with what still counts as it; 0 where it has none.
struct Height {
  double low, high;
};
Height height_of(Fed fed) {
  switch (fed) {
    case Fed::air_temperature:
    case Fed::dew_point_temperature:
    case Fed::relative_humidity:
    case Fed::specific_humidity: return {1.2, 2.5};
    case Fed::wind_speed:
    case Fed::wind_from_direction:
    case Fed::eastward_wind:
    case Fed::northward_wind:
    case Fed::x_wind:
    case Fed::y_wind: return {9.5, 10.5};
    default: return {0, 0};
  }
}

// "100 metre U wind component", "u100m": a height that only the names give, in lower case.
std::optional<double> height_in(std::string_view text) {
  constexpr std::string_view kDigits = "0123456789", kLetters = "abcdefghijklmnopqrstuvwxyz";
  constexpr std::size_t kLongest = 4;
  for (std::size_t at = text.find_first_of(kDigits); at != std::string_view::npos;) {
    const std::size_t end = std::min(text.find_first_not_of(kDigits, at), text.size());
    std::string_view after = text.substr(end);
    if (after.starts_with(' ') || after.starts_with('_') || after.starts_with('-')) after.remove_prefix(1);
    const std::string_view word = after.substr(0, std::min(after.find_first_not_of(kLetters), after.size()));
    const bool is_fraction = at > 0 && text[at - 1] == '.';
    if (!is_fraction && end - at <= kLongest && has_word("m metre metres meter meters", word))
      return std::stod(std::string(text.substr(at, end - at)));
    at = text.find_first_of(kDigits, end);
  }
  return std::nullopt;
}

// Names that by themselves mean a height near the ground.
bool is_screen_name(const std::string& name) {
  return std::any_of(kCommonNames.begin(), kCommonNames.end(),
                     [&](const CommonNames& c) { return !core::describe(c.fed).on_levels && has_word(c.names, name); });
}

bool is_of_the_ground(const Variable& v) {
  const std::string standard = v.text("standard_name");
  return !standard.empty() && !v.dimensions.empty() &&
         std::any_of(core::fed_variables().begin(), core::fed_variables().end(), [&](const core::FedVariable& row) {
           return row.kind == core::TimeKind::fixed && has_word(row.standard_names, standard);
         });
}

struct Name {
  Fed fed;
  NamedBy by;
  std::string unit;
};

std::optional<Name> named(const Feed& feed, const Variable& v, bool on_pressure, Result<std::optional<Meaning>>& fault) {
  const std::string own = base_name(v.name);
  for (const std::string& name : {v.name, own}) {
    const auto alias = feed.aliases.find(name);
    if (alias == feed.aliases.end()) continue;
    std::string key = alias->second, unit;
    if (const auto bracket = key.find('['); bracket != std::string::npos) {
      unit = key.substr(bracket + 1, key.rfind(']') - bracket - 1);
      key = key.substr(0, bracket);
    }
    while (key.ends_with(' ')) key.pop_back();
    if (const auto fed = core::fed_by_key(key)) return Name{*fed, NamedBy::alias, unit};
    fault = Error{ErrorKind::invalid, "alias", v.name, fmt::format("is aliased to \"{}\", which is no fed quantity", key),
                  "see `hakea quantities` for the keys"};
    return std::nullopt;
  }
  const std::string standard = v.text("standard_name");
  // Some writers repeat the variable's own name there, which says nothing more.
  const bool says = !standard.empty() && standard != "unknown" && lower(standard) != lower(own);
  if (!standard.empty())
    for (const core::FedVariable& row : core::fed_variables())
      if (row.on_levels == on_pressure && has_word(row.standard_names, standard)) return Name{row.id, NamedBy::standard_name, {}};
  std::string common = lower(own);
  std::replace(common.begin(), common.end(), '-', '_');
  const auto matches = [&](const std::string& name) -> std::optional<Name> {
    if (const auto fed = core::fed_by_key(name); fed && core::describe(*fed).on_levels == on_pressure)
      return Name{*fed, NamedBy::common_name, {}};
    for (const CommonNames& c : kCommonNames)
      if (core::describe(c.fed).on_levels == on_pressure && has_word(c.names, name)) return Name{c.fed, NamedBy::common_name, {}};
    return std::nullopt;
  };
  if (auto name = matches(common)) {
    if (!says) return name;
    const auto& row = core::describe(name->fed);
    fault =
        Error{ErrorKind::invalid, "other_quantity", v.name,
              fmt::format("has the name of {} and the standard_name \"{}\"", row.key, standard),
              fmt::format("if it is {} all the same, say so in the feed: {}", row.key, as_toml({{own, std::string(row.key)}}))};
    return std::nullopt;
  }
  if (says) return std::nullopt;
  // GRIB attributes that converters carry along.
  if (const std::string grib = lower(v.text("GRIB_shortName")); !grib.empty() && grib != "unknown") return matches(grib);
  return std::nullopt;
}

Fed along_grid(Fed fed) {
  switch (fed) {
    case Fed::eastward_wind: return Fed::x_wind;
    case Fed::northward_wind: return Fed::y_wind;
    case Fed::level_eastward_wind: return Fed::level_x_wind;
    case Fed::level_northward_wind: return Fed::level_y_wind;
    default: return fed;
  }
}

Fed along_earth(Fed fed) {
  switch (fed) {
    case Fed::x_wind: return Fed::eastward_wind;
    case Fed::y_wind: return Fed::northward_wind;
    case Fed::level_x_wind: return Fed::level_eastward_wind;
    case Fed::level_y_wind: return Fed::level_northward_wind;
    default: return fed;
  }
}

}  // namespace

Result<std::optional<Meaning>> meaning_of(const Feed& feed, const NetcdfFile& file, const FileCoordinates& coordinates,
                                          std::size_t variable) {
  const Variable& v = file.variables()[variable];
  using Nothing = std::optional<Meaning>;
  const bool aliased = feed.aliases.contains(v.name) || feed.aliases.contains(base_name(v.name));
  // What the ground is like may be an auxiliary coordinate of the fields above it.
  const bool is_ground = is_of_the_ground(v);
  if (v.type == ValueType::text || v.type == ValueType::other || (coordinates.is_coordinate(variable) && !aliased && !is_ground))
    return Nothing();
  const auto refuse = [&](std::string code, std::string what, std::string hint) {
    return Error{ErrorKind::invalid, std::move(code), v.name, std::move(what), std::move(hint)};
  };

  Meaning m;
  m.vertical = coordinates.vertical(variable);
  Result<std::optional<Meaning>> fault = Nothing();
  const auto name = named(feed, v, m.vertical.kind == VerticalCoordinate::Kind::pressure, fault);
  if (!name) return fault;
  m.fed = name->fed;
  m.by = name->by;
  const bool staggered = std::any_of(v.dimensions.begin(), v.dimensions.end(),
                                     [&](std::size_t d) { return base_name(file.dimensions()[d].name).ends_with("_stag"); });
  const bool wrf = std::any_of(v.dimensions.begin(), v.dimensions.end(),
                               [&](std::size_t d) { return base_name(file.dimensions()[d].name).starts_with("west_east"); });
  if (staggered) return refuse("staggered", "stands on a staggered grid", "accepted: values at the cell centres");
  // Converters of GRIB carry the flag along (as a number or as text).
  const bool flagged = v.number("GRIB_uvRelativeToGrid").value_or(0) == 1 || v.text("GRIB_uvRelativeToGrid") == "1";
  if (feed.wind == Feed::Wind::grid || (feed.wind == Feed::Wind::by_name && (wrf || flagged))) m.fed = along_grid(m.fed);
  if (feed.wind == Feed::Wind::earth) m.fed = along_earth(m.fed);
  const auto& row = core::describe(m.fed);
  if (!v.unreadable.empty())
    return refuse("unreadable", fmt::format("cannot be read: {}", v.unreadable),
                  file.format().starts_with("grib") ? "ask for it on a grid with rows and columns of points, as regular_ll"
                                                    : "write it uncompressed or with deflate");
  if (base_name(v.name) == "RAINNC")
    return refuse("part", "is only the resolved part of the rain (RAINNC without RAINC)",
                  "write the total precipitation as one variable");

  for (const char* packing : {"scale_factor", "add_offset"})
    if (const Attribute* a = v.attribute(packing); a && a->numbers.empty())
      return refuse("scale", fmt::format("has the {} \"{}\", which is no number", packing, a->text),
                    "write it as a number, or the values unpacked");
  if (const auto scale = v.number("scale_factor"); scale && (*scale == 0 || !std::isfinite(*scale)))
    return refuse("scale", fmt::format("has the scale_factor {}", *scale), "accepted: a finite number other than 0");

  // What kind of value over time.
  const std::string methods = lower(v.text("cell_methods")),
                    words = lower(v.text("long_name") + " " + v.text("description") + " " + v.text("standard_name"));
  if (row.kind == core::TimeKind::instant && name->by != NamedBy::alias)
    for (const char* extreme : {"maximum", "minimum"})
      if (methods.find(fmt::format("time: {}", extreme)) != std::string::npos || words.find(extreme) != std::string::npos)
        return refuse("extreme", fmt::format("is a {} over time, where the value at an instant is wanted", extreme),
                      fmt::format("accepted for {}: values at instants (cell_methods \"time: point\")", row.key));

  for (const char* over : {"over days", "over years"})
    if (methods.find(over) != std::string::npos && name->by == NamedBy::alias)
      m.notes.push_back(
          fmt::format("{}: is a statistic {}, taken for the value at its time as the feed's alias says", v.name, over));
    else if (methods.find(over) != std::string::npos)
      return refuse("climatology", fmt::format("is a statistic {}", over), "accepted: values of single times");

  // The height above ground.
  if (v.dimensions.empty() && m.vertical.kind == VerticalCoordinate::Kind::other) m.vertical = {};
  const Height wanted = height_of(m.fed);
  const auto in_range = [&](double z) { return z >= wanted.low && z <= wanted.high; };
  if (row.on_levels) {
    if (m.vertical.kind != VerticalCoordinate::Kind::pressure)
      return refuse("no_levels", "has no pressure levels", "accepted: a coordinate of pressure in Pa or hPa");
  } else if (m.vertical.kind == VerticalCoordinate::Kind::pressure) {
    return refuse("level", fmt::format("stands on pressure levels ({})", m.vertical.name),
                  fmt::format("{} is wanted near the ground", row.key));
  } else if (m.vertical.kind == VerticalCoordinate::Kind::height && wanted.high > 0) {
    const auto& z = m.vertical.values;
    const auto match = std::find_if(z.begin(), z.end(), in_range);
    if (match == z.end() && !(name->by == NamedBy::alias && (z.size() == 1 || !m.vertical.dimension)))
      return refuse("level", fmt::format("stands {} m above the ground", z.empty() ? std::nan("") : z.front()),
                    fmt::format("{} is wanted at {} m", row.key, wanted.high > 5 ? 10 : 2));
    if (m.vertical.dimension) m.level = match == z.end() ? 0 : static_cast<std::size_t>(match - z.begin());
  } else if (m.vertical.dimension && file.dimensions()[*m.vertical.dimension].length > 1) {
    return refuse("level",
                  fmt::format("stands on {} levels of \"{}\" that are neither pressures nor heights above ground",
                              m.vertical.values.size(), m.vertical.name),
                  "accepted: pressure levels, or 2 m and 10 m above ground");
  } else if (wanted.high > 0 && name->by != NamedBy::alias) {
    const auto height = height_in(lower(v.text("long_name")));
    const auto by_name = height ? height : height_in(lower(base_name(v.name)));
    if (!by_name && name->by == NamedBy::standard_name && !is_screen_name(lower(base_name(v.name))))
      m.notes.push_back(fmt::format("{}: no height above ground is stated, {} m assumed", v.name, wanted.high > 5 ? 10 : 2));
    if (by_name && !in_range(*by_name))
      return refuse("level", fmt::format("stands {} m above the ground", *by_name),
                    fmt::format("{} is wanted at {} m", row.key, wanted.high > 5 ? 10 : 2));
  }

  // The unit.
  m.stated_unit = unit_text(v);
  const std::string unit = name->unit.empty() ? m.stated_unit : name->unit;
  if (!v.attribute("units") && v.attribute("unit"))
    m.notes.push_back(fmt::format("{}: its unit is in the attribute \"unit\"", v.name));
  auto conversion = conversion_to(m.fed, unit);
  if (!conversion) {
    Error e = conversion.error();
    e.where = v.name;
    e.hint += fmt::format("; where it is so, say in the feed: {}",
                          as_toml({{base_name(v.name), fmt::format("{} [{}]", row.key, row.unit)}}));
    return e;
  }
  m.unit = *conversion;
  if (m.unit.form == UnitForm::rate && methods.find("time: point") != std::string::npos && name->by != NamedBy::alias)
    return refuse("instant", "is a rate at instants, which says nothing of the time between them",
                  fmt::format("accepted for {}: amounts, or means over the time up to each of its times", row.key));
  if (!m.unit.note.empty()) m.notes.push_back(v.name + ": " + m.unit.note);
  return std::optional(std::move(m));
}

}  // namespace hakea::ingest
