#include "service/cli/arguments.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdio>

#include "core/base/nearest.h"
#include "service/cli/commands.h"

namespace hakea::service {
namespace {

using enum OptionRow::Takes;

constexpr std::array<OptionRow, 9> kAssess{{
    {"--units", one, "FILE", "the burn units, a GeoJSON Feature or FeatureCollection"},
    {"--feed", several, "FILE|DIR", "forecast files; those of one reference time are one run"},
    {"--feed-config", one, "FILE", "what the feed is (TOML); without it everything is known by its CF role"},
    {"--weather", several, "FILE.csv", "weather as a table instead of a feed"},
    {"--district", one, "FILE", "holidays, stops, bookings and notices (JSON)"},
    {"--now", one, "TIME", "the time at hand, with its offset; else the newest run's reference time or the first row"},
    {"--format", one, "table|csv|json", "how to print; table unless said"},
    {"--hours", nothing, "", "print the hours too"},
    {"--quantities", one, "a,b,c", "which quantities --hours prints"},
}};
constexpr std::array<OptionRow, 3> kInspect{{
    {"--at", one, "LAT,LON", "print the values at this place"},
    {"--feed-config", one, "FILE", "what the feed is (TOML)"},
    {"--format", one, "text|json", "how to print; text unless said"},
}};
constexpr std::array<OptionRow, 5> kHistory{{
    {"--units", one, "FILE", "the burn units, a GeoJSON Feature or FeatureCollection"},
    {"--weather", several, "FILE.csv", "past hours as a table"},
    {"--from", one, "DATE", "the first local date to count; else the first of the table"},
    {"--to", one, "DATE", "the last local date to count; else the last of the table"},
    {"--format", one, "table|csv|json", "how to print; table unless said. csv: the verdict of every day"},
}};
constexpr std::array<OptionRow, 1> kQuantities{{{"--format", one, "table|json", "how to print; table unless said"}}};
constexpr std::array<OptionRow, 1> kCheck{{{"--config", one, "FILE", "the configuration (TOML)"}}};
constexpr std::array<OptionRow, 2> kServe{{
    {"--config", one, "FILE", "the configuration (TOML)"},
    {"--now", one, "TIME", "begin at this time, with its offset, instead of the machine's"},
}};
constexpr std::array<OptionRow, 3> kDemo{{
    {"--data", one, "DIR", "folder for what is entered and computed; hakea-demo unless said"},
    {"--port", one, "N", "where to listen on 127.0.0.1; 8080 unless said, 0 for any free port"},
    {"--once", nothing, "", "print the morning digest and end"},
}};
constexpr std::array<OptionRow, 8> kToken{{
    {"--config", one, "FILE", "the configuration (TOML) of the service that takes the token"},
    {"--name", one, "NAME", "create: whom it is for"},
    {"--role", one, "ROLE", "create: viewer, officer, coordinator or operator; viewer unless said"},
    {"--district", several, "ID", "create: only these districts; all unless said"},
    {"--unit", several, "ID", "create: may write for these units only; for all unless said"},
    {"--scope", several, "SCOPE", "create: only these of the role's scopes, such as observations:write; all unless said"},
    {"--days", one, "N", "create: valid so long, at most 366; 90 unless said"},
    {"--id", one, "ID", "revoke: which one"},
}};
constexpr std::array<OptionRow, 1> kOfConfig{{{"--config", one, "FILE", "the configuration (TOML) of the service"}}};

constexpr std::array<CommandRow, 10> kCommands{{
    {"serve", "", "watch the feeds, judge the units and answer requests until told to end", kServe, run_serve},
    {"assess", "", "find the days on which units can be burnt", kAssess, run_assess},
    {"inspect", "FILE", "say what a forecast file contains and what of it can be used", kInspect, run_inspect},
    {"history", "", "count on which past days units could have been burnt, and what kept them from it", kHistory, run_history},
    {"quantities", "", "list the quantities that prescriptions may limit, with their sources", kQuantities, run_quantities},
    {"check", "", "check a configuration and say which tables are in use", kCheck, run_check},
    {"demo", "", "serve a fictional district with its own weather and clock", kDemo, run_demo},
    {"token", "create|list|revoke", "make, list and revoke the tokens that callers show", kToken, run_token},
    {"backup", "FILE", "write a checked copy of what people entered; the service may run", kOfConfig, run_backup},
    {"restore", "FILE", "put a backup in place; the service must not run", kOfConfig, run_restore},
}};

const OptionRow* option_of(const CommandRow& command, std::string_view name) {
  const auto found =
      std::find_if(command.options.begin(), command.options.end(), [&](const OptionRow& o) { return o.name == name; });
  return found == command.options.end() ? nullptr : &*found;
}

std::string one_line(std::string text) {
  std::replace(text.begin(), text.end(), '\n', ' ');
  return text;
}

}  // namespace

std::span<const CommandRow> commands() { return kCommands; }

std::string Arguments::one(std::string_view option, std::string fallback) const {
  const auto found = values_.find(option);
  return found == values_.end() ? fallback : found->second.front();
}

const std::vector<std::string>& Arguments::all(std::string_view option) const {
  static const std::vector<std::string> none;
  const auto found = values_.find(option);
  return found == values_.end() ? none : found->second;
}

Result<Arguments> read_arguments(const CommandRow& command, const std::vector<std::string>& words) {
  Arguments arguments;
  Errors mistakes;
  const std::string see = fmt::format("see `hakea {} --help`", command.name);
  for (std::size_t i = 0; i < words.size(); ++i) {
    const std::string& word = words[i];
    if (!word.starts_with("--")) {
      if (command.operand.empty())
        mistakes.push_back(wrong_call("", fmt::format("\"{}\" stands without an option", word), see));
      else if (!arguments.operand_.empty())
        mistakes.push_back(wrong_call("", fmt::format("\"{}\" is one {} too many", word, command.operand), see));
      else
        arguments.operand_ = word;
      continue;
    }
    const std::size_t equals = word.find('=');
    const std::string name = word.substr(0, equals);
    const OptionRow* option = option_of(command, name);
    if (!option) {
      std::vector<std::string_view> names;
      for (const OptionRow& o : command.options) names.push_back(o.name);
      const std::string_view near = nearest(name, names);
      mistakes.push_back(wrong_call("", fmt::format("{} has no option {}", command.name, name),
                                    near.empty() ? see : fmt::format("did you mean {}?", near)));
      while (i + 1 < words.size() && !words[i + 1].starts_with("--")) ++i;  // its values, whatever they are
      continue;
    }
    const bool was_given = arguments.has(name);
    auto& values = arguments.values_[name];
    if (equals != std::string::npos)
      values.push_back(word.substr(equals + 1));
    else if (option->takes == one && i + 1 < words.size() && !words[i + 1].starts_with("--"))
      values.push_back(words[++i]);
    else if (option->takes == several)
      while (i + 1 < words.size() && !words[i + 1].starts_with("--")) values.push_back(words[++i]);
    if (option->takes == nothing && !values.empty())
      mistakes.push_back(wrong_call("", fmt::format("{} takes no value", name), see));
    if (option->takes != nothing && (values.empty() || values.back().empty()))
      mistakes.push_back(wrong_call("", fmt::format("{} needs a value", name), fmt::format("write {} {}", name, option->value)));
    if (was_given && option->takes == one)
      mistakes.push_back(wrong_call("", fmt::format("{} is given twice", name), "give it once"));
  }
  if (!command.operand.empty() && arguments.operand_.empty() && mistakes.empty())
    mistakes.push_back(wrong_call("", fmt::format("{} needs a {}", command.name, command.operand), see));
  if (!mistakes.empty()) return mistakes;
  return arguments;
}

std::string usage_of(const CommandRow& command) {
  std::string text =
      fmt::format("hakea {}{}{}: {}\n", command.name, command.operand.empty() ? "" : " ", command.operand, command.meaning);
  for (const OptionRow& option : command.options)
    text += fmt::format("  {:<30} {}\n", fmt::format("{} {}{}", option.name, option.value, option.takes == several ? " ..." : ""),
                        option.meaning);
  return text;
}

std::string usage() {
  std::string text = "hakea finds the days on which burn units can be burnt within their prescriptions.\n\n";
  for (const CommandRow& command : kCommands) text += usage_of(command) + "\n";
  return text + "Exit codes: 0 done, 1 the work failed, 2 the call was wrong.\n";
}

int run_program(const std::vector<std::string>& words) {
  const bool asks_for_help = words.empty() || words[0] == "--help" || words[0] == "-h" || words[0] == "help";
  if (asks_for_help) {
    fmt::print(words.empty() ? stderr : stdout, "{}", usage());
    return words.empty() ? kWrongCall : kDone;
  }
  const auto command = std::find_if(kCommands.begin(), kCommands.end(), [&](const CommandRow& c) { return c.name == words[0]; });
  if (command == kCommands.end()) {
    std::vector<std::string_view> names;
    for (const CommandRow& c : kCommands) names.push_back(c.name);
    const std::string_view near = nearest(words[0], names);
    return refused({wrong_call(
        "", fmt::format("there is no command \"{}\"", words[0]),
        near.empty() ? fmt::format("use one of {}", fmt::join(names, ", ")) : fmt::format("did you mean {}?", near))});
  }
  if (std::find_if(words.begin(), words.end(), [](const std::string& w) { return w == "--help" || w == "-h"; }) != words.end()) {
    fmt::print("{}", usage_of(*command));
    return kDone;
  }
  const auto arguments = read_arguments(*command, {words.begin() + 1, words.end()});
  if (!arguments) return refused(arguments.errors());
  return command->run(*arguments);
}

void complain(const Error& error, std::string_view about) {
  std::string line = "hakea: ";
  if (!about.empty() && about != error.where) line += fmt::format("{}: ", about);
  if (!error.where.empty()) line += fmt::format("{}: ", error.where);
  line += error.what;
  if (!error.code.empty()) line += fmt::format(" [{}]", error.code);
  if (!error.hint.empty()) line += fmt::format("; {}", error.hint);
  fmt::print(stderr, "{}\n", one_line(std::move(line)));
}

void complain(const Errors& errors, std::string_view about) {
  for (const Error& error : errors) complain(error, about);
}

int failed(const Errors& errors) {
  complain(errors);
  return kFailed;
}

int refused(const Errors& errors, std::string_view about) {
  complain(errors, about);
  return kWrongCall;
}

Error wrong_call(std::string where, std::string what, std::string hint) {
  return {ErrorKind::invalid, "wrong_call", std::move(where), std::move(what), std::move(hint)};
}

}  // namespace hakea::service
