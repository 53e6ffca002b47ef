#include "core/alert/facts.h"

#include <algorithm>
#include <cstdint>

namespace hakea::core {
namespace {

// FNV-1a (Fowler, Noll and Vo; RFC 9923), with a word that tells several hashes of one text apart.
std::uint64_t hash_of(const std::string& text, std::uint64_t salt) {
  std::uint64_t hash = 14695981039346656037ULL;
  const auto take = [&](unsigned char byte) { hash = (hash ^ byte) * 1099511628211ULL; };
  for (int shift = 0; shift < 64; shift += 8) take(static_cast<unsigned char>(salt >> shift));
  for (const char c : text) take(static_cast<unsigned char>(c));
  // The last letters of a text would hardly reach the high bits.
  hash ^= hash >> 33;
  hash *= 0xff51afd7ed558ccdULL;
  return hash ^ (hash >> 33);
}

void append_base32(std::string& text, std::uint64_t value, int letters) {
  constexpr const char* kLetters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
  for (int i = letters - 1; i >= 0; --i) text += kLetters[(value >> (5 * i)) & 31];
}

}  // namespace

const UnitFacts* AlertFacts::unit(const std::string& id) const {
  const auto found =
      std::lower_bound(units.begin(), units.end(), id, [](const UnitFacts& u, const std::string& i) { return u.id < i; });
  return found == units.end() || found->id != id ? nullptr : &*found;
}

const DayFacts* AlertFacts::day(const std::string& id, LocalDate date) const {
  const UnitFacts* of = unit(id);
  if (!of) return nullptr;
  const auto found = std::find_if(of->days.begin(), of->days.end(), [&](const DayFacts& day) { return day.date == date; });
  return found == of->days.end() ? nullptr : &*found;
}

std::string event_id(UtcTime at, const std::string& key) {
  std::string id;
  append_base32(id, static_cast<std::uint64_t>(at.time_since_epoch().count()) * 1000, 10);
  append_base32(id, hash_of(key, 1), 8);
  append_base32(id, hash_of(key, 2), 8);
  return id;
}

double share_of(const std::string& text) { return static_cast<double>(hash_of(text, 3) >> 11) * 0x1.0p-53; }

}  // namespace hakea::core
