#include "daemon/report/html.hpp"

#include <algorithm>
#include <array>
#include <cassert>

#include "fhir/json/utf8.hpp"

namespace nightferry::report {

namespace {

constexpr std::string_view replacement = "\xEF\xBF\xBD";  // U+FFFD

bool is_void(std::string_view element) {
    constexpr std::array<std::string_view, 8> names{"br", "col", "hr", "img", "input", "link", "meta", "wbr"};
    return std::ranges::find(names, element) != names.end();
}

// Where each part of a page stands on a line of its own, so that people can read the source.
bool is_block(std::string_view element) {
    constexpr std::array<std::string_view, 22> names{
        "html",  "head",  "body", "header", "main", "footer", "section", "figure", "svg",  "table", "caption",
        "thead", "tbody", "tr",   "dl",     "div",  "ul",     "li",      "p",      "meta", "title", "style"};
    return std::ranges::find(names, element) != names.end();
}

bool is_address(std::string_view attribute) {
    constexpr std::array<std::string_view, 4> names{"href", "src", "action", "formaction"};
    return std::ranges::find(names, attribute) != names.end();
}

// Not "//elsewhere", and no backslash, which browsers read as a slash.
bool is_own_address(std::string_view address) {
    return address.starts_with('#') ||
           (address.starts_with('/') && !address.starts_with("//") && !address.starts_with("/\\"));
}

std::string_view reference_for(char c) {
    switch (c) {
        case '&':
            return "&amp;";
        case '<':
            return "&lt;";
        case '>':
            return "&gt;";
        case '"':
            return "&quot;";
        case '\'':
            return "&#39;";
        default:
            return {};
    }
}

// No page may hold control characters, and a byte order mark or a NUL has been used to hide markup.
bool is_control(char c) {
    const auto byte = static_cast<unsigned char>(c);
    return (byte < 0x20 && c != '\n' && c != '\t') || byte == 0x7F;
}

void put_escaped_utf8(std::string& into, std::string_view text) {
    for (const char c : text) {
        const std::string_view reference = reference_for(c);
        if (!reference.empty()) {
            into += reference;
        } else if (is_control(c)) {
            into += replacement;
        } else {
            into += c;
        }
    }
}

void put_escaped(std::string& into, std::string_view text) {
    while (true) {
        const std::size_t bad = fhir::json::find_invalid_utf8(text);
        put_escaped_utf8(into, text.substr(0, bad));
        if (bad == std::string_view::npos) return;
        into += replacement;
        text.remove_prefix(bad + 1);
    }
}

}  // namespace

Html::Html() : written_("<!doctype html>\n") {}

Html::Inside Html::in(Name element, Attributes attributes) {
    begin(element, attributes);
    assert(!is_void(element.text()));
    ++depth_;
    return Inside(*this, element);
}

void Html::put(Name element, Attributes attributes, std::string_view text) {
    begin(element, attributes);
    if (is_void(element.text())) {
        assert(text.empty());
        written_ += '\n';
        return;
    }
    ++depth_;
    this->text(text);
    end(element);
}

void Html::text(std::string_view text) {
    put_escaped(written_, text);
}

void Html::style(Fixed sheet) {
    written_ += "<style>\n";
    written_ += sheet.text();
    written_ += "</style>\n";
}

void Html::script_at(Fixed address) {
    written_ += "<script src=\"";
    written_ += address.text();
    written_ += "\" defer></script>\n";
}

const std::string& Html::document() const {
    assert(depth_ == 0);
    return written_;
}

void Html::begin(Name element, Attributes attributes) {
    written_ += '<';
    written_ += element.text();
    for (const Attribute& one : attributes) {
        written_ += ' ';
        written_ += one.name.text();
        written_ += "=\"";
        const bool stays = !is_address(one.name.text()) || is_own_address(one.value);
        put_escaped(written_, stays ? std::string_view(one.value) : "#");
        written_ += '"';
    }
    written_ += '>';
}

void Html::end(Name element) {
    --depth_;
    written_ += "</";
    written_ += element.text();
    written_ += is_block(element.text()) ? ">\n" : ">";
}

}  // namespace nightferry::report
