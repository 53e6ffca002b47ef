// Runs a fuzz target: first all that is kept, then so many damaged copies of it. Inputs that reach code which none before
// reached are damaged further (where the target is built with -fsanitize-coverage=trace-pc, as tests/CMakeLists.txt does). The
// same call does the same.
//
//   fuzz_<what> [--rounds N] [--seed S] [--keep FOLDER] CORPUS…
//
// CORPUS: files, or folders of them; of a .txt file each line is an input, with \n, \\ and \xHH for what a line cannot hold.
// --keep writes inputs that reached something new into a folder. An input that ends the program is left in crash.bin.
#include <fcntl.h>
#include <signal.h>
#include <unistd.h>

#include <array>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <optional>
#include <sstream>
#include <string>
#include <vector>

#include "tests/fuzz/damage.h"
#include "tests/fuzz/fuzz.h"

namespace {

namespace fs = std::filesystem;

constexpr std::size_t kLongest = 64 * 1024;  // of an input

std::array<unsigned char, 1 << 16> reached;  // by place in the code, since the input at hand began
std::array<unsigned char, 1 << 16> known;

}  // namespace

// Called by the instrumented code at every branch.
extern "C" __attribute__((no_sanitize_coverage)) void __sanitizer_cov_trace_pc() {  // NOLINT: the compiler's name
  const auto here = reinterpret_cast<std::uintptr_t>(__builtin_return_address(0));
  const auto from = reinterpret_cast<std::uintptr_t>(&__sanitizer_cov_trace_pc);  // whatever address the program got
  const std::uintptr_t place = (here - from) * 0x9E3779B97F4A7C15U >> 48;
  if (reached[place] < 255) ++reached[place];
}

namespace {

// What is tried at the moment, for the handler of signals.
const char* at_hand = nullptr;
std::size_t at_hand_size = 0;

void leave_input(int signal) {
  const int file = ::open("crash.bin", O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0644);
  if (file >= 0 && ::write(file, at_hand, at_hand_size) >= 0) ::close(file);
  constexpr std::string_view kTold = "the input is in crash.bin; keep it in the corpus once what it shows is mended\n";
  (void)!::write(STDERR_FILENO, kTold.data(), kTold.size());
  ::signal(signal, SIG_DFL);
  ::raise(signal);
}

// Whether it reached something new: a place, or one that often.
bool run(const std::string& input) {
  at_hand = input.data();
  at_hand_size = input.size();
  reached.fill(0);
  LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(input.data()), input.size());
  bool is_new = false;
  for (std::size_t i = 0; i < reached.size(); ++i) {
    if (reached[i] == 0) continue;
    // 1, 2, 3, 4-7, 8-15, … times
    const unsigned count = reached[i] < 4 ? reached[i] : 1U + static_cast<unsigned>(32 - __builtin_clz(reached[i]));
    const auto bit = static_cast<unsigned char>(1U << (count < 8 ? count : 7U));
    is_new = is_new || !(known[i] & bit);
    known[i] = static_cast<unsigned char>(known[i] | bit);
  }
  return is_new;
}

std::string bytes_of(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream bytes;
  bytes << in.rdbuf();
  return bytes.str();
}

std::string unescaped(std::string_view line) {
  std::string text;
  for (std::size_t i = 0; i < line.size(); ++i) {
    if (line[i] != '\\' || i + 1 == line.size()) {
      text += line[i];
    } else if (line[i + 1] == 'x' && i + 3 < line.size()) {
      text += static_cast<char>(std::stoi(std::string(line.substr(i + 2, 2)), nullptr, 16));
      i += 3;
    } else {
      text += line[++i] == 'n' ? '\n' : line[i];
    }
  }
  return text;
}

void collect(const fs::path& path, std::vector<std::string>& inputs) {
  if (fs::is_directory(path)) {
    std::vector<fs::path> files;
    for (const auto& entry : fs::directory_iterator(path)) files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    for (const fs::path& file : files) collect(file, inputs);
    return;
  }
  const std::string bytes = bytes_of(path);
  if (path.extension() != ".txt") {
    inputs.push_back(bytes);
    return;
  }
  std::istringstream lines(bytes);
  for (std::string line; std::getline(lines, line);) inputs.push_back(unescaped(line));
}

}  // namespace

int main(int argc, char** argv) {
  std::size_t rounds = 0;
  std::string seed = "1", keep;
  std::vector<std::string> inputs;
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    const bool has_value = i + 1 < argc;
    if (word == "--rounds" && has_value)
      rounds = std::stoul(argv[++i]);
    else if (word == "--seed" && has_value)
      seed = argv[++i];
    else if (word == "--keep" && has_value)
      keep = argv[++i];
    else if (fs::exists(word))
      collect(word, inputs);
    else
      return std::fprintf(stderr, "%s: there is no such file, folder or option\n", word.c_str()), 2;
  }
  if (inputs.empty()) return std::fprintf(stderr, "name a corpus\n"), 2;
  for (const int signal : {SIGSEGV, SIGABRT, SIGFPE, SIGILL, SIGBUS}) ::signal(signal, leave_input);
  for (const std::string& input : inputs) run(input);
  const std::size_t kept = inputs.size();
  hakea::test::Damage damage(seed);
  for (std::size_t round = 0; round < rounds; ++round) {
    std::string input = damage.of(inputs[damage.below(inputs.size())]);
    // Now and then the beginning of one and the end of another.
    if (damage.below(8) == 0) {
      const std::string& other = inputs[damage.below(inputs.size())];
      input.resize(damage.below(input.size() + 1));
      input += other.substr(damage.below(other.size() + 1));
    }
    if (input.size() > kLongest || !run(input)) continue;
    if (!keep.empty()) std::ofstream(fs::path(keep) / (seed + "-" + std::to_string(round)), std::ios::binary) << input;
    inputs.push_back(std::move(input));
  }
  std::printf("%zu kept, %zu damaged, %zu of those reached something new\n", kept, rounds, inputs.size() - kept);
}
