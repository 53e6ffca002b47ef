// Copies of a database that are known to be whole, and the lock that keeps two programs from one folder.
#pragma once

#include <string>
#include <utility>

#include "core/base/result.h"
#include "core/base/time.h"
#include "service/store/schema.h"

namespace hakea::service {

inline constexpr const char* kStateFile = "state.db";
inline constexpr const char* kSeriesFile = "series.db";

// Held as long as it lives, by this process alone; gone with the process however it ends.
class FolderLock {
 public:
  static Result<FolderLock> take(const std::string& folder);  // Errors: `in_use`, `store_failed`
  FolderLock(FolderLock&& other) noexcept : descriptor_(std::exchange(other.descriptor_, -1)) {}
  FolderLock& operator=(FolderLock&&) = delete;
  ~FolderLock();

 private:
  explicit FolderLock(int descriptor) : descriptor_(descriptor) {}
  int descriptor_;
};

// Makes the folder and those above it. Error: `store_failed`.
Result<bool> make_folder(const std::string& folder);
// So that a file made or renamed in it is there after a power cut.
Result<bool> sync_folder(const std::string& folder);

// Is it a whole database of this service? Errors: `damaged_database`, `newer_database`.
Result<bool> check_whole(const std::string& path, Migrations migrations);

// A checked copy; `to` appears whole or not at all. The source may be in use.
Result<bool> copy_checked(const std::string& from, const std::string& to, Migrations migrations);

// "20270402T010500Z", for names of files.
std::string stamp(UtcTime t);

}  // namespace hakea::service
