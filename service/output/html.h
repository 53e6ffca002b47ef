// Text inside HTML.
#pragma once

#include <string>
#include <string_view>

namespace hakea::service {

// Text as HTML shows it, in elements and in quoted attributes.
inline std::string html(std::string_view text) {
  std::string escaped;
  escaped.reserve(text.size());
  for (const char c : text) switch (c) {
      case '&': escaped += "&amp;"; break;
      case '<': escaped += "&lt;"; break;
      case '>': escaped += "&gt;"; break;
      case '"': escaped += "&quot;"; break;
      case '\'': escaped += "&#39;"; break;
      default: escaped += c;
    }
  return escaped;
}

}  // namespace hakea::service
