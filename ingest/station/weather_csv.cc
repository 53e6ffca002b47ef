#include "ingest/station/weather_csv.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <limits>
#include <optional>
#include <set>

#include "core/base/nearest.h"
#include "core/weather/variables.h"
#include "ingest/station/ucum.h"

namespace hakea::ingest {
namespace {

// A table has an hour for every hour between its rows: a year mistyped would fill the memory.
constexpr int kFirstYear = 1900, kLastYear = 2100;

// RFC 3339 with an offset, on the hour: "2027-03-30T06:00:00+11:00". A blank may stand for the T, seconds may be left out.
struct HourText {
  enum class Fault { none, form, no_offset, not_whole, far } fault = Fault::none;
  UtcHour hour;
};
HourText read_hour(std::string_view s) {
  const auto number = [&](std::size_t at, std::size_t n) {
    int value = 0;
    if (at + n > s.size()) return -1;
    for (std::size_t i = at; i < at + n; ++i) {
      if (s[i] < '0' || s[i] > '9') return -1;
      value = value * 10 + (s[i] - '0');
    }
    return value;
  };
  constexpr auto form = HourText::Fault::form;
  if (s.size() < 16 || s[4] != '-' || s[7] != '-' || (s[10] != 'T' && s[10] != 't' && s[10] != ' ') || s[13] != ':')
    return {form, {}};
  const int year = number(0, 4), month = number(5, 2), day = number(8, 2), hour = number(11, 2), minute = number(14, 2);
  const std::chrono::year_month_day date{std::chrono::year(year), std::chrono::month(static_cast<unsigned>(std::max(month, 0))),
                                         std::chrono::day(static_cast<unsigned>(std::max(day, 0)))};
  if (year < 0 || !date.ok() || hour < 0 || hour > 23 || minute < 0 || minute > 59) return {form, {}};
  std::size_t at = 16;
  int second = 0;
  bool fraction = false;
  if (at < s.size() && s[at] == ':') {
    if ((second = number(at + 1, 2)) < 0 || second > 59) return {form, {}};
    at += 3;
    if (at < s.size() && s[at] == '.')
      for (++at; at < s.size() && s[at] >= '0' && s[at] <= '9'; ++at) fraction = fraction || s[at] != '0';
  }
  int offset = 0;
  if (at == s.size()) return {HourText::Fault::no_offset, {}};
  if (s[at] == 'Z' || s[at] == 'z') {
    ++at;
  } else {
    const int h = number(at + 1, 2), m = number(at + 4, 2);
    if ((s[at] != '+' && s[at] != '-') || h < 0 || h > 23 || m < 0 || m > 59 || s[at + 3] != ':') return {form, {}};
    offset = (s[at] == '-' ? -1 : 1) * (h * 60 + m);
    at += 6;
  }
  if (at != s.size()) return {form, {}};
  const UtcTime t = std::chrono::sys_days(date) + std::chrono::hours(hour) + std::chrono::minutes(minute - offset) +
                    std::chrono::seconds(second);
  if (fraction || t.time_since_epoch().count() % 3600 != 0) return {HourText::Fault::not_whole, {}};
  if (year < kFirstYear || year > kLastYear) return {HourText::Fault::far, {}};
  return {HourText::Fault::none, UtcHour::of(t)};
}

struct TableCell {
  std::string_view text;
  std::size_t column;
};  // column: of its first character, from 1

class TableReader {
 public:
  TableReader(const std::string& text, const std::string& name, const std::function<std::string(std::string_view)>& unit_of,
              const std::vector<std::string_view>& known_keys, std::string_view id_column)
      : text_(text), name_(name), unit_of_(unit_of), known_keys_(known_keys), id_column_(id_column) {}

  Result<WeatherTable> read() {
    std::string_view rest = text_;
    if (rest.starts_with("\xEF\xBB\xBF")) rest.remove_prefix(3);
    bool header = false;
    while (!rest.empty()) {
      const auto end = rest.find('\n');
      std::string_view line = rest.substr(0, end);
      is_ended_ = end != std::string_view::npos;
      rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + 1);
      ++line_;
      if (line.ends_with('\r')) line.remove_suffix(1);
      if (line.find_first_not_of(" \t,") == std::string_view::npos || (line.front() == '#' && !header)) continue;
      const bool is_split = split(line);
      if (!header) {
        if (is_split) read_header();
        header = true;
        if (!errors_.empty()) return errors_;
      } else if (is_split) {
        read_row();
      }
      if (errors_.size() >= kMostErrors) {
        errors_.push_back({ErrorKind::invalid, "more", name_, "has more mistakes, which are not listed", "correct these first"});
        break;
      }
    }
    if (!header) fault(1, "empty", "holds no header", "the first line names the columns: time_utc,air_temperature [Cel],…");
    if (!errors_.empty()) return errors_;
    return table();
  }

