// The program's commands and options as a table, and a call read against it.
#pragma once

#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/result.h"

namespace hakea::service {

inline constexpr int kDone = 0, kFailed = 1, kWrongCall = 2;  // exit codes

class Arguments;

struct OptionRow {
  enum class Takes : std::uint8_t { nothing, one, several };
  std::string_view name;  // with its hyphens
  Takes takes;
  std::string_view value;  // what the value is called, "FILE"
  std::string_view meaning;
};

struct CommandRow {
  std::string_view name, operand, meaning;  // operand: what stands without an option, empty for none
  std::span<const OptionRow> options;
  int (*run)(const Arguments&);
};

class Arguments {
 public:
  bool has(std::string_view option) const { return values_.contains(option); }
  // The value of an option; the fallback when it was not given.
  std::string one(std::string_view option, std::string fallback = {}) const;
  const std::vector<std::string>& all(std::string_view option) const;
  const std::string& operand() const { return operand_; }

 private:
  friend Result<Arguments> read_arguments(const CommandRow&, const std::vector<std::string>&);
  std::map<std::string, std::vector<std::string>, std::less<>> values_;
  std::string operand_;
};

std::span<const CommandRow> commands();
Result<Arguments> read_arguments(const CommandRow& command, const std::vector<std::string>& words);

// The whole program: exit code.
int run_program(const std::vector<std::string>& words);

std::string usage();
std::string usage_of(const CommandRow& command);

// One plain line on standard error: where, what, the code, and what to do.
void complain(const Error& error, std::string_view about = {});
void complain(const Errors& errors, std::string_view about = {});
// The same, and the exit code of work that failed, or of a call that was wrong.
int failed(const Errors& errors);
int refused(const Errors& errors, std::string_view about = {});
// What is wrong with a call: `where` is the option, empty for the call as a whole.
Error wrong_call(std::string where, std::string what, std::string hint);

}  // namespace hakea::service
