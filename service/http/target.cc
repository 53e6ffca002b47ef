#include "service/http/target.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

namespace hakea::service {
namespace {

std::optional<unsigned> hex_digit(char c) {
  if (c >= '0' && c <= '9') return static_cast<unsigned>(c - '0');
  if (c >= 'a' && c <= 'f') return static_cast<unsigned>(c - 'a' + 10);
  if (c >= 'A' && c <= 'F') return static_cast<unsigned>(c - 'A' + 10);
  return std::nullopt;
}

// RFC 3629 section 4. What is none would make the answers and audit rows that name it no JSON.
bool is_utf8(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  for (std::size_t i = 0; i < text.size(); ++i) {
    const unsigned first = byte(i);
    if (first < 0x80) continue;
    const std::size_t more = first >= 0xF0 ? 3 : first >= 0xE0 ? 2 : 1;
    if (first < 0xC2 || first > 0xF4 || i + more >= text.size()) return false;
    const unsigned second = byte(i + 1);
    const bool is_overlong = (first == 0xE0 && second < 0xA0) || (first == 0xF0 && second < 0x90);
    const bool is_no_letter = (first == 0xED && second > 0x9F) || (first == 0xF4 && second > 0x8F);
    if (is_overlong || is_no_letter) return false;
    for (const std::size_t end = i + more; i < end;)
      if ((byte(++i) & 0xC0) != 0x80) return false;
  }
  return true;
}

std::optional<std::string> decoded(std::string_view text, bool plus_is_blank) {
  const auto is_itself = [&](char c) { return c > 0x20 && c < 0x7F && c != '%' && c != '+'; };
  if (std::all_of(text.begin(), text.end(), is_itself)) return std::string(text);
  std::string plain;
  for (std::size_t i = 0; i < text.size(); ++i) {
    char c = text[i];
    if (c == '%') {
      if (i + 2 >= text.size()) return std::nullopt;
      const auto high = hex_digit(text[i + 1]), low = hex_digit(text[i + 2]);
      if (!high || !low) return std::nullopt;
      c = static_cast<char>(*high * 16 + *low);
      i += 2;
    } else if (c == '+' && plus_is_blank) {
      c = ' ';
    }
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) return std::nullopt;
    plain += c;
  }
  if (!is_utf8(plain)) return std::nullopt;
  return plain;
}

// "http://host/path" as a proxy is asked for it: what stands after the host.
std::string_view without_authority(std::string_view target) {
  for (const std::string_view scheme : {"http://", "https://"})
    if (target.starts_with(scheme)) {
      const std::size_t path = target.find_first_of("/?", scheme.size());
      return path == std::string_view::npos ? "/" : target.substr(path);
    }
  return target;
}

}  // namespace

Result<Target> parse_target(std::string_view target) {
  const auto bad = [&](std::string_view why) {
    return Error{ErrorKind::invalid, "bad_target", "", fmt::format("the target of the request {}", why),
                 "write a path such as /api/v1/units, special characters as %20"};
  };
  std::string_view rest = without_authority(target);
  rest = rest.substr(0, rest.find('#'));
  if (!rest.starts_with('/')) return bad("does not begin with /");
  const std::size_t question = rest.find('?');
  Target parsed;
  const auto path = decoded(rest.substr(0, question), false);
  constexpr std::string_view kBroken = "holds a broken escape, a control character, or what is no UTF-8";
  if (!path) return bad(kBroken);
  parsed.path = *path;
  std::string_view query = question == std::string_view::npos ? std::string_view() : rest.substr(question + 1);
  while (!query.empty()) {
    const std::string_view pair = query.substr(0, query.find('&'));
    query.remove_prefix(std::min(pair.size() + 1, query.size()));
    if (pair.empty()) continue;
    const std::size_t equals = pair.find('=');
    const auto name = decoded(pair.substr(0, equals), true);
    const auto value = equals == std::string_view::npos ? std::string() : decoded(pair.substr(equals + 1), true);
    if (!name || !value) return bad(kBroken);
    parsed.query.emplace_back(*name, *value);
  }
  return parsed;
}

std::string encoded(std::string_view plain) {
  constexpr std::string_view kPlain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-._~/,:";
  std::string text;
  for (const char c : plain) {
    if (kPlain.find(c) != std::string_view::npos)
      text += c;
    else
      text += fmt::format("%{:02X}", static_cast<unsigned char>(c));
  }
  return text;
}

}  // namespace hakea::service
