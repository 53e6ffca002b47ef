// How a function says that something from outside was wrong.
//
// Expected failures are values: Result<T> holds a T or an Error. An Error says what is wrong, where, what was found and
// what to do about it. Several mistakes of one input travel together in Errors. Our own mistakes stop the program through
// HAKEA_EXPECT, which is on in every build and never reachable by outside input.
#pragma once

#include <cstdio>
#include <cstdlib>
#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace hakea {

enum class ErrorKind { invalid, unreadable, unsupported, incomplete, not_found, failed };

struct Error {
  ErrorKind kind = ErrorKind::invalid;
  std::string code;   // one stable word, such as "reversed" or "unknown_unit"
  std::string where;  // file, variable, line or JSON pointer
  std::string what;   // what was found and what is wrong with it, a plain sentence
  std::string hint;   // what would be accepted, what to do next
};

using Errors = std::vector<Error>;

template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value) : state_(std::move(value)) {}
  Result(Error error) : state_(Errors{std::move(error)}) {}
  Result(Errors errors) : state_(std::move(errors)) {}

  explicit operator bool() const { return std::holds_alternative<T>(state_); }
  T& operator*() & { return std::get<T>(state_); }
  const T& operator*() const& { return std::get<T>(state_); }
  T&& operator*() && { return std::get<T>(std::move(state_)); }
  T* operator->() { return &std::get<T>(state_); }
  const T* operator->() const { return &std::get<T>(state_); }
  const Errors& errors() const { return std::get<Errors>(state_); }
  const Error& error() const { return std::get<Errors>(state_).front(); }

 private:
  std::variant<T, Errors> state_;
};

[[noreturn]] inline void expectation_failed(const char* condition, const char* file, int line) {
  std::fprintf(stderr, "hakea: internal mistake at %s:%d: expected %s\n", file, line, condition);
  std::abort();
}

}  // namespace hakea

#define HAKEA_EXPECT(condition) ((condition) ? void(0) : ::hakea::expectation_failed(#condition, __FILE__, __LINE__))
