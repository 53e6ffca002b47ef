// Calls the built program as a user does.
#pragma once

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <string>

#include "service/input/json.h"
#include "tests/support/program_run.h"
#include "tests/support/temp_dir.h"

namespace hakea::service {

using test::Outcome;

class Program : public ::testing::Test {
 protected:
  std::string write(const std::string& name, const std::string& text) {
    const std::string path = (folder_.path() / name).string();
    std::ofstream(path) << text;
    return path;
  }
  Outcome run(const std::string& words) { return test::run_program(HAKEA_PROGRAM, words, folder_); }
  static std::size_t lines(const std::string& text) {
    return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
  }

  static std::string unit(const std::string& limits) {
    return R"({"type":"Feature","id":"a","geometry":{"type":"Point","coordinates":[152,-37]},"properties":{"time_zone":"Australia/Sydney","prescription":{"duration_h":2,"limits":[)" +
           limits + "]}}}";
  }
  static std::string humidity(const std::string& acceptable) {
    return R"({"quantity":"relative_humidity","scope":"each_hour","kind":"hard","acceptable":)" + acceptable + "}";
  }
  static std::string weather() {
    std::string text = "time_utc,air_temperature [Cel],relative_humidity [%]\n";
    for (int h = 0; h < 24; ++h) text += fmt::format("2027-04-01T{:02}:00:00Z,20.1,{}\n", h, h < 6 ? 50 : 90);
    return text;
  }

  test::TempDir folder_;
};

}  // namespace hakea::service
