// What people wrote never becomes markup, whatever it is.
#include "daemon/report/html.hpp"

#include <gtest/gtest.h>

namespace nightferry::report {
namespace {

std::string text_of(std::string_view text) {
    Html html;
    html.put("b", text);
    const std::string all = html.document();
    const std::string before = "<!doctype html>\n<b>";
    EXPECT_TRUE(all.starts_with(before) && all.ends_with("</b>")) << all;
    return all.substr(before.size(), all.size() - before.size() - 4);
}

std::string title_of(std::string_view value) {
    Html html;
    html.put("b", {{"title", std::string(value)}});
    const std::string all = html.document();
    const std::string before = "<!doctype html>\n<b title=\"";
    EXPECT_TRUE(all.starts_with(before) && all.ends_with("\"></b>")) << all;
    return all.substr(before.size(), all.size() - before.size() - 6);
}

std::string href_of(const std::string& address) {
    Html html;
    html.put("a", {{"href", address}}, "x");
    const std::string all = html.document();
    const auto from = all.find('"') + 1;
    return all.substr(from, all.rfind('"') - from);
}

TEST(HtmlTest, TextAndValuesCannotBecomeMarkup) {
    const std::string hostile = "</b><script>alert('1')</script>\" onclick=\"x\" & &lt;";
    const std::string harmless =
        "&lt;/b&gt;&lt;script&gt;alert(&#39;1&#39;)&lt;/script&gt;&quot; onclick=&quot;x&quot; &amp; "
        "&amp;lt;";
    EXPECT_EQ(text_of(hostile), harmless);
    EXPECT_EQ(title_of(hostile), harmless);
}

TEST(HtmlTest, WhatIsNoCharacterIsReplaced) {
    using namespace std::string_view_literals;
    EXPECT_EQ(text_of("a\0b"sv), "a\uFFFDb");
    EXPECT_EQ(text_of("\x1B[31m\x7F"), "\uFFFD[31m\uFFFD");
    EXPECT_EQ(text_of("a\nb\tc"), "a\nb\tc");
    // RFC 3629: no overlong forms (here of "<"), no surrogates, no bare continuation.
    EXPECT_EQ(text_of("\xC0\xBC"
                      "script"),
              "\uFFFD\uFFFDscript");
    EXPECT_EQ(text_of("\xED\xA0\x80"), "\uFFFD\uFFFD\uFFFD");
    EXPECT_EQ(text_of("5 \xB5g"), "5 \uFFFDg");
    EXPECT_EQ(text_of("cut off \xC3"), "cut off \uFFFD");
    EXPECT_EQ(title_of("\xC3\""), "\uFFFD&quot;") << "a torn character must not take the quote with it";
    EXPECT_EQ(text_of("Tove \u00C5s \u2713"), "Tove \u00C5s \u2713");
}

TEST(HtmlTest, AddressesLeadNowhereElse) {
    EXPECT_EQ(href_of("#flags"), "#flags");
    EXPECT_EQ(href_of("/report?from=2026-10-12"), "/report?from=2026-10-12");
    for (const char* address : {"javascript:alert(1)", "//example.org", "/\\example.org",
                                "https://example.org", " javascript:x", "data:text/html,x", ""})
        EXPECT_EQ(href_of(address), "#") << address;
}

TEST(HtmlTest, ElementsEndWhereTheirVariablesDo) {
    Html html;
    {
        const auto list = html.in("ul", {{"class", "legend"}});
        for (const char* word : {"a", "b"}) {
            const auto item = html.in("li");
            html.put("b", word);
            html.text("!");
        }
    }
    html.put("meta", {{"charset", "utf-8"}});
    html.put("path", {{"d", "M 0 0"}});
    html.style("p { margin: 0 }\n");
    EXPECT_EQ(html.document(),
              "<!doctype html>\n<ul class=\"legend\"><li><b>a</b>!</li>\n<li><b>b</b>!</li>\n</ul>\n"
              "<meta charset=\"utf-8\">\n<path d=\"M 0 0\"></path><style>\np { margin: 0 }\n</style>\n");
}

}  // namespace
}  // namespace nightferry::report
