// What a long call shows on a terminal, and that it shows nothing elsewhere.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <stdlib.h>  // posix_openpt and its kin
#include <unistd.h>

#include <array>
#include <thread>

#include "tests/service/program.h"
#include "tests/support/file_bytes.h"
#include "tests/support/small_forecast.h"

namespace hakea::service {
namespace {

// A terminal that keeps what is written to it.
class Terminal {
 public:
  Terminal() : master_(::posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC)) {
    if (master_ < 0 || ::grantpt(master_) != 0 || ::unlockpt(master_) != 0) return;
    name_ = ::ptsname(master_);
    slave_ = ::open(name_.c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC);
    reader_ = std::jthread([this] {
      std::array<char, 4096> bytes{};
      for (ssize_t got = 0; (got = ::read(master_, bytes.data(), bytes.size())) > 0;)
        text_.append(bytes.data(), static_cast<std::size_t>(got));
    });
  }
  ~Terminal() {
    if (master_ >= 0) ::close(master_);
  }
  Terminal(const Terminal&) = delete;
  Terminal& operator=(const Terminal&) = delete;

  const std::string& name() const { return name_; }
  // All that was written, once nobody writes any more.
  const std::string& text() {
    ::close(slave_);
    reader_.join();
    return text_;
  }

 private:
  int master_ = -1, slave_ = -1;
  std::string name_, text_;
  std::jthread reader_;
};

class OnATerminal : public Program {
 protected:
  std::string call() {
    test::SmallForecast forecast;
    for (int hour = 3; hour < 24; ++hour) forecast.hours.push_back(hour);
    forecast.fields = {{.name = "t", .standard_name = "air_temperature", .units = "degC", .values = {15}}};
    forecast.latitudes = {-38, -36};
    forecast.longitudes = {151, 153};
    const std::string file = test::write_forecast((folder_.path() / "run.nc").string(), forecast);
    return fmt::format(
        "assess --units '{}' --feed '{}' --format json",
        write("units.json", unit(R"({"quantity":"air_temperature","scope":"each_hour","kind":"hard","acceptable":{"max":20}})")),
        file);
  }
};

TEST_F(OnATerminal, AssessSaysHowFarItIsAndWhatItTook) {
  Terminal terminal;
  if (terminal.name().empty()) GTEST_SKIP() << "there are no terminals here";
  const auto out = folder_.path() / "out";
  const int status =
      std::system(fmt::format("'{}' {} >'{}' 2>'{}'", HAKEA_PROGRAM, call(), out.string(), terminal.name()).c_str());
  EXPECT_EQ(status, 0);
  const std::string shown = terminal.text();
  EXPECT_NE(shown.find("\r\x1b[Kreading feed.2027-03-30T00:00:00Z  100 %"), std::string::npos) << shown;
  EXPECT_NE(shown.find("judging  100 %"), std::string::npos) << shown;
  const std::string left = shown.substr(shown.rfind("\x1b[K") + 3);
  EXPECT_TRUE(left.starts_with("feed.2027-03-30T00:00:00Z read in ")) << left;
  EXPECT_NE(left.find(" s, 1 unit judged in "), std::string::npos) << left;
  EXPECT_TRUE(parse_json(test::file_bytes(out), "out"));
}

TEST_F(OnATerminal, ElsewhereNothingIsSaid) {
  const Outcome o = run(call());
  EXPECT_EQ(o.code, 0);
  EXPECT_EQ(o.err, "");
}

}  // namespace
}  // namespace hakea::service
