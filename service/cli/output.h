// Printing what `assess` found, unit by unit as they come.
#pragma once

#include <memory>

#include "service/engine/assessment.h"
#include "service/output/day_json.h"

namespace hakea::service {

// What an answer says about itself.
struct AnswerHead {
  UtcTime now{}, generated_at{};
  std::vector<RunNote> runs;  // newest first; none for a weather table
  std::string source;         // for people: the files the weather came from
  std::size_t unit_count = 0;
  bool with_hours = false;
  std::vector<std::size_t> quantities;  // of the hours; empty = the printer's own choice
};

class AnswerPrinter {
 public:
  virtual ~AnswerPrinter() = default;
  virtual void begin(const AnswerHead& head) = 0;
  virtual void unit(const Outlook& outlook, const std::vector<SamplingNote>& sampling) = 0;
  virtual void end() = 0;
};

std::unique_ptr<AnswerPrinter> json_printer();
std::unique_ptr<AnswerPrinter> csv_printer();
std::unique_ptr<AnswerPrinter> table_printer();

// The quantities to print for a unit: those chosen, else all of the catalogue.
std::vector<std::size_t> chosen_or_all(const std::vector<std::size_t>& chosen);

}  // namespace hakea::service
