#include "tests/support/faulty_disk.h"

#include <fcntl.h>
#include <sqlite3.h>
#include <unistd.h>

#include <algorithm>
#include <stdexcept>

namespace hakea::test {

struct FaultyDisk::State {
  struct Overwritten {
    sqlite3_int64 offset, size_before;
    std::string bytes;
  };

  Fault fault = Fault::none;
  int at = 0, operations = 0;
  bool has_struck = false;
  std::map<std::string, std::vector<Overwritten>> not_synced;  // by path, in order
  sqlite3_vfs* real = nullptr;
  sqlite3_vfs vfs{};

  // Does the next operation fail?
  bool strikes(bool grows) {
    ++operations;
    const bool is_time = fault == Fault::once ? operations == at : fault != Fault::none && operations >= at;
    const bool fails = is_time && (fault != Fault::full || grows);
    has_struck = has_struck || fails;
    return fails;
  }
  bool is_dead() const { return fault == Fault::power && has_struck; }
};

namespace {

struct File {
  sqlite3_file base;
  FaultyDisk::State* disk;
  std::string* path;
  sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
};

File* of(sqlite3_file* file) { return reinterpret_cast<File*>(file); }
const sqlite3_io_methods* methods(sqlite3_file* file) { return of(file)->real()->pMethods; }

sqlite3_int64 size_of(File* file) {
  sqlite3_int64 size = 0;
  file->real()->pMethods->xFileSize(file->real(), &size);
  return size;
}

void remember(File* file, sqlite3_int64 offset, sqlite3_int64 length) {
  if (file->disk->fault != Fault::power) return;
  const sqlite3_int64 size = size_of(file);
  std::string bytes(static_cast<std::size_t>(std::max<sqlite3_int64>(0, std::min(length, size - offset))), '\0');
  if (!bytes.empty()) file->real()->pMethods->xRead(file->real(), bytes.data(), static_cast<int>(bytes.size()), offset);
  file->disk->not_synced[*file->path].push_back({offset, size, std::move(bytes)});
}

int close_file(sqlite3_file* file) {
  const int code = methods(file)->xClose(of(file)->real());
  delete of(file)->path;
  return code;
}
int read_file(sqlite3_file* file, void* to, int length, sqlite3_int64 offset) {
  return methods(file)->xRead(of(file)->real(), to, length, offset);
}
int write_file(sqlite3_file* file, const void* from, int length, sqlite3_int64 offset) {
  FaultyDisk::State& disk = *of(file)->disk;
  if (disk.strikes(offset + length > size_of(of(file)))) return disk.fault == Fault::full ? SQLITE_FULL : SQLITE_IOERR_WRITE;
  remember(of(file), offset, length);
  return methods(file)->xWrite(of(file)->real(), from, length, offset);
}
int truncate_file(sqlite3_file* file, sqlite3_int64 size) {
  if (of(file)->disk->strikes(false)) return SQLITE_IOERR_TRUNCATE;
  remember(of(file), size, size_of(of(file)) - size);
  return methods(file)->xTruncate(of(file)->real(), size);
}
int sync_file(sqlite3_file* file, int) {
  if (of(file)->disk->strikes(false)) return SQLITE_IOERR_FSYNC;
  of(file)->disk->not_synced.erase(*of(file)->path);
  return SQLITE_OK;  // this process goes on, so the real disk need not turn
}
int file_size(sqlite3_file* file, sqlite3_int64* size) { return methods(file)->xFileSize(of(file)->real(), size); }
int lock_file(sqlite3_file* file, int level) { return methods(file)->xLock(of(file)->real(), level); }
int unlock_file(sqlite3_file* file, int level) { return methods(file)->xUnlock(of(file)->real(), level); }
int check_lock(sqlite3_file* file, int* is_held) { return methods(file)->xCheckReservedLock(of(file)->real(), is_held); }
int control(sqlite3_file* file, int what, void* with) { return methods(file)->xFileControl(of(file)->real(), what, with); }
int sector_size(sqlite3_file* file) { return methods(file)->xSectorSize(of(file)->real()); }
int traits(sqlite3_file* file) { return methods(file)->xDeviceCharacteristics(of(file)->real()); }
int shared_map(sqlite3_file* file, int page, int size, int extend, void volatile** at) {
  return methods(file)->xShmMap(of(file)->real(), page, size, extend, at);
}
int shared_lock(sqlite3_file* file, int offset, int n, int flags) {
  return methods(file)->xShmLock(of(file)->real(), offset, n, flags);
}
void shared_barrier(sqlite3_file* file) { methods(file)->xShmBarrier(of(file)->real()); }
int shared_unmap(sqlite3_file* file, int is_deleted) { return methods(file)->xShmUnmap(of(file)->real(), is_deleted); }

const sqlite3_io_methods kMethods = {2,           close_file,     read_file,    write_file, truncate_file, sync_file, file_size,
                                     lock_file,   unlock_file,    check_lock,   control,    sector_size,   traits,    shared_map,
                                     shared_lock, shared_barrier, shared_unmap, nullptr,    nullptr};

FaultyDisk::State& disk_of(sqlite3_vfs* vfs) { return *static_cast<FaultyDisk::State*>(vfs->pAppData); }

int open_file(sqlite3_vfs* vfs, const char* name, sqlite3_file* file, int flags, int* flags_out) {
  FaultyDisk::State& disk = disk_of(vfs);
  auto* made = of(file);
  made->base.pMethods = nullptr;
  const int code = disk.real->xOpen(disk.real, name, made->real(), flags, flags_out);
  if (code != SQLITE_OK) return code;
  made->disk = &disk;
  made->path = new std::string(name ? name : "");
  made->base.pMethods = &kMethods;
  return SQLITE_OK;
}
int delete_file(sqlite3_vfs* vfs, const char* name, int sync_folder) {
  FaultyDisk::State& disk = disk_of(vfs);
  if (disk.is_dead()) return SQLITE_IOERR_DELETE;
  disk.not_synced.erase(name);
  return disk.real->xDelete(disk.real, name, sync_folder);
}

}  // namespace

FaultyDisk::FaultyDisk(Fault fault, int at) : state_(std::make_unique<State>()) {
  state_->fault = fault;
  state_->at = at;
  state_->real = sqlite3_vfs_find("unix");
  if (!state_->real) throw std::runtime_error("SQLite has no file system called unix");
  state_->vfs = *state_->real;
  state_->vfs.zName = "faulty";
  state_->vfs.szOsFile = static_cast<int>(sizeof(File)) + state_->real->szOsFile;
  state_->vfs.pAppData = state_.get();
  state_->vfs.xOpen = open_file;
  state_->vfs.xDelete = delete_file;
  sqlite3_vfs_register(&state_->vfs, 1);
}

FaultyDisk::~FaultyDisk() {
  sqlite3_vfs_unregister(&state_->vfs);
  sqlite3_vfs_register(state_->real, 1);
}

int FaultyDisk::operations() const { return state_->operations; }

bool FaultyDisk::has_struck() const { return state_->has_struck; }

void FaultyDisk::lose_what_was_not_synced() {
  for (auto& [path, overwritten] : state_->not_synced) {
    const int descriptor = ::open(path.c_str(), O_RDWR | O_CLOEXEC);
    if (descriptor < 0) continue;
    for (auto it = overwritten.rbegin(); it != overwritten.rend(); ++it) {
      if (pwrite(descriptor, it->bytes.data(), it->bytes.size(), it->offset) < 0 || ftruncate(descriptor, it->size_before) != 0)
        throw std::runtime_error("cannot put back " + path);
    }
    close(descriptor);
  }
  state_->not_synced.clear();
}

}  // namespace hakea::test
