// The elements and attributes that a narrative may use.
#pragma once

#include <algorithm>
#include <array>
#include <string_view>

namespace nightferry::fhir::check {

// HTML 4.0 chapters 7 to 11 without chapter 9 section 4 (del and ins), and 15, with a and img; sorted.
inline constexpr auto narrative_elements = std::to_array<std::string_view>(
    {"a",       "abbr",   "acronym", "address", "area",  "b",        "bdo",    "big", "blockquote", "br",
     "caption", "center", "cite",    "code",    "col",   "colgroup", "dd",     "dfn", "dir",        "div",
     "dl",      "dt",     "em",      "font",    "h1",    "h2",       "h3",     "h4",  "h5",         "h6",
     "hr",      "i",      "img",     "kbd",     "li",    "map",      "menu",   "ol",  "p",          "pre",
     "q",       "s",      "samp",    "small",   "span",  "strike",   "strong", "sub", "sup",        "table",
     "tbody",   "td",     "tfoot",   "th",      "thead", "tr",       "tt",     "u",   "ul",         "var"});

// The attributes of those elements in HTML 4.0, without events; sorted.
inline constexpr auto narrative_attributes = std::to_array<std::string_view>(
    {"abbr",        "accesskey", "align",     "alt",      "axis",   "bgcolor", "border",  "cellpadding",
     "cellspacing", "char",      "charoff",   "charset",  "cite",   "class",   "clear",   "color",
     "colspan",     "compact",   "coords",    "datetime", "dir",    "face",    "frame",   "headers",
     "height",      "href",      "hreflang",  "hspace",   "id",     "ismap",   "lang",    "longdesc",
     "name",        "nohref",    "noshade",   "nowrap",   "rel",    "rev",     "rowspan", "rules",
     "scope",       "shape",     "size",      "span",     "src",    "start",   "style",   "summary",
     "tabindex",    "target",    "title",     "type",     "usemap", "valign",  "value",   "vspace",
     "width",       "xml:lang",  "xml:space", "xmlns"});

static_assert(std::ranges::is_sorted(narrative_elements) && std::ranges::is_sorted(narrative_attributes));

}  // namespace nightferry::fhir::check
