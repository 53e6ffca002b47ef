#include "service/input/means_json.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/base/nearest.h"
#include "core/catalogue/catalogue.h"
#include "service/input/unit_json.h"

namespace hakea::service {
namespace {

constexpr int kMost = 1000;
constexpr double kLargestArea = 1e7;

template <class Number>
void put(std::optional<Number> given, Number& into) {
  if (given) into = *given;
}

// The items of a list that are told apart by their ids, each read into the one that is known by its id or a new one.
template <class Item, class Read>
void read_by_id(JsonObject& object, std::string_view name, std::vector<Item>& known, Read read) {
  const json::array* list = object.list(name);
  std::set<std::string, std::less<>> seen;
  for (std::size_t i = 0; list && i < list->size(); ++i) {
    JsonObject item((*list)[i], pointer_to(object.at(name), i), object.mistakes());
    item.require("id", "give it an id that units name it by");
    const std::string id = item.text("id").value_or("");
    if (!id.empty() && !seen.insert(id).second)
      item.refuse("id", "repeated_id", fmt::format("the id \"{}\" stands there twice", id), "give each an id of its own");
    auto found = std::find_if(known.begin(), known.end(), [&](const Item& one) { return one.id == id; });
    if (found == known.end()) {
      found = known.insert(known.end(), Item{});
      found->id = found->name = id;
    }
    put(item.text("name"), found->name);
    read(item, *found);
    item.refuse_unknown_members();
  }
}

// The bound beyond which there is danger, as the one that keeps clear of it; a `when` names one.
core::Range clear_of(JsonObject& when) {
  struct Named {
    std::string_view name;
    bool is_lower, open;  // what it is of the range that keeps clear
  };
  // From `min` on there is danger: below it, itself left out, there is none.
  constexpr std::array kBounds{Named{"min", false, true}, Named{"above", false, false}, Named{"max", true, true},
                               Named{"below", true, false}};
  core::Range clear;
  int named = 0;
  for (const Named& bound : kBounds) {
    if (!when.has(bound.name)) continue;
    ++named;
    if (const auto value = when.number(bound.name))
      (bound.is_lower ? clear.lower : clear.upper) = core::Bound{*value, bound.open};
  }
  if (named != 1)
    when.mistakes().push_back({ErrorKind::invalid, named == 0 ? "required" : "contradictory", when.pointer(),
                               fmt::format("{} of min, above, max and below is named", named == 0 ? "none" : "more than one"),
                               "name the bound from which there is danger, such as \"min\":24"});
  return clear;
}

core::Limit read_when(JsonObject& readiness) {
  core::Limit quiet;
  quiet.scope = core::Scope::same_day;
  JsonObject when(*readiness.find("when"), readiness.at("when"), readiness.mistakes());
  when.require("quantity", "name a quantity such as ffdi");
  if (const auto key = when.text("quantity")) {
    std::vector<std::string_view> keys;
    for (const auto& row : core::catalogue()) keys.push_back(row.key);
    if (const auto index = core::find_quantity(*key)) {
      quiet.quantity = *index;
    } else {
      const std::string_view near = nearest(*key, keys);
      when.refuse("quantity", "unknown_quantity", fmt::format("the quantity \"{}\" is not known", *key),
                  near.empty() ? "name one that `hakea quantities` lists" : fmt::format("did you mean {}?", near));
    }
  }
  constexpr std::array<std::string_view, 1> kOnlyScope{"same_day"};
  when.word("scope", kOnlyScope);
  quiet.acceptable = clear_of(when);
  when.refuse_unknown_members();
  return quiet;
}

void read_readiness(JsonObject& object, DistrictMeans& known) {
  const json::value* value = object.find("readiness");
  if (!value) return;
  JsonObject readiness(*value, object.at("readiness"), object.mistakes());
  put(readiness.whole_number("free_crews", 0, kMost), known.means.readiness.free_crews);
  if (readiness.has("when")) known.quiet = read_when(readiness);
  readiness.refuse_unknown_members();
  if (known.means.readiness.free_crews > 0 && !known.quiet)
    readiness.require("when", "say on which dates the crews stay free, such as {\"quantity\":\"ffdi\",\"min\":24}");
}

}  // namespace

void read_means(JsonObject& object, DistrictMeans& known) {
  read_by_id(object, "depots", known.means.depots, [](JsonObject& item, core::Depot& depot) {
    if (const json::value* position = item.find("position"))
      if (const auto place = read_position(*position, item.at("position"), item.mistakes()))
        depot.place = GlobePlace{place->latitude_deg, place->longitude_deg};
    put(item.whole_number("crews", 0, kMost), depot.crews);
    put(item.whole_number("tankers", 0, kMost), depot.tankers);
    put(item.whole_number("plant", 0, kMost), depot.plant);
  });
  if (const json::value* value = object.find("shared")) {
    JsonObject shared(*value, object.at("shared"), object.mistakes());
    put(shared.whole_number("aircraft", 0, kMost), known.means.aircraft);
    shared.refuse_unknown_members();
  }
  read_readiness(object, known);
  read_by_id(object, "airsheds", known.means.airsheds, [](JsonObject& item, core::Airshed& airshed) {
    if (const auto burns = item.whole_number("burns_per_day", 0, kMost)) airshed.burns_per_day = burns;
    if (const auto area = item.number("area_ha_per_day", {0, kLargestArea})) airshed.area_ha_per_day = area;
  });
}

}  // namespace hakea::service
