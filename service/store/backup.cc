#include "service/store/backup.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>

#include "service/output/time_text.h"
#include "service/store/store.h"

namespace hakea::service {
namespace {

namespace fs = std::filesystem;

Error io_error(const std::string& where, std::string_view doing, int number) {
  return {ErrorKind::failed, number == ENOSPC ? "disk_full" : "store_failed", where,
          fmt::format("{} failed: {}", doing, std::strerror(number)),
          number == ENOSPC ? "free some space on this disk" : "look at the disk, and at who may write there"};
}

Result<bool> sync(const std::string& path, int flags) {
  const int descriptor = ::open(path.c_str(), flags | O_CLOEXEC);
  if (descriptor < 0) return io_error(path, "opening it to bring it to the disk", errno);
  const int failed = fsync(descriptor) == 0 ? 0 : errno;
  close(descriptor);
  if (failed != 0) return io_error(path, "bringing it to the disk", failed);
  return true;
}

Result<bool> rename_synced(const fs::path& from, const fs::path& to) {
  if (auto synced = sync(from, O_RDONLY); !synced) return synced;
  if (std::rename(from.c_str(), to.c_str()) != 0) return io_error(to, "giving it its name", errno);
  return sync_folder(to.parent_path());
}

void remove_quietly(const fs::path& path) {
  std::error_code ignored;
  fs::remove(path, ignored);
}

// The old database keeps its content under another name until the new one has taken its name.
Result<bool> keep_beside(const fs::path& state, const std::string& kept) {
  if (!fs::exists(state)) return true;
  if (auto old = Database::open(state, Database::Use::write))
    (void)old->run_script("PRAGMA wal_checkpoint(TRUNCATE)");  // its log goes into it, if it is whole
  const fs::path log = state.string() + "-wal";
  std::error_code failed;
  fs::create_hard_link(state, kept, failed);
  if (!failed && fs::exists(log)) fs::rename(log, kept + "-wal", failed);
  if (failed) return io_error(kept, "keeping the old database", failed.value());
  return sync_folder(state.parent_path());
}

}  // namespace

Result<FolderLock> FolderLock::take(const std::string& folder) {
  const std::string path = folder + "/lock";
  const int descriptor = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (descriptor < 0) return io_error(path, "opening the lock", errno);
  if (flock(descriptor, LOCK_EX | LOCK_NB) != 0) {
    const int number = errno;
    char holder[32] = {};
    const ssize_t read_bytes = read(descriptor, holder, sizeof holder - 1);
    close(descriptor);
    if (number != EWOULDBLOCK) return io_error(path, "locking the folder", number);
    return Error{ErrorKind::failed, "in_use", folder,
                 fmt::format("process {} works with this folder", read_bytes > 0 ? holder : "of an unknown number"),
                 "end it first, or name another folder"};
  }
  // Only so that who is refused can be told.
  const std::string self = std::to_string(getpid());
  if (ftruncate(descriptor, 0) == 0) (void)!pwrite(descriptor, self.data(), self.size(), 0);
  return FolderLock(descriptor);
}

FolderLock::~FolderLock() {
  if (descriptor_ >= 0) close(descriptor_);
}

Result<bool> make_folder(const std::string& folder) {
  std::error_code failed;
  fs::create_directories(folder, failed);
  if (failed) return io_error(folder, "making the folder", failed.value());
  return true;
}

Result<bool> sync_folder(const std::string& folder) { return sync(folder.empty() ? "." : folder, O_RDONLY | O_DIRECTORY); }

Result<bool> check_whole(const std::string& path, Migrations migrations) {
  auto database = Database::open(path, Database::Use::inspect);
  if (!database) return database.errors();
  const auto version = version_of(*database, migrations);
  if (!version) return version.errors();
  const auto findings = database->rows("PRAGMA integrity_check(5)", {}, [](const Row& row) { return row.text(0); });
  if (!findings) return findings.errors();
  if (*version == 0 || *findings != std::vector<std::string>{"ok"})
    return Error{ErrorKind::unreadable, "damaged_database", path,
                 *version == 0 ? "the database is empty" : "the database is damaged: " + findings->front(),
                 "take another backup"};
  return true;
}

Result<bool> copy_checked(const std::string& from, const std::string& to, Migrations migrations) {
  if (fs::exists(to)) return Error{ErrorKind::invalid, "exists", to, "there is a file of this name already", "name another"};
  const std::string part = to + ".part";
  remove_quietly(part);
  const Result<bool> made = [&]() -> Result<bool> {
    auto source = Database::open(from, Database::Use::read);
    if (!source) return source.errors();
    if (auto copied = source->run("VACUUM INTO ?", {part}); !copied) return copied;
    return check_whole(part, migrations);
  }();
  if (!made) {
    remove_quietly(part);
    return made;
  }
  return rename_synced(part, to);
}

std::string stamp(UtcTime t) {
  std::string text = utc_text(t);
  std::erase_if(text, [](char c) { return c == '-' || c == ':'; });
  return text;
}

Result<bool> back_up(const std::string& folder, const std::string& path) {
  const std::string state = folder + '/' + kStateFile;
  if (!fs::exists(state))
    return Error{ErrorKind::not_found, "not_found", state, "there is no such database", "name the data folder"};
  return copy_checked(state, path, state_migrations());
}

Result<bool> restore_backup(const std::string& backup, const std::string& folder, UtcTime now) {
  if (!fs::exists(backup))
    return Error{ErrorKind::not_found, "not_found", backup, "there is no such backup", "name a file that exists"};
  if (auto made = make_folder(folder); !made) return made;
  auto lock = FolderLock::take(folder);
  if (!lock) return lock.errors();
  // The copy is checked, not the backup: it is the copy that will be used.
  const fs::path state = fs::path(folder) / kStateFile;
  const std::string part = state.string() + ".part";
  std::error_code failed;
  fs::copy_file(backup, part, fs::copy_options::overwrite_existing, failed);
  if (failed) return io_error(part, "copying the backup", failed.value());
  auto ready = check_whole(part, state_migrations());
  if (ready) ready = keep_beside(state, fmt::format("{}.before-restore-{}", state.string(), stamp(now)));
  if (!ready) {
    remove_quietly(part);
    return ready;
  }
  return rename_synced(part, state);
}

}  // namespace hakea::service
