#include "ingest/feed.h"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <charconv>

#include "core/base/nearest.h"
#include "ingest/cf/time_axis.h"
#include "ingest/grid/grid.h"

namespace hakea::ingest {
namespace {

const std::vector<std::string> kKeys{"id",          "path",           "pattern",  "hours",     "quantities",
                                     "members",     "late_after",     "aliases",  "wind",      "orography",
                                     "land_mask",   "use_incomplete", "settle_s", "set_aside", "keep",
                                     "lagged_runs", "observed",       "grid",     "time_unit"};

class FeedReader {
 public:
  explicit FeedReader(std::string name) : name_(std::move(name)) {}

  Result<Feed> read(const toml::table& table) {
    Feed feed;
    for (const auto& [key, node] : table) {
      const std::string k(key.str());
      if (std::find(kKeys.begin(), kKeys.end(), k) == kKeys.end()) {
        const std::string_view near = nearest(k, kKeys);
        fault(key.source(), "unknown_key", fmt::format("\"{}\" is no setting of a feed", k),
              near.empty() ? "see the commented feed for the settings" : fmt::format("did you mean \"{}\"?", near));
      }
    }
    text(table, "id", feed.id);
    text(table, "path", feed.path);
    text(table, "pattern", feed.pattern);
    text(table, "orography", feed.orography);
    text(table, "land_mask", feed.land_mask);
    text(table, "set_aside", feed.set_aside);
    number(table, "members", feed.members, 0, 1000);
    number(table, "lagged_runs", feed.lagged_runs, 1, 24);
    number(table, "settle_s", feed.settle_s, 0, 86400);
    number(table, "keep", feed.keep, 0, 100000);
    choice(table, "use_incomplete", feed.use_incomplete);
    choice(table, "observed", feed.observed);
    if (const auto* node = table.get("late_after")) {
      if (const auto value = node->value_exact<std::string>())
        feed.late_after = *value;
      else if (const auto hours = node->value_exact<std::int64_t>())
        feed.late_after = fmt::format("{}h", *hours);
      else
        fault(node->source(), "wrong_type", "\"late_after\" is no text", "write it as \"7h\" or \"05:30\"");
    }
    if (const auto* node = table.get("wind")) {
      const std::string value = node->value_exact<std::string>().value_or("");
      if (value == "earth")
        feed.wind = Feed::Wind::earth;
      else if (value == "grid")
        feed.wind = Feed::Wind::grid;
      else
        fault(node->source(), "unknown_word", fmt::format("\"wind\" is \"{}\"", value),
              "accepted: \"earth\" or \"grid\"; without it the names of the variables decide");
    }
    hours(table, feed);
    quantities(table, feed);
    aliases(table, feed);
    grid(table, feed);
    text(table, "time_unit", feed.time_unit);
    if (const auto unit = parse_time_unit(feed.time_unit, ""); !feed.time_unit.empty() && !unit)
      fault(table.get("time_unit")->source(), "bad_time_unit", fmt::format("\"time_unit\" is \"{}\"", feed.time_unit),
            "write \"hours since 2026-04-01\", or seconds, minutes or days since a date");
    if (feed.observed && (feed.hours || feed.members > 0 || feed.lagged_runs > 1))
      fault(table.source(), "contradictory", "what is observed has no lead hours, members or lagged runs",
            "leave out hours, members and lagged_runs, or observed");
    if (!feed.set_aside.empty() != (feed.keep > 0) && errors_.empty())
      fault(table.source(), "incomplete", "\"set_aside\" and \"keep\" go together",
            "give both, or neither and nothing in the folder is touched");
    if (!errors_.empty()) {
      std::sort(errors_.begin(), errors_.end(),
                [](const Fault& a, const Fault& b) { return std::pair(a.line, a.column) < std::pair(b.line, b.column); });
      Errors errors;
      for (Fault& f : errors_) errors.push_back(std::move(f.error));
      return errors;
    }
    return feed;
  }

 private:
  struct Fault {
    std::uint32_t line, column;
    Error error;
  };

  void fault(const toml::source_region& at, std::string code, std::string what, std::string hint) {
    errors_.push_back({at.begin.line,
                       at.begin.column,
                       {ErrorKind::invalid, std::move(code), fmt::format("{}:{}:{}", name_, at.begin.line, at.begin.column),
                        std::move(what), std::move(hint)}});
  }

  void text(const toml::table& table, const char* key, std::string& to) {
    const auto* node = table.get(key);
    if (!node) return;
    if (const auto value = node->value_exact<std::string>())
      to = *value;
    else
      fault(node->source(), "wrong_type", fmt::format("\"{}\" is no text", key), "put it in quotes");
  }

  void number(const toml::table& table, const char* key, int& to, int least, int most) {
    const auto* node = table.get(key);
    if (!node) return;
    const auto value = node->value_exact<std::int64_t>();
    if (!value)
      fault(node->source(), "wrong_type", fmt::format("\"{}\" is no whole number", key), "write a whole number without quotes");
    else if (*value < least || *value > most)
      fault(node->source(), "out_of_range", fmt::format("\"{}\" is {}", key, *value),
            fmt::format("accepted: {} to {}", least, most));
    else
      to = static_cast<int>(*value);
  }

  void choice(const toml::table& table, const char* key, bool& to) {
    const auto* node = table.get(key);
    if (!node) return;
    if (const auto value = node->value_exact<bool>())
      to = *value;
    else
      fault(node->source(), "wrong_type", fmt::format("\"{}\" is neither true nor false", key),
            "write true or false without quotes");
  }

