#include "ingest/arrival/child.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <malloc.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <utility>

#include "ingest/format/scratch_file.h"

extern char** environ;

namespace hakea::ingest {
namespace {

constexpr int kRequest = 0, kAnswers = 3;  // descriptors in the child
constexpr int kPipeBytes = 1 << 20;
constexpr std::uint64_t kLongestMessage = std::uint64_t{256} << 20;

struct Head {
  std::uint32_t kind = 0, check = 0x48414b45;
  std::uint64_t bytes = 0;
};

}  // namespace

Result<Child> Child::start(const std::string& command, const std::string& request) {
  const auto failed = [](const char* what) {
    return Error{ErrorKind::failed, "no_reader", "reader", fmt::format("{}: {}", what, std::strerror(errno)),
                 "check the limits on processes, descriptors and memory"};
  };
  const int request_file = memfd_create("request", MFD_CLOEXEC);
  if (request_file < 0) return failed("no memory for the request");
  std::array<int, 2> pipe{-1, -1};
  const bool ready = write_all(request_file, request.data(), request.size()) && lseek(request_file, 0, SEEK_SET) == 0 &&
                     pipe2(pipe.data(), O_CLOEXEC) == 0;
  if (!ready) {
    const auto error = failed("the request cannot be handed over");
    close(request_file);
    return error;
  }
  fcntl(pipe[0], F_SETPIPE_SZ, kPipeBytes);  // faster when granted, right without it
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  // lift both above the numbers they are given, lest one overwrite the other
  const int request_from = fcntl(request_file, F_DUPFD_CLOEXEC, 10), answers_from = fcntl(pipe[1], F_DUPFD_CLOEXEC, 10);
  posix_spawn_file_actions_adddup2(&actions, request_from, kRequest);
  posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
  posix_spawn_file_actions_adddup2(&actions, answers_from, kAnswers);
  std::string name = "hakea", argument = command;
  std::array<char*, 3> arguments{name.data(), argument.data(), nullptr};
  pid_t process = -1;
  const int status = posix_spawn(&process, "/proc/self/exe", &actions, nullptr, arguments.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  for (const int descriptor : {request_file, pipe[1], request_from, answers_from}) close(descriptor);
  if (status != 0) {
    close(pipe[0]);
    errno = status;
    return failed("the child process cannot be started");
  }
  return Child(process, pipe[0]);
}

Child::Child(Child&& other) noexcept
    : process_(std::exchange(other.process_, -1)),
      pipe_(std::exchange(other.pipe_, -1)),
      buffer_(std::move(other.buffer_)),
      trouble_(std::move(other.trouble_)) {}

Child::~Child() { end(); }

bool Child::read(void* to, std::size_t bytes, int seconds) {
  char* at = static_cast<char*>(to);
  while (bytes > 0) {
    pollfd wait{pipe_, POLLIN, 0};
    const int ready = poll(&wait, 1, seconds * 1000);
    if (ready < 0 && errno == EINTR) continue;
    if (ready == 0) trouble_ = fmt::format("gave no sign of life for {} s", seconds);
    if (ready <= 0) return false;
    const auto got = ::read(pipe_, at, bytes);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return false;
    at += got;
    bytes -= static_cast<std::size_t>(got);
  }
  return true;
}

std::optional<Message> Child::next(int seconds) {
  Head head;
  if (!trouble_.empty() || !read(&head, sizeof head, seconds)) return std::nullopt;
  if (head.check != Head{}.check || head.bytes > kLongestMessage) {
    trouble_ = "sent what makes no sense";
    return std::nullopt;
  }
  const auto size = static_cast<std::size_t>(head.bytes);
  if (buffer_.size() < size) {
    buffer_ = {};  // before the larger one is taken
    buffer_ = Unset<char>(size);
  }
  if (!read(buffer_.data(), size, seconds)) return std::nullopt;
  return Message{head.kind, {buffer_.data(), size}};
}

std::string Child::end() {
  if (process_ < 0) return trouble_;
  close(pipe_);
  if (!trouble_.empty()) kill(process_, SIGKILL);
  int status = 0;
  // With its pipe closed the child ends by itself at its next message; it is not waited for longer than a moment.
  bool ended = false;
  for (int tries = 0; tries < 20 && !ended; ++tries) {
    ended = waitpid(process_, &status, WNOHANG) == process_;
    if (!ended) usleep(1000);
  }
  if (!ended) {
    kill(process_, SIGKILL);
    while (waitpid(process_, &status, 0) < 0 && errno == EINTR) {
    }
  }
  process_ = -1;
  if (!trouble_.empty()) return trouble_;
  if (WIFSIGNALED(status)) {
    trouble_ =
        WTERMSIG(status) == SIGXCPU ? "used up its processor time" : fmt::format("crashed ({})", strsignal(WTERMSIG(status)));
  } else {
    trouble_ = WEXITSTATUS(status) == 0 ? "ended early" : fmt::format("ended with status {}", WEXITSTATUS(status));
  }
  return trouble_;
}

std::string receive_request() {
  std::string request;
  std::array<char, 65536> buffer{};
  while (true) {
    const auto got = ::read(kRequest, buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return request;
    request.append(buffer.data(), static_cast<std::size_t>(got));
  }
}

void bound_myself(const ChildLimits& limits) {
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  signal(SIGPIPE, SIG_DFL);
  // Chunks of some hundred kB come and go by the thousand. Their memory is kept for the next ones; as it comes, each would be
  // given back to the system, fetched again and cleared again.
  mallopt(M_MMAP_THRESHOLD, 16 << 20);
  mallopt(M_TRIM_THRESHOLD, 32 << 20);
  // HDF5 locks the files it reads, which fails on folders that this user may not write
  setenv("HDF5_USE_FILE_LOCKING", "BEST_EFFORT", 1);
  const auto limit = [](auto resource, rlim_t soft, rlim_t hard) {
    const rlimit both{soft, hard};
    setrlimit(resource, &both);
  };
  limit(RLIMIT_CORE, 0, 0);
  const auto cpu = static_cast<rlim_t>(limits.cpu_seconds);
  limit(RLIMIT_CPU, cpu, cpu + 5);
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
  const auto memory = static_cast<rlim_t>(limits.memory_mb) << 20;
  limit(RLIMIT_AS, memory, memory);
#endif
}

void send(std::uint32_t kind, std::string_view bytes, std::span<const float> values) {
  Head head;
  head.kind = kind;
  head.bytes = bytes.size() + values.size_bytes();
  std::string start(sizeof head, '\0');
  std::memcpy(start.data(), &head, sizeof head);
  start += bytes;
  // the parent has gone or has lost patience: there is nobody to tell
  if (!write_all(kAnswers, start.data(), start.size()) || !write_all(kAnswers, values.data(), values.size_bytes())) _exit(3);
}

}  // namespace hakea::ingest
