// SHA-256 of bytes and of files, in hexadecimal: what is the same content, and what stands for a secret.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace hakea::service {

std::string content_hash(std::string_view bytes);
std::string content_hash_base64(std::string_view bytes);  // the same in base64, as a Content-Security-Policy names content
// Nothing when the file cannot be read to its end.
std::optional<std::string> content_hash_of_file(const std::string& path);

}  // namespace hakea::service
