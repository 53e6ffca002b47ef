// A service that runs as a process of its own: started, spoken to over its socket, ended or killed. Its standard error is
// read as it comes, which is also how the port is found.
#pragma once

#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <condition_variable>
#include <mutex>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include "tests/support/raw_client.h"

extern char** environ;

namespace hakea::test {

class Daemon {
 public:
  enum class Returns { when_it_listens, at_once };

  // Throws with what it said when it ended before it listened.
  Daemon(const std::string& program, std::vector<std::string> words, Returns returns = Returns::when_it_listens) {
    int ends[2];
    if (pipe2(ends, O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, ends[1], STDERR_FILENO);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    words.insert(words.begin(), program);
    std::vector<char*> arguments;
    for (std::string& word : words) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    const int failed = posix_spawn(&process_, program.c_str(), &actions, nullptr, arguments.data(), environ);
    posix_spawn_file_actions_destroy(&actions);
    close(ends[1]);
    if (failed != 0) {
      close(ends[0]);
      throw std::runtime_error("cannot start " + program);
    }
    reader_ = std::thread([this, from = ends[0]] { read_log(from); });
    if (returns == Returns::at_once) return;
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [&] { return port_ > 0 || has_ended_; });
    if (port_ > 0) return;
    const std::string said = log_;
    lock.unlock();
    end(SIGKILL);
    throw std::runtime_error("it ended: " + said);
  }
  ~Daemon() { end(SIGKILL); }
  Daemon(const Daemon&) = delete;
  Daemon& operator=(const Daemon&) = delete;

  int port() const { return port_; }
  pid_t process() const { return process_; }
  std::string log() const {
    const std::lock_guard lock(mutex_);
    return log_;
  }

  // Waits until it has said something so many times; false when it ended or a minute passed without.
  bool has_said(const std::string& words, std::size_t times = 1) {
    const auto count = [&] {
      std::size_t found = 0;
      for (std::size_t at = 0; (at = log_.find(words, at)) != std::string::npos; at += words.size()) ++found;
      return found;
    };
    std::unique_lock lock(mutex_);
    changed_.wait_for(lock, std::chrono::minutes(1), [&] { return has_ended_ || count() >= times; });
    return count() >= times;
  }

  // The path at its listener of health and metrics.
  RawAnswer ask_admin(const std::string& path) const {
    const std::string said = log();
    const std::size_t at = said.find(" port ", said.find("Health and metrics at "));
    if (at == std::string::npos) throw std::runtime_error("it has no listener of health and metrics: " + said);
    RawClient client(std::stoi(said.substr(at + 6)));
    return client.ask("GET " + path + " HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n");
  }

  // Sends a signal and waits for the end: the exit code, or minus the signal that ended it.
  int end(int signal) {
    if (process_ > 0) {
      kill(process_, signal);
      int status = 0;
      waitpid(process_, &status, 0);
      process_ = -1;
      code_ = WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
    }
    if (reader_.joinable()) reader_.join();
    return code_;
  }

  // One request on a connection of its own; status 0 when there was no whole answer.
  RawAnswer ask(const std::string& method, const std::string& path, const std::string& body = {},
                const std::string& headers = {}) const {
    try {
      RawClient client(port_);
      std::string request = method + " /api/v1" + path + " HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n" + headers;
      if (!body.empty()) request += "Content-Type: application/json\r\nContent-Length: " + std::to_string(body.size()) + "\r\n";
      return client.ask(request + "\r\n" + body);
    } catch (const std::runtime_error&) {
      return {};
    }
  }
  RawAnswer get(const std::string& path, const std::string& headers = {}) const { return ask("GET", path, {}, headers); }

 private:
  void read_log(int from) {
    char bytes[4096];
    for (ssize_t n = 0; (n = read(from, bytes, sizeof bytes)) > 0;) {
      const std::lock_guard lock(mutex_);
      log_.append(bytes, static_cast<std::size_t>(n));
      if (const std::size_t at = log_.find("Listening on "); port_ == 0 && at != std::string::npos)
        if (const std::size_t end = log_.find('\n', at); end != std::string::npos) port_ = port_in(log_.substr(at, end - at));
      changed_.notify_all();
    }
    close(from);
    const std::lock_guard lock(mutex_);
    has_ended_ = true;
    changed_.notify_all();
  }

  // "http://127.0.0.1:8080/…" or "127.0.0.1 port 8080".
  static int port_in(const std::string& line) {
    std::size_t at = line.find(" port ");
    at = at != std::string::npos ? at + 6 : line.rfind(':') + 1;
    return std::atoi(line.c_str() + at);
  }

  pid_t process_ = -1;
  int port_ = 0, code_ = 0;
  bool has_ended_ = false;
  std::string log_;
  mutable std::mutex mutex_;
  std::condition_variable changed_;
  std::thread reader_;
};

}  // namespace hakea::test