  void hours(const toml::table& table, Feed& feed) {
    const auto* node = table.get("hours");
    if (!node) return;
    const std::string value = node->value_exact<std::string>().value_or("");
    LeadHours h;
    const char *at = value.data(), *end = value.data() + value.size();
    bool good = !value.empty();
    for (int* part : {&h.first, &h.last, &h.step}) {
      const auto [next, code] = std::from_chars(at, end, *part);
      good = good && code == std::errc() && (part == &h.step ? next == end : next != end && *next == '/');
      at = next == end ? end : next + 1;
    }
    if (!good || h.first < 0 || h.last < h.first || h.step < 1 || h.last > 10000 || (h.last - h.first) % h.step != 0)
      fault(node->source(), "bad_hours", fmt::format("\"hours\" is \"{}\"", value),
            "write first/last/step in hours of lead, as \"0/90/1\"; the last must be reached in whole steps");
    else
      feed.hours = h;
  }

  void quantities(const toml::table& table, Feed& feed) {
    const auto* node = table.get("quantities");
    if (!node) return;
    const auto* array = node->as_array();
    if (!array) return fault(node->source(), "wrong_type", "\"quantities\" is no list", "write [\"air_temperature\", …]");
    for (const auto& item : *array) {
      const auto value = item.value_exact<std::string>();
      if (!value)
        fault(item.source(), "wrong_type", "a quantity is no text", "put its key in quotes");
      else if (known_key(item.source(), *value))
        feed.quantities.push_back(*value);
    }
  }

  void aliases(const toml::table& table, Feed& feed) {
    const auto* node = table.get("aliases");
    if (!node) return;
    const auto* list = node->as_table();
    if (!list)
      return fault(node->source(), "wrong_type", "\"aliases\" is no table",
                   "write [aliases] and below it: t2m = \"air_temperature\"");
    for (const auto& [variable, item] : *list) {
      const auto value = item.value_exact<std::string>();
      if (!value) {
        fault(item.source(), "wrong_type", fmt::format("the alias of \"{}\" is no text", variable.str()),
              "write the fed key in quotes");
        continue;
      }
      const auto bracket = value->find('[');
      std::string key = value->substr(0, bracket);
      while (key.ends_with(' ')) key.pop_back();
      if (bracket != std::string::npos && !value->ends_with(']'))
        fault(item.source(), "bad_alias", fmt::format("\"{}\" has no closing bracket", *value), "write \"air_temperature [K]\"");
      else if (known_key(item.source(), key))
        feed.aliases.emplace(std::string(variable.str()), *value);
    }
  }

  void grid(const toml::table& table, Feed& feed) {
    const auto* node = table.get("grid");
    if (!node) return;
    const auto* stated = node->as_table();
    if (!stated)
      return fault(node->source(), "wrong_type", "\"grid\" is no table",
                   "write [grid] and below it: projection, first = [latitude, longitude], step = [x, y]");
    const std::size_t before = errors_.size();
    StatedGrid g;
    const std::vector<std::string> known{"projection", "first", "step"};
    for (const auto& [key, value] : *stated) {
      if (std::find(known.begin(), known.end(), std::string(key.str())) == known.end())
        fault(key.source(), "unknown_key", fmt::format("\"{}\" is no setting of a grid", key.str()),
              "accepted: projection, first, step");
    }
    text(*stated, "projection", g.projection);
    pair(*stated, *node, "first", g.first_latitude_deg, g.first_longitude_deg);
    pair(*stated, *node, "step", g.x_step, g.y_step);
    if (errors_.size() > before) return;
    if (const auto built = Grid::stated(g, 2, 2); !built)
      return fault(node->source(), "bad_grid", fmt::format("\"grid\" {}", built.error().what), built.error().hint);
    feed.grid = g;
  }

  void pair(const toml::table& table, const toml::node& owner, const char* key, double& first, double& second) {
    const auto* node = table.get(key);
    const auto* list = node ? node->as_array() : nullptr;
    const auto a = list && list->size() == 2 ? list->get(0)->value<double>() : std::nullopt,
               b = list && list->size() == 2 ? list->get(1)->value<double>() : std::nullopt;
    if (!a || !b)
      return fault((node ? *node : owner).source(), "wrong_type",
                   fmt::format("\"{}\" of the grid is no list of two numbers", key),
                   "write first = [latitude, longitude] of the first cell and step = [x, y] in metres, or degrees of a globe");
    first = *a;
    second = *b;
  }

  bool known_key(const toml::source_region& at, const std::string& key) {
    if (core::fed_by_key(key)) return true;
    std::vector<std::string_view> known;
    for (const auto& row : core::fed_variables()) known.push_back(row.key);
    const std::string_view near = nearest(key, known);
    fault(at, "unknown_quantity", fmt::format("\"{}\" is no quantity a feed can give", key),
          near.empty() ? "see `hakea quantities`" : fmt::format("did you mean \"{}\"?", near));
    return false;
  }

  std::string name_;
  std::vector<Fault> errors_;
};

}  // namespace

Result<Feed> parse_feed(const std::string& toml, const std::string& name) {
  try {
    return FeedReader(name).read(toml::parse(toml));
  } catch (const toml::parse_error& e) {
    return Error{ErrorKind::invalid, "syntax", fmt::format("{}:{}:{}", name, e.source().begin.line, e.source().begin.column),
                 std::string(e.description()), "TOML 1.0"};
  }
}

}  // namespace hakea::ingest
