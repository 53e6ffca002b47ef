// The day sheets of the demo as they are printed: every unit's every day on one page of A4.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "service/input/json.h"
#include "tests/support/daemon.h"
#include "tests/support/json_answer.h"
#include "tests/support/program_run.h"

namespace hakea::test {
namespace {

namespace json = service::json;

bool is_there(const char* program) { return std::system(fmt::format("command -v {} >/dev/null", program).c_str()) == 0; }

class SheetPages : public ::testing::Test {
 protected:
  void SetUp() override {
    for (const char* program : {"chromium", "pdfinfo", "pdftotext"})
      if (!is_there(program)) GTEST_SKIP() << program << " is not installed (deploy/packages.txt has it)";
  }

  // What a browser prints of a page: the PDF's facts, and the text of each of its pages.
  struct Print {
    std::string facts;
    std::vector<std::string> pages;
  };
  Print print(const std::string& page) {
    const auto html = folder_.write("page.html", page).string(), pdf = (folder_.path() / "page.pdf").string();
    const Outcome printed =
        run_program("chromium",
                    "--headless --no-sandbox --disable-gpu --user-data-dir='" + (folder_.path() / "profile").string() +
                        "' --no-pdf-header-footer --print-to-pdf='" + pdf + "' 'file://" + html + "'",
                    folder_);
    EXPECT_EQ(printed.code, 0) << printed.err;
    Print print{run_program("pdfinfo", "'" + pdf + "'", folder_).out, {}};
    std::istringstream text(run_program("pdftotext", "-layout '" + pdf + "' -", folder_).out);
    for (std::string one; std::getline(text, one, '\f');) print.pages.push_back(one);
    return print;
  }

  TempDir folder_;
};

TEST_F(SheetPages, OneForEveryUnitAndDayOfTheDemo) {
  Daemon demo(HAKEA_PROGRAM, {"demo", "--data", (folder_.path() / "data").string(), "--port", "0"});
  struct Sheet {
    std::string name, date;
  };
  std::vector<Sheet> sheets;
  std::string all, last;
  const json::value units = document(demo.get("/units"));
  for (const json::value& unit : units.at("features").as_array()) {
    const std::string path = "/units/" + text(unit.at("id"));
    const json::value days = document(demo.get(path + "/days"));
    for (const json::value& day : days.at("days").as_array()) {
      const RawAnswer answer = demo.get(path + "/sheet?date=" + text(day.at("date")));
      ASSERT_EQ(answer.status, 200) << path << answer.body;
      last = answer.body;
      const std::size_t begin = last.find("<main>"), end = last.find("</main>") + 7, date = last.find("<header>");
      ASSERT_NE(begin, std::string::npos);
      const std::size_t strong = last.find("<strong>", date) + 8;
      sheets.push_back({text(unit.at("properties").at("name")), last.substr(strong, last.find("</strong>", strong) - strong)});
      all += last.substr(begin, end - begin);
    }
  }
  EXPECT_EQ(sheets.size(), 160U) << "16 units, ten days";

  // One by itself, as people print it.
  const Print single = print(last);
  EXPECT_EQ(single.pages.size(), 1U);
  EXPECT_NE(single.facts.find("(A4)"), std::string::npos) << single.facts;

  // All in one document, which takes the browser as long as a few: a sheet that needs a second page shifts those after it.
  const std::size_t style_end = last.find("</style>");
  const Print printed = print(last.substr(0, style_end) + "main{break-after:page}main:last-child{break-after:auto}" +
                              last.substr(style_end, last.find("<main>") - style_end) + all + "</body></html>");
  ASSERT_EQ(printed.pages.size(), sheets.size());
  for (std::size_t i = 0; i < sheets.size(); ++i) {
    EXPECT_NE(printed.pages[i].find(sheets[i].name), std::string::npos) << "page " << i + 1;
    EXPECT_NE(printed.pages[i].find(sheets[i].date), std::string::npos) << "page " << i + 1;
    EXPECT_NE(printed.pages[i].find("Crew leader"), std::string::npos) << "page " << i + 1 << " ends with the signatures";
  }
}

}  // namespace
}  // namespace hakea::test
