// Unit strings, as forecast files and as tables and readings write them.
#include <cmath>

#include "ingest/cf/units.h"
#include "ingest/station/ucum.h"
#include "tests/fuzz/fuzz.h"

// UDUNITS forgets the last word it read of a text that is no unit: a few bytes, which are not ours to give back.
// NOLINTNEXTLINE(bugprone-reserved-identifier): the name that the sanitizer asks for
extern "C" const char* __lsan_default_suppressions() { return "leak:utlex\n"; }

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace hakea;
  const std::string_view unit = test::as_text(data, size);
  const auto is_sound = [](double factor, double offset) {
    return std::isfinite(factor) && factor != 0 && std::isfinite(offset);
  };
  for (std::size_t i = 0; i < core::kFedCount; ++i) {
    const auto wanted = static_cast<core::Fed>(i);
    const auto conversion = ingest::conversion_to(wanted, unit);
    if (!conversion) {
      test::must(!conversion.error().code.empty() && !conversion.error().what.empty(), "a refusal says something");
      continue;
    }
    test::must(is_sound(conversion->factor, conversion->offset), "a conversion is a finite factor and offset");
  }
  if (const auto there = ingest::convert_units(unit, "K"))
    test::must(is_sound(there->factor, there->offset), "a conversion is a finite factor and offset");
  (void)ingest::convert_units("m", unit);
  (void)ingest::is_ucum_unit(unit);
  if (const auto there = ingest::convert_ucum(unit, "Cel"))
    test::must(is_sound(there->factor, there->offset), "a conversion is a finite factor and offset");
  (void)ingest::convert_ucum("mm", unit);
  return 0;
}