 private:
  static constexpr std::size_t kMostErrors = 200;
  static constexpr double kHighestHumidity = 105;  // %; beyond it the sensor is broken (common practice, no source)
  static constexpr double kGaugeNoise = 0.05;      // mm

  struct ColumnSpec {
    UcumConversion to;
    std::string key;
    std::optional<core::Fed> fed;
    double lowest, highest;
  };
  struct Row {
    UtcHour hour;
    std::size_t line;
  };
  struct Rows {
    std::vector<Row> rows;
    std::vector<float> values;  // row-major
  };

  void fault(std::size_t column, std::string code, std::string what, std::string hint) {
    errors_.push_back({ErrorKind::invalid, std::move(code),
                       fmt::format("{}:{}:{}", name_, std::max<std::size_t>(line_, 1), column), std::move(what),
                       std::move(hint)});
  }

  // A number that no instrument can have measured is missing, and said to be.
  void set_aside(std::size_t column, std::string what, std::string hint) {
    set_aside_.push_back(
        {ErrorKind::invalid, "implausible", fmt::format("{}:{}:{}", name_, line_, column), std::move(what), std::move(hint)});
  }

  // False where the quotes of a cell do not enclose it.
  bool split(std::string_view line) {
    cells_.clear();
    for (std::size_t at = 0;;) {
      std::size_t begin = at, end;
      if (at < line.size() && line[at] == '"') {
        end = std::min(line.find('"', ++begin), line.size());
        at = line.find(',', end);
        const std::string_view behind = line.substr(end, std::min(at, line.size()) - end);
        if (behind.find_first_not_of(" \t", 1) != std::string_view::npos || behind.empty()) {
          fault(begin, "quotes", "a quoted cell does not end with its quote", "write numbers without quotes");
          return false;
        }
      } else {
        at = line.find(',', at);
        end = std::min(at, line.size());
      }
      while (begin < end && (line[begin] == ' ' || line[begin] == '\t')) ++begin;
      while (end > begin && (line[end - 1] == ' ' || line[end - 1] == '\t')) --end;
      cells_.push_back({line.substr(begin, end - begin), begin + 1});
      if (at == std::string_view::npos) return true;
      ++at;
    }
  }

  void read_header() {
    std::size_t at = 0;
    if (cells_[0].text == id_column_) {
      has_unit_ = true;
      at = 1;
    }
    if (at >= cells_.size() || cells_[at].text != "time_utc")
      return fault(at < cells_.size() ? cells_[at].column : 1, "no_time",
                   fmt::format("the {} column is \"{}\"", at ? "second" : "first", at < cells_.size() ? cells_[at].text : ""),
                   fmt::format("it must be time_utc, or {} and then time_utc", id_column_));
    time_cell_ = at;
    std::set<std::string> seen;
    for (++at; at < cells_.size(); ++at) {
      const std::string_view text = cells_[at].text;
      const auto bracket = text.find('[');
      std::string key(text.substr(0, bracket));
      while (key.ends_with(' ')) key.pop_back();
      const std::string wanted = unit_of_(key);
      if (wanted.empty()) {
        const std::string near = nearest_key(key);
        fault(cells_[at].column, "unknown_quantity", fmt::format("\"{}\" is no quantity", key),
              near.empty() ? "see `hakea quantities` for the keys" : fmt::format("did you mean \"{}\"?", near));
        continue;
      }
      if (!seen.insert(key).second)
        fault(cells_[at].column, "twice", fmt::format("the column {} comes twice", key), "give each quantity once");
      if (bracket == std::string_view::npos || !text.ends_with(']')) {
        fault(cells_[at].column, "no_unit", fmt::format("the column {} states no unit", key),
              fmt::format("write its UCUM unit in brackets, as \"{} [{}]\"", key, wanted));
        continue;
      }
      // The outer brackets only: UCUM codes such as [degF] bring their own.
      const std::string unit(text.substr(bracket + 1, text.size() - bracket - 2));
      auto to = convert_ucum(unit, wanted);
      // A code written once with its own brackets, as [degF] or [kn_i], is understood too.
      if (!to) to = convert_ucum("[" + unit + "]", wanted);
      if (!to) {
        fault(cells_[at].column + bracket, is_ucum_unit(unit) ? "unit_mismatch" : "unknown_unit",
              fmt::format("\"{}\" is no unit of {}", unit, key), "accepted: " + accepted_ucum_units(wanted));
        continue;
      }
      if (key == "inversion_strength") to->offset = 0;  // a difference has no zero point
      const auto fed = core::fed_by_key(key);
      const double infinity = std::numeric_limits<double>::infinity();
      // A mixing height counts from the unit's ground and may be negative.
      const double lowest = !fed || *fed == core::Fed::mixing_height ? -infinity : core::describe(*fed).lowest;
      columns_.push_back({*to, key, fed, lowest, fed ? core::describe(*fed).highest : infinity});
    }
    if (errors_.empty() && columns_.empty())
      fault(1, "no_quantity", "names no quantity", "add columns such as \"air_temperature [Cel]\"");
  }

