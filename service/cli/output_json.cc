// One JSON document, written as the units come.
#include <fmt/format.h>

#include <numeric>

#include "core/catalogue/catalogue.h"
#include "service/cli/output.h"
#include "service/output/time_text.h"

namespace hakea::service {
namespace {

class JsonPrinter : public AnswerPrinter {
 public:
  void begin(const AnswerHead& head) override {
    head_ = head;
    out_.begin_object()
        .text("generated_at", utc_text(head.generated_at))
        .text("now", utc_text(head.now))
        .key("runs")
        .begin_list();
    for (const RunNote& run : head.runs) write_run(out_, run);
    out_.end_list().key("units").begin_list();
  }

  void unit(const Outlook& outlook, const std::vector<SamplingNote>& sampling) override {
    const Unit& unit = *outlook.unit;
    out_.begin_object().text("id", unit.id).key("days").begin_list();
    for (const core::Day& day : outlook.days) write_day(out_, day, unit.prescription, unit.traits.zone);
    out_.end_list();
    if (outlook.hours) {
      out_.key("hours");
      write_hours(out_, *outlook.hours, chosen_or_all(head_.quantities), outlook.hour_fit, sampling);
    }
    out_.end_object();
    flush();
  }

  void end() override {
    out_.end_list().end_object();
    flush();
    fmt::print("\n");
  }

 private:
  void flush() {
    fmt::print("{}", out_.str());
    out_.forget();
  }

  AnswerHead head_;
  JsonWriter out_;
};

}  // namespace

std::unique_ptr<AnswerPrinter> json_printer() { return std::make_unique<JsonPrinter>(); }

std::vector<std::size_t> chosen_or_all(const std::vector<std::size_t>& chosen) {
  if (!chosen.empty()) return chosen;
  std::vector<std::size_t> all(core::catalogue().size());
  std::iota(all.begin(), all.end(), std::size_t{0});
  return all;
}

}  // namespace hakea::service
