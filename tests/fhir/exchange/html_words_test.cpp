#include "fhir/exchange/html_words.hpp"

#include <gtest/gtest.h>

namespace nightferry::fhir::exchange {
namespace {

// The pages that web servers and gateways answer with, from memory.
TEST(HtmlWordsTest, ReadsTheErrorPagesOfProxies) {
    EXPECT_EQ(
        html_words("<html>\r\n<head><title>502 Bad Gateway</title></head>\r\n<body>\r\n"
                   "<center><h1>502 Bad Gateway</h1></center>\r\n<hr><center>nginx</center></body></html>"),
        "502 Bad Gateway");
    EXPECT_EQ(
        html_words("<!DOCTYPE HTML PUBLIC \"-//IETF//DTD HTML 2.0//EN\">\n<HTML><HEAD>\n"
                   "<TITLE>503 Service Unavailable</TITLE>\n</HEAD><BODY>\n<H1>Service Unavailable</H1>"),
        "503 Service Unavailable");
    EXPECT_EQ(
        html_words("<html><body><h1>504 Gateway Time-out</h1>\nThe server didn't respond in time.\n</body>"),
        "504 Gateway Time-out");
}

TEST(HtmlWordsTest, TitleAndHeadingAreJoinedWhereTheyDiffer) {
    EXPECT_EQ(html_words("<title>Clinic portal</title><h1 class=\"x>y\">Closed <b>tonight</b></h1><p>…"),
              "Clinic portal: Closed  tonight");
    EXPECT_EQ(html_words("<title>Error</title><h1>Error 17</h1>"), "Error 17");
    EXPECT_EQ(html_words("<h1>one</h1><h1>two</h1>"), "one");
}

TEST(HtmlWordsTest, WithoutEitherAllTextCounts) {
    EXPECT_EQ(html_words("<p>please<br>wait</p>"), "please wait");
    EXPECT_EQ(html_words("<p>1 < 2 &amp; 3 > 2</p>"), "1 < 2 & 3 > 2");
}

TEST(HtmlWordsTest, ScriptsStylesAndCommentsSayNothing) {
    EXPECT_EQ(html_words(
                  "<script>var a = '<h1>no</h1>';</script><!-- <h1>no</h1> --><style>h1{}</style><p>yes</p>"),
              "yes");
    EXPECT_EQ(html_words("<SCRIPT>no</SCRIPT><p>yes"), "yes");
    EXPECT_EQ(html_words("<script>never closed"), "");
    EXPECT_EQ(html_words("<!-- never closed"), "");
}

// https://html.spec.whatwg.org/#character-references
TEST(HtmlWordsTest, EntitiesAreDecoded) {
    EXPECT_EQ(without_entities("&lt;a&gt; &amp;amp; &quot;&#39;&apos;"), "<a> &amp; \"''");
    EXPECT_EQ(without_entities("&#233;&#xE9;&#X20AC;&#x1D11E;"), "éé€𝄞");
    EXPECT_EQ(without_entities("&#0;&#xD800;&#x110000;&#99999999999;"),
              "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD&#99999999999;");
    for (const char* text :
         {"&", "&;", "&#;", "&#x;", "&#xZ;", "&unknown;", "a & b", "&amp", "&averylongname;"})
        EXPECT_EQ(without_entities(text), text);
}

TEST(HtmlWordsTest, BrokenAndHugePagesEnd) {
    for (const char* page : {"<", "<>", "</", "<a", "<a b='", "<!--", "<title>", "<h1", "<script></", "&"})
        EXPECT_LE(html_words(page).size(), 2U) << page;
    EXPECT_LE(html_words(std::string(10'000'000, '<')).size(), markup_bytes_max);
    std::string tags;
    while (tags.size() < 1'000'000)
        tags += "<script></";
    EXPECT_EQ(html_words(tags), "");
}

}  // namespace
}  // namespace nightferry::fhir::exchange
