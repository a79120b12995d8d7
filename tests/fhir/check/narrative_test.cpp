// Source: https://hl7.org/fhir/R4/narrative.html#xhtml (txt-1, txt-2); well-formedness:
// https://www.w3.org/TR/REC-xml/#sec-well-formed.
#include "fhir/check/narrative.hpp"

#include <gtest/gtest.h>

namespace nightferry::fhir::check {

void PrintTo(NarrativeFault fault, std::ostream* out) {
    *out << (fault == NarrativeFault::none ? "none" : words_for(fault));
}

namespace {

using Fault = NarrativeFault;
using Texts = std::initializer_list<std::string_view>;

std::string in_div(std::string_view inside) {
    return R"(<div xmlns="http://www.w3.org/1999/xhtml">)" + std::string(inside) + "</div>";
}

void expect_within(Fault fault, Texts insides) {
    for (const std::string_view inside : insides)
        EXPECT_EQ(fault_in_narrative(in_div(inside)), fault) << inside;
}

void expect_whole(Fault fault, Texts divs) {
    for (const std::string_view div : divs)
        EXPECT_EQ(fault_in_narrative(div), fault) << div;
}

TEST(NarrativeTest, BasicFormattingIsAllowed) {
    expect_within(
        Fault::none,
        {"text", "<p>a</p>", "a<br/>b", "a<br />b", "<h1>a</h1><h6>b</h6>", "<b>a</b><i>b</i><em>c</em>",
         "<ul><li>a</li></ul>", "<ol start=\"3\"><li value=\"7\">a</li></ol>",
         "<dl><dt>a</dt><dd>b</dd></dl>", "<pre>a\n b</pre>",
         "<blockquote cite=\"http://example.org\">a</blockquote>", "<hr/>a",
         "<span class=\"x\" style=\"color:red\" title=\"t\" lang=\"en\" xml:lang=\"en\" dir=\"ltr\">a</span>",
         "<sub>a</sub><sup>b</sup><tt>c</tt><small>d</small><big>e</big><code>f</code><q>g</q>",
         "<address>a</address><abbr>b</abbr><acronym>c</acronym><kbd>d</kbd><samp>e</samp><var>f</var>",
         "<div><div>a</div></div>"});
}

TEST(NarrativeTest, TablesAreAllowed) {
    expect_within(
        Fault::none,
        {"<table border=\"1\" summary=\"s\" width=\"100%\"><caption>c</caption><colgroup><col span=\"2\"/>"
         "</colgroup><thead><tr><th scope=\"col\">a</th></tr></thead><tfoot><tr><td>f</td></tr></tfoot>"
         "<tbody><tr valign=\"top\"><td colspan=\"2\" rowspan=\"1\" "
         "align=\"left\">b</td></tr></tbody></table>"});
}

TEST(NarrativeTest, LinksAndImagesAreAllowed) {
    expect_within(
        Fault::none,
        {"<a href=\"http://example.org/?a=b&amp;c=d\">a</a>", "<a href=\"#b\">a</a>", "<a name=\"b\">a</a>",
         "<a id=\"b\">a</a>", "<a href=\"mailto:a@example.org\">a</a>", "<a href=\"Patient/1\">a</a>",
         "<img src=\"#pic\" alt=\"a\"/>", "<img src=\"data:image/png;base64,QUJD\" alt=\"a\"></img>",
         "<a href=\"http://example.org/javascript:\">a</a>", "<a href=\"javascript\">a</a>"});
}

TEST(NarrativeTest, EitherQuoteAndBlanksAroundAttributesAreAllowed) {
    expect_within(Fault::none, {"<p class='x'>a</p>", "<p class = \"x\" >a</p >",
                                "<p\n\tclass=\"a 'b'\">a</p>", "<p title='a > b'>a</p>"});
    expect_whole(Fault::none, {"<div xmlns='http://www.w3.org/1999/xhtml'>a</div>",
                               " \n<div class=\"a\" xmlns=\"http://www.w3.org/1999/xhtml\">a</div>\n ",
                               "<!-- c --><div xmlns=\"http://www.w3.org/1999/xhtml\">a</div><!-- d -->"});
}

TEST(NarrativeTest, EntitiesCommentsAndCharacterDataAreAllowed) {
    expect_within(Fault::none,
                  {"a &amp; b &lt; c &gt; d &quot; e &apos;", "&#169; &#xA9; &#xa9;", "&nbsp;&copy;",
                   "<!-- a <b> & c -->d", "<![CDATA[a < b & c <d>]]>", "a > b", "\xC3\xA4\xE2\x82\xAC"});
}

TEST(NarrativeTest, TagsMatch) {
    expect_within(Fault::not_well_formed, {"<p>a", "a</p>", "<p>a</b>", "<b><i>a</b></i>", "<p>a</P>",
                                           "<br>a", "<p", "<p>a</p", "<>a</>", "< p>a</p>", "<p/ >a", "</>"});
    expect_whole(Fault::not_well_formed,
                 {"", " ", "text", "<div xmlns=\"http://www.w3.org/1999/xhtml\">a", "</div>",
                  "<div xmlns=\"http://www.w3.org/1999/xhtml\">a</div></div>",
                  "<div xmlns=\"http://www.w3.org/1999/xhtml\">a</div><div "
                  "xmlns=\"http://www.w3.org/1999/xhtml\">b</div>",
                  "a<div xmlns=\"http://www.w3.org/1999/xhtml\">a</div>",
                  "<div xmlns=\"http://www.w3.org/1999/xhtml\">a</div>b"});
}

TEST(NarrativeTest, AmpersandBeginsAReference) {
    expect_within(Fault::not_well_formed,
                  {"a & b", "a &amp b", "&;", "&#;", "&#x;", "&#12a;", "&#xG;", "&#0;", "&#1114112;",
                   "&#99999999999;", "& amp;", "a &", "<a href=\"?a=b&c=d\">a</a>"});
}

TEST(NarrativeTest, BareMarkupIsNoText) {
    expect_within(Fault::not_well_formed, {"a < b", "a <3", "a ]]> b", "<![CDATA[a", "<!-- a",
                                           "<!-- a -- b -->", "<!-- a --->", "<p title=\"a < b\">a</p>"});
}

TEST(NarrativeTest, AttributesAreQuotedOnceEachAndApart) {
    expect_within(Fault::not_well_formed,
                  {"<p class=x>a</p>", "<p class>a</p>", "<p class=\"x>a</p>", "<p =\"x\">a</p>",
                   "<p class=\"x\" class=\"x\">a</p>", "<p class=\"x\"id=\"y\">a</p>", "<p class=\"x'>a</p>",
                   "<p class=>a</p>"});
    expect_whole(Fault::not_well_formed, {"<div xmlns=\"http://www.w3.org/1999/xhtml\" "
                                          "xmlns=\"http://www.w3.org/1999/xhtml\">a</div>"});
}

TEST(NarrativeTest, NothingStandsAroundTheDiv) {
    expect_whole(Fault::not_well_formed,
                 {"<?xml version=\"1.0\"?><div xmlns=\"http://www.w3.org/1999/xhtml\">a</div>",
                  "<!DOCTYPE html><div xmlns=\"http://www.w3.org/1999/xhtml\">a</div>",
                  "<!DOCTYPE a [<!ENTITY b \"c\">]><div xmlns=\"http://www.w3.org/1999/xhtml\">&b;</div>",
                  "<![CDATA[a]]><div xmlns=\"http://www.w3.org/1999/xhtml\">a</div>"});
    expect_within(Fault::not_well_formed, {"<?php a ?>", "<!DOCTYPE html>"});
}

TEST(NarrativeTest, RootIsADivOfXhtml) {
    expect_whole(Fault::not_a_div,
                 {"<p xmlns=\"http://www.w3.org/1999/xhtml\">a</p>", "<div>a</div>",
                  "<div xmlns=\"http://www.w3.org/1999/html\">a</div>", "<div xmlns=\"\">a</div>",
                  "<DIV xmlns=\"http://www.w3.org/1999/xhtml\">a</DIV>",
                  "<html xmlns=\"http://www.w3.org/1999/xhtml\"><body>a</body></html>",
                  "<h:div xmlns:h=\"http://www.w3.org/1999/xhtml\">a</h:div>"});
    expect_within(Fault::not_a_div, {"<p xmlns=\"http://www.w3.org/2000/svg\">a</p>"});
    expect_within(Fault::none, {"<p xmlns=\"http://www.w3.org/1999/xhtml\">a</p>"});
}

// "SHALL NOT contain a head, a body element, external stylesheet references, deprecated elements, scripts,
// forms, base/link/xlink, frames, iframes, objects".
TEST(NarrativeTest, ElementsThatDoMoreThanShowTextAreRefused) {
    for (const std::string_view name :
         {"script", "form",   "input",  "button", "select",   "textarea", "object",
          "embed",  "applet", "iframe", "frame",  "frameset", "head",     "body",
          "html",   "base",   "link",   "meta",   "style",    "title",    "svg",
          "math",   "video",  "audio",  "SCRIPT", "P",        "x:p",      "custom-element"}) {
        const std::string element(name);
        EXPECT_EQ(fault_in_narrative(in_div("<" + element + ">a</" + element + ">")),
                  Fault::forbidden_element)
            << name;
        EXPECT_EQ(fault_in_narrative(in_div("a<" + element + "/>")), Fault::forbidden_element) << name;
    }
}

// txt-1 leaves out "section 4 of chapter 9" of HTML 4.0, which is about marked changes.
TEST(NarrativeTest, MarkedChangesAreRefused) {
    expect_within(Fault::forbidden_element, {"<del>a</del>b", "a<ins>b</ins>"});
}

// "... or event related attributes (e.g. onClick)".
TEST(NarrativeTest, AttributesThatActAreRefused) {
    expect_within(Fault::forbidden_attribute,
                  {"<p onclick=\"a()\">a</p>", "<p onClick=\"a()\">a</p>",
                   "<img src=\"#a\" onerror=\"a()\"/>", "<p onmouseover='a()'>a</p>",
                   "<a xlink:href=\"a\">a</a>", "<p data-a=\"b\">a</p>", "<a href=\"a\" ping=\"b\">a</a>",
                   "<img srcset=\"a\"/>", "<p xmlns:h=\"a\">a</p>", "<p CLASS=\"a\">a</p>"});
}

TEST(NarrativeTest, LinksThatRunScriptsAreRefused) {
    expect_within(Fault::active_link,
                  {"<a href=\"javascript:a()\">a</a>", "<a href=\"JavaScript:a()\">a</a>",
                   "<a href=\" javascript:a()\">a</a>", "<a href=\"java\nscript:a()\">a</a>",
                   "<a href=\"java\tscript:a()\">a</a>", "<a href='javascript:a()'>a</a>",
                   "<a href=\"\x01javascript:a()\">a</a>", "<img src=\"javascript:a()\"/>",
                   "<a href=\"vbscript:a()\">a</a>", "<a href=\"data:text/html,a\">a</a>"});
}

// Whoever shows the narrative resolves references before following the link.
TEST(NarrativeTest, ScriptBehindReferencesIsSeen) {
    expect_within(
        Fault::active_link,
        {"<a href=\"java&#115;cript:a()\">a</a>", "<a href=\"&#x6A;avascript:a()\">a</a>",
         "<a href=\"&#x6a;&#97;vascript&#58;a()\">a</a>", "<a href=\"&#32;&#10;javascript:a()\">a</a>"});
    // XHTML 1.0 appendix A.2 knows neither name.
    expect_within(Fault::not_well_formed,
                  {"<a href=\"java&Tab;script:a()\">a</a>", "<a href=\"javascript&colon;a()\">a</a>"});
    expect_within(Fault::none,
                  {"<a href=\"java&amp;script:a()\">a</a>", "<a href=\"&#xE9;javascript:a()\">a</a>"});
}

// txt-2: some content that is not white space, or an image.
TEST(NarrativeTest, ThereIsSomethingToRead) {
    expect_within(Fault::nothing_to_read, {"", " \n\t ", "<p> </p>", "<br/>", "<table><tr><td/></tr></table>",
                                           "<!-- a -->", "<![CDATA[]]>", "<![CDATA[ \n]]>"});
    expect_whole(Fault::nothing_to_read, {"<div xmlns=\"http://www.w3.org/1999/xhtml\"/>",
                                          "<div xmlns=\"http://www.w3.org/1999/xhtml\" />"});
    expect_within(Fault::none, {"<img src=\"#a\"/>", "<p><b>.</b></p>", "<![CDATA[a]]>"});
}

TEST(NarrativeTest, DeepNestingIsWalkedWithoutRecursion) {
    constexpr std::size_t levels = 100'000;
    std::string open;
    std::string close;
    for (std::size_t i = 0; i < levels; ++i) {
        open += "<b>";
        close += "</b>";
    }
    EXPECT_EQ(fault_in_narrative(in_div(open + "a" + close)), Fault::none);
    EXPECT_EQ(fault_in_narrative(in_div(open + "a")), Fault::not_well_formed);
}

TEST(NarrativeTest, EveryFaultHasItsWords) {
    std::set<std::string_view> words;
    for (const Fault fault : {Fault::not_well_formed, Fault::not_a_div, Fault::forbidden_element,
                              Fault::forbidden_attribute, Fault::active_link, Fault::nothing_to_read})
        words.insert(words_for(fault));
    EXPECT_EQ(words.size(), 6u);
    EXPECT_FALSE(words.contains(""));
    EXPECT_EQ(words_for(Fault::none), "");
}

}  // namespace
}  // namespace nightferry::fhir::check
