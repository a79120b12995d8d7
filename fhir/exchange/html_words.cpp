#include "fhir/exchange/html_words.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <utility>

#include "fhir/json/ascii.hpp"

namespace nightferry::fhir::exchange {

namespace {

void append_utf8(std::string& text, char32_t code) {
    const auto add = [&](char32_t byte) { text += static_cast<char>(byte); };
    if (code == 0 || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF)) code = 0xFFFD;
    if (code < 0x80) {
        add(code);
    } else if (code < 0x800) {
        add(0xC0 | (code >> 6));
        add(0x80 | (code & 0x3F));
    } else if (code < 0x10000) {
        add(0xE0 | (code >> 12));
        add(0x80 | ((code >> 6) & 0x3F));
        add(0x80 | (code & 0x3F));
    } else {
        add(0xF0 | (code >> 18));
        add(0x80 | ((code >> 12) & 0x3F));
        add(0x80 | ((code >> 6) & 0x3F));
        add(0x80 | (code & 0x3F));
    }
}

// Of the name between "&" and ";"; whether it is known.
bool append_entity(std::string& text, std::string_view name) {
    constexpr std::array<std::pair<std::string_view, std::string_view>, 12> known{{
        {"amp", "&"},
        {"lt", "<"},
        {"gt", ">"},
        {"quot", "\""},
        {"apos", "'"},
        {"nbsp", " "},
        {"hellip", "…"},
        {"ndash", "–"},
        {"mdash", "—"},
        {"lsquo", "‘"},
        {"rsquo", "’"},
        {"copy", "©"},
    }};
    if (name.starts_with('#')) {
        const bool hex = name.size() > 1 && (name[1] == 'x' || name[1] == 'X');
        name.remove_prefix(hex ? 2 : 1);
        std::uint32_t code = 0;
        const auto [end, failure] =
            std::from_chars(name.data(), name.data() + name.size(), code, hex ? 16 : 10);
        if (failure == std::errc::invalid_argument || end != name.data() + name.size()) return false;
        append_utf8(text, failure == std::errc() ? code : 0xFFFD);
        return true;
    }
    const auto found =
        std::find_if(known.begin(), known.end(), [&](const auto& one) { return one.first == name; });
    if (found == known.end()) return false;
    text += found->second;
    return true;
}

// The end of the tag that begins at the front: behind its ">", which may not stand in an attribute's quotes.
std::size_t end_of_tag(std::string_view text) {
    char quote = 0;
    for (std::size_t i = 1; i < text.size(); ++i) {
        if (quote != 0) {
            if (text[i] == quote) quote = 0;
        } else if (text[i] == '"' || text[i] == '\'') {
            quote = text[i];
        } else if (text[i] == '>') {
            return i + 1;
        }
    }
    return text.size();
}

// "title" of "<title lang='en'>", "/title" of "</TITLE>".
std::string tag_name(std::string_view tag) {
    tag.remove_prefix(1);
    return ascii::lower(tag.substr(0, tag.find_first_of(" \t\r\n>/", 1)));
}

class Page {
 public:
    explicit Page(std::string_view text) : rest_(text) {
        while (!rest_.empty())
            step();
    }

    std::string title, heading, all;

 private:
    void step() {
        const auto end = std::min(rest_.find('<'), rest_.size());
        if (end > 0) {
            say(take(end));
        } else if (rest_.starts_with("<!--")) {
            const auto close = rest_.find("-->");
            take(close == std::string_view::npos ? rest_.size() : close + 3);
        } else if (rest_.size() < 2 || !begins_tag(rest_[1])) {
            say(take(1));
        } else {
            enter(tag_name(take(end_of_tag(rest_))));
        }
    }

    static bool begins_tag(char c) {
        return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '/' || c == '!' || c == '?';
    }

    void enter(const std::string& name) {
        if (name == "script" || name == "style") skip_to_end_of(name);
        if (name == "title" && title.empty()) into_ = &title;
        if (name == "h1" && heading.empty()) into_ = &heading;
        if (name == "/title" || name == "/h1" || name == "body") into_ = nullptr;
        say(" ");
    }

    void skip_to_end_of(const std::string& name) {
        while (!rest_.empty()) {
            const auto end = rest_.find("</");
            take(std::min(end, rest_.size()));
            if (ascii::lower(rest_.substr(0, name.size() + 2)) == "</" + name) return;
            take(std::min<std::size_t>(2, rest_.size()));
        }
    }

    std::string_view take(std::size_t count) {
        const std::string_view taken = rest_.substr(0, count);
        rest_.remove_prefix(count);
        return taken;
    }

    void say(std::string_view words) {
        all += words;
        if (into_ != nullptr) *into_ += words;
    }

    std::string_view rest_;
    std::string* into_ = nullptr;
};

std::string trimmed(std::string text) {
    constexpr std::string_view blanks = " \t\r\n";
    text.erase(std::min(text.find_last_not_of(blanks) + 1, text.size()));
    text.erase(0, std::min(text.find_first_not_of(blanks), text.size()));
    return text;
}

}  // namespace

std::string without_entities(std::string_view text) {
    constexpr std::size_t name_bytes_max = 12;
    std::string result;
    while (!text.empty()) {
        const auto end = text.find('&');
        result += text.substr(0, end);
        if (end == std::string_view::npos) break;
        text.remove_prefix(end);
        const auto close = text.substr(0, name_bytes_max).find(';');
        const bool known =
            close != std::string_view::npos && append_entity(result, text.substr(1, close - 1));
        if (!known) result += '&';
        text.remove_prefix(known ? close + 1 : 1);
    }
    return result;
}

std::string html_words(std::string_view page) {
    const Page read(page.substr(0, markup_bytes_max));
    const std::string title = trimmed(without_entities(read.title));
    const std::string heading = trimmed(without_entities(read.heading));
    if (title.empty() && heading.empty()) return trimmed(without_entities(read.all));
    if (title.empty() || title.find(heading) != std::string::npos) return title.empty() ? heading : title;
    return heading.find(title) != std::string::npos ? heading : title + ": " + heading;
}

}  // namespace nightferry::fhir::exchange
