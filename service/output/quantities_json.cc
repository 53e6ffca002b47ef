#include "service/output/quantities_json.h"

#include <fmt/format.h>

#include <array>
#include <vector>

#include "core/base/words.h"
#include "core/catalogue/catalogue.h"
#include "core/catalogue/own_moisture.h"
#include "core/fire/spread_models.h"
#include "service/output/json_writer.h"
#include "service/output/paragraph.h"

namespace hakea::service {
namespace {

using core::QuantityRow;
using core::Reason;
using core::Status;

struct ReasonRow {
  Reason reason;
  std::string_view meaning;
};
constexpr std::array<ReasonRow, 11> kReasons{{
    {Reason::not_in_feed, "no feed or file gives it, nor what it is computed from"},
    {Reason::gap, "the feed has it, but not for this hour"},
    {Reason::no_state, "it needs an antecedent state or a longer record"},
    {Reason::no_parameter, "it needs a property of the unit that nobody gave"},
    {Reason::no_model, "there is no model for this fuel"},
    {Reason::not_applicable, "it has no meaning for this unit"},
    {Reason::no_profile, "it needs levels above the ground"},
    {Reason::out_of_domain, "it is computed outside the model's published domain, and would have passed a limit"},
    {Reason::not_finite, "the formula has no finite value here"},
    {Reason::beyond_horizon, "it lies after the last hour of the forecast"},
    {Reason::no_limits, "the prescription has no limits"},
}};

using enum core::MoistureModel;
constexpr std::array kMoistureModels{eucalypt_litter, time_lag, grass, heath, mallee_heath, buttongrass};

// The row that says how the moisture of a fuel is found.
const QuantityRow& row_of(core::MoistureModel model) {
  const std::string_view own = core::own_moisture(model);
  return core::catalogue()[core::quantity_index(own.empty() ? "litter_moisture" : own)];
}

template <class Is>
std::vector<std::string_view> fuels_with(const FuelTable& fuels, Is is) {
  std::vector<std::string_view> types;
  for (const auto& [type, fuel] : fuels.by_type)
    if (is(fuel)) types.push_back(type);
  return types;
}
std::vector<std::string_view> fuels_with(const FuelTable& fuels, core::MoistureModel model) {
  return fuels_with(fuels, [&](const core::Fuel& fuel) { return fuel.moisture_model == model; });
}
std::vector<std::string_view> fuels_with(const FuelTable& fuels, const core::SpreadModelRow& row) {
  return fuels_with(fuels, [&](const core::Fuel& fuel) { return fuel.spread_model == row.id; });
}

// A number with its unit as people write it: "2 °C", "10 %".
std::string shown_unit(std::string_view unit) {
  if (unit == "Cel") return "°C";
  if (unit == "deg") return "°";
  if (unit == "m2/s") return "m²/s";
  if (unit == "W/m2") return "W/m²";
  if (unit == "ug/m3") return "µg/m³";
  return unit == "1" ? "" : std::string(unit);
}

std::string distance(const QuantityRow& row, double amount) {
  if (amount == 0) return "-";
  return row.near_is_share ? fmt::format("{:g} %", 100 * amount) : fmt::format("{:g}", amount);
}

std::string padded(std::string_view text, std::size_t width) {
  return std::string(text) + std::string(width - std::min(width, letters(text)), ' ');
}

std::string at_a_glance() {
  std::string page = fmt::format("{}{}{}{}{}{}\n", padded("QUANTITY", 32), padded("UNIT", 8), padded("RANGE", 20),
                                 padded("NEAR", 8), padded("ERROR", 8), "STATUS");
  for (const QuantityRow& row : core::catalogue())
    page += fmt::format("{}{}{}{}{}{}{}\n", padded(row.key, 32), padded(shown_unit(row.unit), 8),
                        padded(fmt::format("{:.7g} to {:.7g}", row.lowest, row.highest), 20), padded(distance(row, row.near), 8),
                        padded(distance(row, row.forecast_error), 8), word(row.status),
                        row.origin == core::Origin::feed ? ", fed" : "");
  return page;
}

constexpr std::size_t kLabel = 12;

void add_line(std::string& page, std::string_view label, std::string_view text) {
  if (!text.empty()) page += paragraph(text, kLabel, fmt::format("  {}", label));
}

std::string in_detail() {
  std::string page;
  for (const QuantityRow& row : core::catalogue()) {
    page += "\n" +
            paragraph(fmt::format("{}: {}{}", row.key, row.title, row.status == Status::provisional ? " (provisional)" : ""), 0);
    add_line(page, "model", row.model);
    add_line(page, "equation", row.equation);
    add_line(page, "source", row.source);
    add_line(page, "domain", row.domain);
    add_line(page, "from", row.inputs);
    add_line(page, "CF name", row.standard_name);
  }
  return page;
}

std::string models_by_fuel(const FuelTable& fuels) {
  std::string page;
  for (const core::SpreadModelRow& row : core::spread_models()) {
    page += fmt::format("\n{}: {}{}\n", row.key, row.title, row.status == Status::provisional ? " (provisional)" : "");
    add_line(page, "equation", row.equation);
    add_line(page, "source", row.source);
    add_line(page, "domain", row.domain);
    add_line(page, "from", row.inputs);
    add_line(page, "intensity", row.intensity);
    add_line(page, "flames", row.flame_height);
    add_line(page, "fuels", fmt::format("{}", fmt::join(fuels_with(fuels, row), " ")));
  }
  page += "\n\nMOISTURE BY FUEL: whose value litter_moisture takes\n";
  for (const core::MoistureModel model : kMoistureModels) {
    page += fmt::format("\n{}: {}{}\n", word(model), row_of(model).key,
                        row_of(model).status == Status::provisional ? " (provisional)" : "");
    add_line(page, "fuels", fmt::format("{}", fmt::join(fuels_with(fuels, model), " ")));
  }
  if (const auto unmodelled = fuels_with(fuels, none); !unmodelled.empty()) {
    page += fmt::format("\n{}: only what is read\n", word(none));
    add_line(page, "fuels", fmt::format("{}", fmt::join(unmodelled, " ")));
  }
  return page;
}

}  // namespace

std::string quantities_json(const FuelTable& fuels) {
  JsonWriter out;
  out.begin_object().key("quantities").begin_list();
  for (const QuantityRow& row : core::catalogue()) {
    out.begin_object().text("key", row.key).text("title", row.title).text("unit", row.unit);
    out.key("range").begin_list().number(row.lowest).number(row.highest).end_list();
    out.text_or_null("standard_name", row.standard_name);
    out.text("origin", row.origin == core::Origin::feed ? "feed" : "derived");
    out.text_or_null("model", row.model);
    out.text_or_null("source", row.source);
    out.text_or_null("equation", row.equation);
    out.text_or_null("domain", row.domain);
    out.texts("inputs", words(row.inputs));
    out.number("near", row.near).number("forecast_error", row.forecast_error).yes_or_no("near_is_share", row.near_is_share);
    out.text("status", word(row.status)).end_object();
  }
  out.end_list().key("spread_models").begin_list();
  for (const core::SpreadModelRow& row : core::spread_models()) {
    out.begin_object().text("key", row.key).text("title", row.title);
    out.text_or_null("source", row.source);
    out.text_or_null("equation", row.equation);
    out.text_or_null("domain", row.domain);
    out.texts("inputs", words(row.inputs));
    out.text_or_null("fireline_intensity", row.intensity);
    out.text_or_null("flame_height", row.flame_height);
    out.text("status", word(row.status));
    out.texts("fuels", fuels_with(fuels, row));
    out.end_object();
  }
  out.end_list().key("moisture_models").begin_list();
  for (const core::MoistureModel model : kMoistureModels) {
    out.begin_object().text("key", word(model)).text("quantity", row_of(model).key).text("status", word(row_of(model).status));
    out.texts("fuels", fuels_with(fuels, model));
    out.end_object();
  }
  out.end_list().key("reasons").begin_list();
  for (const ReasonRow& row : kReasons) out.text(core::word(row.reason));
  out.end_list().end_object();
  return out.str();
}

std::string quantities_page(const FuelTable& fuels) {
  std::string page = paragraph(
      "Every quantity that prescriptions may limit. NEAR is how far a limit may yield for a near miss, ERROR the forecast error "
      "that margins are told in; both in the quantity's unit or as a share of the limit. A value outside the domain of its "
      "model is computed where it is finite, and marked: it can fail a limit and passes none. What is provisional rests on "
      "formulas that were not held against their publication.",
      0);
  page += "\n" + at_a_glance() + "\n\nMODELS AND SOURCES\n" + in_detail() + "\n\nSPREAD BY FUEL\n" + models_by_fuel(fuels);
  page += "\n\nWHY A VALUE CAN BE MISSING\n\n";
  for (const ReasonRow& row : kReasons) page += paragraph(row.meaning, 18, core::word(row.reason));
  return page;
}

}  // namespace hakea::service
