#include "service/engine/set_aside.h"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "ingest/feed.h"

namespace hakea::service {
namespace {

namespace fs = std::filesystem;

// "20270329T120000Z.name"; sorts by time.
std::string name_aside(const fs::path& from, UtcTime now) {
  return fmt::format("{:%Y%m%dT%H%M%SZ}.{}", now, from.filename().string());
}

bool is_ours(const std::string& name) {
  constexpr std::string_view kForm =
      "dddddddd"
      "T"
      "dddddd"
      "Z.";
  return name.size() > kForm.size() && std::equal(kForm.begin(), kForm.end(), name.begin(), [](char form, char c) {
           return form == 'd' ? c >= '0' && c <= '9' : c == form;
         });
}

// Across file systems the copy is whole before the original goes.
std::error_code move_file(const fs::path& from, const fs::path& to) {
  std::error_code failed;
  fs::rename(from, to, failed);
  if (failed != std::errc::cross_device_link) return failed;
  fs::copy_file(from, to, fs::copy_options::overwrite_existing, failed);
  std::error_code ignored;
  if (failed)
    fs::remove(to, ignored);
  else
    fs::remove(from, failed);
  return failed;
}

}  // namespace

SetAside set_aside(const ingest::Feed& feed, const std::vector<std::string>& refused, UtcTime now) {
  SetAside result;
  if (feed.set_aside.empty() || feed.keep <= 0 || refused.empty()) return result;
  const fs::path folder(feed.set_aside);
  std::error_code failed;
  fs::create_directories(folder, failed);
  for (const std::string& from : refused) {
    const fs::path to = folder / name_aside(from, now);
    const std::error_code kept = failed ? failed : move_file(from, to);
    if (kept)
      result.trouble = fmt::format("{} cannot be moved to {}: {}; check the permissions of both folders", from, feed.set_aside,
                                   kept.message());
    else
      result.moved.emplace_back(from, to.string());
  }
  if (failed) return result;
  std::vector<std::string> names;
  for (fs::directory_iterator entry(folder, failed), end; !failed && entry != end; entry.increment(failed))
    if (is_ours(entry->path().filename().string())) names.push_back(entry->path().filename().string());
  std::sort(names.rbegin(), names.rend());
  for (std::size_t i = static_cast<std::size_t>(feed.keep); i < names.size(); ++i) fs::remove(folder / names[i], failed);
  if (failed && result.trouble.empty())
    result.trouble = fmt::format("the folder {} cannot be tidied: {}", feed.set_aside, failed.message());
  return result;
}

}  // namespace hakea::service
