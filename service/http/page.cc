#include "service/http/page.h"

#include <map>
#include <memory>

#include "service/base/content_hash.h"
#include "service/http/compression.h"
#include "service/http/conditional.h"

namespace hakea::service {
namespace {

// Nothing from another place, no script or style but the files' own, in nobody's frame. Pictures may be written into the style.
constexpr std::string_view kContentPolicy =
    "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

// Each content once, to be sent from where it is.
struct Sent {
  std::shared_ptr<const std::string> bytes, packed;
  std::string tag;  // of the plain bytes, in quotes
};

const std::map<std::string_view, Sent>& sent_files() {
  static const std::map<std::string_view, Sent> kSent = [] {
    std::map<std::string_view, Sent> files;
    for (const PageFile& file : page_files())
      files.emplace(file.path,
                    Sent{std::make_shared<const std::string>(file.bytes), std::make_shared<const std::string>(file.packed),
                         '"' + content_hash(file.bytes).substr(0, 16) + '"'});
    return files;
  }();
  return kSent;
}

}  // namespace

bool is_page(std::string_view path) { return sent_files().contains(path); }

std::optional<Response> page_answer(const Request& request) {
  if (request.method != "GET" && request.method != "HEAD") return std::nullopt;
  for (const PageFile& file : page_files()) {
    if (file.path != request.path) continue;
    const Sent& sent = sent_files().at(file.path);
    const bool is_packed = takes_gzip(request.header("accept-encoding"));
    const std::string tag = is_packed ? compressed_tag(sent.tag) : sent.tag;
    Response answer;
    answer.content_type = file.type;
    answer.headers = {{"ETag", tag},
                      // A file whose name holds its hash never changes; the page that names it is asked for each time.
                      {"Cache-Control", file.path.starts_with("/assets/") ? "public, max-age=31536000, immutable" : "no-cache"},
                      {"Content-Security-Policy", std::string(kContentPolicy)},
                      {"Referrer-Policy", "same-origin"}};
    if (names_tag(request.header("if-none-match"), tag)) {
      answer.status = 304;
      return answer;
    }
    if (is_packed) answer.headers.emplace_back("Content-Encoding", "gzip");
    answer.kept = is_packed ? sent.packed : sent.bytes;
    return answer;
  }
  return std::nullopt;
}

}  // namespace hakea::service
