// The page's files as the service sends them: whole, once for ever, under a strict policy, and nothing else in their place.
#include "service/http/page.h"

#include <gtest/gtest.h>
#include <libdeflate.h>

#include <memory>
#include <regex>
#include <set>

#include "tests/support/api_rig.h"

namespace hakea::test {
namespace {

using namespace hakea::service;

Response file_at(const std::string& path, std::map<std::string, std::string, std::less<>> headers = {}) {
  Request request;
  request.path = path;
  request.headers = std::move(headers);
  if (auto answer = page_answer(request)) return *std::move(answer);
  Response none;
  none.status = 404;
  return none;
}

std::string unpacked(const std::string& packed, std::size_t size) {
  const std::unique_ptr<libdeflate_decompressor, decltype(&libdeflate_free_decompressor)> reader(libdeflate_alloc_decompressor(),
                                                                                                 libdeflate_free_decompressor);
  std::string bytes(size, ' ');
  std::size_t written = 0;
  const auto done = libdeflate_gzip_decompress(reader.get(), packed.data(), packed.size(), bytes.data(), bytes.size(), &written);
  return done == LIBDEFLATE_SUCCESS && written == size ? bytes : "not gzip";
}

TEST(Page, StandsAtTheTopAndNamesFilesThatAreThere) {
  const Response page = file_at("/");
  ASSERT_EQ(page.status, 200);
  EXPECT_EQ(page.content_type, "text/html; charset=utf-8");
  EXPECT_EQ(page.header("Cache-Control"), "no-cache");
  const std::regex file(R"re("(/[^"]+)")re");
  std::set<std::string> named;
  for (std::sregex_iterator it(page.bytes().begin(), page.bytes().end(), file), end; it != end; ++it) named.insert((*it)[1]);
  EXPECT_GE(named.size(), 4U) << "icon, style, what asks first, the page";
  for (const std::string& path : named) EXPECT_EQ(file_at(path).status, 200) << path;
}

TEST(Page, HasNoScriptOrStyleOfItsOwn) {
  const Response page = file_at("/");
  EXPECT_EQ(page.bytes().find("<style"), std::string::npos);
  EXPECT_EQ(page.bytes().find("style="), std::string::npos);
  EXPECT_EQ(page.bytes().find("://"), std::string::npos) << "nothing from another place";
  EXPECT_TRUE(std::regex_search(page.bytes(), std::regex("<script[^>]* src=[^>]*></script>")));
}

TEST(Page, EveryFileIsSentUnderThePolicyAndTheSameCompressed) {
  std::size_t all = 0;
  for (const PageFile& file : page_files()) {
    const std::string path(file.path);
    const Response plain = file_at(path), packed = file_at(path, {{"accept-encoding", "gzip"}});
    EXPECT_EQ(plain.header("Content-Encoding"), "") << path;
    EXPECT_EQ(packed.header("Content-Encoding"), "gzip") << path;
    EXPECT_EQ(unpacked(packed.bytes(), plain.bytes().size()), plain.bytes()) << path;
    EXPECT_NE(plain.header("ETag"), packed.header("ETag")) << path;
    for (const char* part : {"default-src 'self'", "object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'"})
      EXPECT_NE(plain.header("Content-Security-Policy").find(part), std::string::npos) << path << ": " << part;
    EXPECT_EQ(plain.header("Content-Security-Policy").find("unsafe"), std::string::npos) << path;
    EXPECT_EQ(plain.header("Referrer-Policy"), "same-origin") << path;
    if (path.starts_with("/assets/")) {
      EXPECT_EQ(plain.header("Cache-Control"), "public, max-age=31536000, immutable") << path;
    }
    all += packed.bytes().size();
  }
  EXPECT_LE(all, 150'000U);
}

TEST(Page, IsNotSentAgainToWhoHasIt) {
  const Response page = file_at("/");
  const Response again = file_at("/", {{"if-none-match", std::string(page.header("ETag"))}});
  EXPECT_EQ(again.status, 304);
  EXPECT_TRUE(again.bytes().empty());
  EXPECT_EQ(again.header("ETag"), page.header("ETag"));
}

TEST(Page, IsReadAndNeverWritten) {
  Request request;
  request.path = "/";
  request.method = "POST";
  EXPECT_FALSE(page_answer(request));
}

TEST(Page, AnybodyMayHaveItAndElsewhereStandProblems) {
  if (!ApiRig::has_files()) GTEST_SKIP() << "no demo files beside the checkout";
  ApiRig rig(false);  // a service whose callers must show a token
  Request request;
  request.path = "/";
  EXPECT_EQ(respond(rig.parts(), request).status, 200);
  for (const char* path : {"/index.html", "/assets/", "/assets/page-00000000.js", "/district"}) {
    request.path = path;
    const Response unknown = respond(rig.parts(), request);
    EXPECT_EQ(unknown.status, 404) << path;
    EXPECT_EQ(unknown.content_type, "application/problem+json") << path;
  }
}

}  // namespace
}  // namespace hakea::test
