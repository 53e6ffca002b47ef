// The day sheets of the demo as they are printed, every unit's every day on one page of A4; and its digest as a browser shows it.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <fstream>
#include <regex>
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

  // What stands in the document once a browser has run it.
  std::string shown(const std::string& page) {
    const auto html = folder_.write("page.html", page).string();
    return run_program("chromium",
                       "--headless --no-sandbox --disable-gpu --user-data-dir='" + (folder_.path() / "profile").string() +
                           "' --dump-dom 'file://" + html + "'",
                       folder_)
        .out;
  }

  TempDir folder_;
};

// With one blank between words.
std::string one_line(const std::string& text) {
  std::istringstream words(text);
  std::string line;
  for (std::string word; words >> word;) line += (line.empty() ? "" : " ") + word;
  return line;
}

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

TEST_F(SheetPages, TheDigestSaysItsRunsOpenBurnsAndChangesOnPaperAndFitsAPhone) {
  Daemon demo(HAKEA_PROGRAM, {"demo", "--data", (folder_.path() / "data").string(), "--port", "0"});
  ASSERT_EQ(demo.ask("POST", "/bookings", R"({"unit":"windrow-flat","date":"2027-03-31","state":"committed"})").status, 201);
  ASSERT_EQ(demo.ask("POST", "/demo/clock", R"({"to":"2027-03-31T06:45:00+11:00"})").status, 200);
  const json::value digest = document(demo.get("/digest", "Accept: application/json\r\n"));
  const RawAnswer page = demo.get("/digest", "Accept: text/html\r\n");
  ASSERT_EQ(page.status, 200) << page.body;

  const Print printed = print(page.body);
  std::string paper;
  for (const std::string& one : printed.pages) paper += one + " ";
  paper = std::regex_replace(one_line(paper), std::regex("• "), "");  // text to one browser, a drawing to another
  EXPECT_TRUE(
      paper.starts_with("Tallowmere, Wednesday 31 March 2027, 06:45 (+11:00) Forecast made Wednesday 31 March 05:00 (fine)"))
      << paper.substr(0, 300);
  EXPECT_NE(paper.find("2 hours old"), std::string::npos) << "how old the run is: " << paper.substr(0, 300);
  EXPECT_NE(paper.find("Open burns Log Landing Heaps, in mop-up"), std::string::npos) << paper;
  EXPECT_NE(paper.find("Planned today and tomorrow Windrow Flat, Wednesday 31 March, committed"), std::string::npos) << paper;
  EXPECT_NE(paper.find("What changed Lost: Emu Track, Thursday 1 April"), std::string::npos) << paper;
  std::size_t at = 0;
  for (const json::value& section : digest.at("sections").as_array()) {
    at = paper.find(text(section.at("heading")) + " ", at);
    ASSERT_NE(at, std::string::npos) << text(section.at("heading")) << " in\n" << paper;
    for (const json::value& line : section.at("lines").as_array()) {
      const std::size_t found = paper.find(one_line(text(line.at("text"))), at);
      ASSERT_NE(found, std::string::npos) << text(line.at("text")) << " in\n" << paper.substr(at);
      at = found;
    }
  }

  // A phone of 360 pixels less the page's own margin: nothing hangs over.
  const std::size_t begin = page.body.find("<div"), end = page.body.find("</body>");
  const std::string dom =
      shown("<!doctype html><meta charset=\"utf-8\"><div id=\"phone\" style=\"width:328px;font:16px/1.45 Arial\">" +
            page.body.substr(begin, end - begin) + "</div><script>phone.dataset.width = phone.scrollWidth</script>");
  EXPECT_NE(dom.find("data-width=\"328\""), std::string::npos) << dom.substr(0, 400);
}

}  // namespace
}  // namespace hakea::test