  std::string nearest_key(const std::string& key) const {
    std::vector<std::string_view> known = known_keys_;
    if (known.empty())
      for (const auto& row : core::fed_variables())
        if (!unit_of_(row.key).empty()) known.push_back(row.key);
    return std::string(nearest(key, known));
  }

  // What the trade does with readings just beyond what can be; false where it is a mistake of the file.
  bool settle(std::optional<core::Fed> fed, double& value, const TableCell& cell) {
    using core::Fed;
    if (fed == Fed::relative_humidity && value > 100) {
      if (value > kHighestHumidity) {
        fault(cell.column, "out_of_range", fmt::format("the relative humidity is {} %", value),
              fmt::format("accepted: to {} %, taken as 100", kHighestHumidity));
        return false;
      }
      value = 100;
      ++humidities_cut_;
    } else if ((fed == Fed::wind_speed || fed == Fed::wind_gust) && value < 0) {
      fault(cell.column, "out_of_range", fmt::format("the wind is {} km/h", value),
            "a wind is 0 or more; leave the cell empty where it is missing");
      return false;
    } else if (fed == Fed::precipitation_amount && value < 0) {
      if (value < -kGaugeNoise) {
        fault(cell.column, "out_of_range", fmt::format("the rain is {} mm", value),
              "rain is 0 or more; leave the cell empty where it is missing");
        return false;
      }
      value = 0;
    }
    return true;
  }

