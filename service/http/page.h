// The page: files bundled at build time from service/web, kept in the program and sent as they are.
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "service/http/message.h"

namespace hakea::service {

struct PageFile {
  std::string_view path;  // "/" for the page itself; the others' names hold the hash of their content
  std::string_view type;
  std::string_view bytes, packed;  // packed: the same by gzip
};

// Made at build time.
std::span<const PageFile> page_files();

bool is_page(std::string_view path);  // whether one of them stands there
// The answer to GET or HEAD of a file of the page; nothing for any other request. Anybody may have it: it holds no data.
std::optional<Response> page_answer(const Request& request);

}  // namespace hakea::service
