// A page for each kind of problem, at the URI that is its `type`: what it means and what to do about it.
#pragma once

#include <span>
#include <string_view>

#include "service/http/message.h"

namespace hakea::service {

inline constexpr std::string_view kProblemRoot = "/problems";

struct ProblemKind {
  std::string_view code;   // what stands behind /problems/ in `type`
  int status;              // that it comes with, mostly
  std::string_view means;  // plain sentences
  std::string_view what_to_do;
};
std::span<const ProblemKind> problem_kinds();

// GET or HEAD of /problems, which lists them, or of one of them. As HTML, or as text where that is preferred.
Response problem_page(const Request& request);

}  // namespace hakea::service