  void read_row() {
    const std::size_t wanted = time_cell_ + 1 + columns_.size();
    if (cells_.size() > wanted && std::any_of(cells_.begin() + static_cast<std::ptrdiff_t>(wanted), cells_.end(),
                                              [](const TableCell& c) { return !c.text.empty(); }))
      return fault(cells_[wanted].column, "too_many", fmt::format("has {} cells, the header {}", cells_.size(), wanted),
                   "a comma too many?");
    if (!is_ended_ && cells_.size() < wanted)
      return fault(cells_.back().column, "cut_off", fmt::format("ends after {} cells of {}", cells_.size(), wanted),
                   "the file seems to be cut off: fetch it again, or end its last line");
    if (time_cell_ >= cells_.size()) return fault(1, "no_time", "has no time", "every row begins with its time");
    const TableCell& time = cells_[time_cell_];
    const HourText hour = read_hour(time.text);
    switch (hour.fault) {
      case HourText::Fault::none: break;
      case HourText::Fault::form:
        return fault(time.column, "bad_time", fmt::format("\"{}\" is no time", time.text),
                     "write RFC 3339, as 2027-03-30T06:00:00Z");
      case HourText::Fault::no_offset:
        return fault(time.column, "no_offset", fmt::format("\"{}\" has no offset from UTC", time.text),
                     "add Z or the offset, as 2027-03-30T06:00:00Z");
      case HourText::Fault::far:
        return fault(time.column, "far", fmt::format("\"{}\" is far from any forecast", time.text),
                     fmt::format("accepted: the years {} to {}", kFirstYear, kLastYear));
      case HourText::Fault::not_whole:
        return fault(time.column, "not_whole", fmt::format("\"{}\" is no whole hour of UTC", time.text),
                     "one row an hour, named by its start");
    }
    const std::string unit(has_unit_ ? cells_[0].text : std::string_view());
    if (has_unit_ && unit.empty())
      return fault(cells_[0].column, "no_unit_id", fmt::format("names no {}", id_column_),
                   fmt::format("fill the column {0}, or leave it out for all {0}s", id_column_));
    if (!current_ || unit != current_unit_) {
      current_ = &by_unit_[unit];
      current_unit_ = unit;
    }
    if (!current_->rows.empty() && hour.hour <= current_->rows.back().hour) {
      const bool same =
          std::any_of(current_->rows.begin(), current_->rows.end(), [&](const Row& r) { return r.hour == hour.hour; });
      return same ? fault(time.column, "twice",
                          fmt::format("the hour {} comes twice{}", time.text, unit.empty() ? "" : " for " + unit),
                          "give each hour once")
                  : fault(time.column, "unsorted",
                          fmt::format("the hour {} stands after a later one{}", time.text, unit.empty() ? "" : " of " + unit),
                          "sort the rows by time");
    }
    current_->rows.push_back({hour.hour, line_});
    for (std::size_t k = 0; k < columns_.size(); ++k) {
      const std::size_t at = time_cell_ + 1 + k;
      float value = std::numeric_limits<float>::quiet_NaN();
      if (at < cells_.size() && !cells_[at].text.empty()) {
        double number = 0;
        std::string_view text = cells_[at].text;
        if (text.front() == '+') text.remove_prefix(1);
        const auto [end, code] = std::from_chars(text.data(), text.data() + text.size(), number);
        double converted = number * columns_[k].to.factor + columns_[k].to.offset;
        if (code != std::errc() || end != text.data() + text.size() || !std::isfinite(number))
          fault(cells_[at].column, "not_a_number", fmt::format("\"{}\" is no number", cells_[at].text),
                "leave the cell empty where the value is missing");
        else if (!settle(columns_[k].fed, converted, cells_[at]))
          value = std::numeric_limits<float>::quiet_NaN();
        else if (converted < columns_[k].lowest || converted > columns_[k].highest)
          set_aside(cells_[at].column,
                    fmt::format("{} is {} {} and is left out", columns_[k].key, converted, unit_of_(columns_[k].key)),
                    fmt::format("plausible: {} to {}; is the unit right?", columns_[k].lowest, columns_[k].highest));
        else
          value = static_cast<float>(converted);
      }
      current_->values.push_back(value);
    }
  }

  WeatherTable table() const {
    WeatherTable table;
    table.set_aside = set_aside_;
    table.humidities_cut = humidities_cut_;
    for (const ColumnSpec& c : columns_) table.keys.push_back(c.key);
    for (const auto& [unit, rows] : by_unit_) {
      if (rows.rows.empty()) continue;
      WeatherTable::Series s;
      s.first = rows.rows.front().hour;
      s.hours = static_cast<std::size_t>(rows.rows.back().hour - s.first) + 1;
      s.values.assign(columns_.size(), std::vector<float>(s.hours, std::numeric_limits<float>::quiet_NaN()));
      for (std::size_t r = 0; r < rows.rows.size(); ++r)
        for (std::size_t k = 0; k < columns_.size(); ++k)
          s.values[k][static_cast<std::size_t>(rows.rows[r].hour - s.first)] = rows.values[r * columns_.size() + k];
      table.by_unit.emplace(unit, std::move(s));
    }
    return table;
  }

  const std::string& text_;
  const std::string& name_;
  const std::function<std::string(std::string_view)>& unit_of_;
  const std::vector<std::string_view>& known_keys_;
  const std::string_view id_column_;
  std::size_t line_ = 0, time_cell_ = 0, humidities_cut_ = 0;
  bool has_unit_ = false, is_ended_ = true;
  std::vector<TableCell> cells_;
  std::vector<ColumnSpec> columns_;
  std::map<std::string, Rows> by_unit_;
  Rows* current_ = nullptr;
  std::string current_unit_;
  Errors errors_, set_aside_;
};

}  // namespace

Result<WeatherTable> read_weather_csv(const std::string& text, const std::string& name,
                                      const std::function<std::string(std::string_view)>& unit_of,
                                      const std::vector<std::string_view>& known_keys, std::string_view id_column) {
  return TableReader(text, name, unit_of, known_keys, id_column).read();
}

}  // namespace hakea::ingest
