#include "fhir/check/narrative.hpp"

#include <algorithm>
#include <array>
#include <bitset>
#include <cstddef>
#include <optional>
#include <vector>

#include "fhir/check/narrative_text.hpp"
#include "fhir/check/narrative_words.hpp"
#include "fhir/json/ascii.hpp"

namespace nightferry::fhir::check {

namespace {

using Fault = NarrativeFault;

// Where the words that begin with a letter lie in a sorted list: narratives are most of many resources, and
// a search from the start of the letter takes two or three steps.
template <std::size_t size>
class Lexicon {
 public:
    constexpr explicit Lexicon(const std::array<std::string_view, size>& words) : words_(words) {
        for (std::size_t letter = 0; letter <= 26; ++letter) {
            const auto c = static_cast<char>('a' + letter);
            while (starts_[letter] < size && words_[starts_[letter]].front() < c)
                ++starts_[letter];
            if (letter < 26) starts_[letter + 1] = starts_[letter];
        }
    }

    // Where in the list the word is; `size` when it is not.
    constexpr std::size_t find(std::string_view word) const {
        const auto letter = static_cast<std::size_t>(word.front() - 'a');
        if (letter >= 26) return size;
        for (std::size_t i = starts_[letter]; i < starts_[letter + 1]; ++i) {
            if (words_[i] == word) return i;
        }
        return size;
    }
    constexpr bool holds(std::string_view word) const { return find(word) != size; }

 private:
    const std::array<std::string_view, size>& words_;
    std::array<std::uint8_t, 27> starts_{};
};

constexpr Lexicon known_elements(narrative_elements);
constexpr Lexicon known_attributes(narrative_attributes);
static_assert(known_elements.holds("a") && known_elements.holds("var") && !known_elements.holds("script"));

constexpr std::string_view xhtml_namespace = "http://www.w3.org/1999/xhtml";

constexpr auto is_blank = [](char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; };

// Letters, digits, : - _ . and everything beyond ASCII.
constexpr auto name_characters = [] {
    std::array<bool, 256> table{};
    for (std::size_t c = 0; c < table.size(); ++c) {
        const auto character = static_cast<char>(c);
        table[c] = ascii::is_letter_or_digit(character) || character == ':' || character == '-' ||
                   character == '_' || character == '.' || c >= 0x80;
    }
    return table;
}();

bool is_all_blank(std::string_view text) {
    return std::all_of(text.begin(), text.end(), is_blank);
}

bool is_name_character(char c) {
    return name_characters[static_cast<unsigned char>(c)];
}

bool begins_name(char c) {
    return is_name_character(c) && c != '-' && c != '.' && !ascii::is_digit(c);
}

// Walks through the text once, keeping the open elements.
class Scanner {
 public:
    explicit Scanner(std::string_view text) : rest_(text) { open_.reserve(16); }

    Fault scan() {
        skip_blanks();
        while (!rest_.empty()) {
            const Fault fault = rest_.front() == '<' ? markup() : characters();
            if (fault != Fault::none) return fault;
        }
        if (!open_.empty() || !root_seen_) return Fault::not_well_formed;
        return something_to_read_ ? Fault::none : Fault::nothing_to_read;
    }

 private:
    // The attributes of one start tag, by their index: none may be there twice.
    using Given = std::bitset<narrative_attributes.size()>;

    void skip_blanks() {
        while (!rest_.empty() && is_blank(rest_.front()))
            rest_.remove_prefix(1);
    }
    bool take(std::string_view start) {
        if (!rest_.starts_with(start)) return false;
        rest_.remove_prefix(start.size());
        return true;
    }
    std::string_view take_name() {
        std::size_t end = 0;
        if (!rest_.empty() && !begins_name(rest_.front())) return {};
        while (end < rest_.size() && is_name_character(rest_[end]))
            ++end;
        const std::string_view name = rest_.substr(0, end);
        rest_.remove_prefix(end);
        return name;
    }
    // What stands before the mark, which has to come.
    std::optional<std::string_view> take_until(std::string_view mark) {
        const auto at = rest_.find(mark);
        if (at == std::string_view::npos) return std::nullopt;
        const std::string_view before = rest_.substr(0, at);
        rest_.remove_prefix(at + mark.size());
        return before;
    }

    Fault characters() {
        const auto end = std::min(rest_.find('<'), rest_.size());
        const std::string_view text = rest_.substr(0, end);
        rest_.remove_prefix(end);
        if (is_all_blank(text)) return Fault::none;
        if (open_.empty() || !references_are_whole(text) || text.find("]]>") != std::string_view::npos)
            return Fault::not_well_formed;
        something_to_read_ = true;
        return Fault::none;
    }

    Fault markup() {
        if (take("<!--")) {
            // Two dashes end a comment, and nothing else may follow them than ">".
            return take_until("--") && take(">") ? Fault::none : Fault::not_well_formed;
        }
        if (take("<![CDATA[")) {
            const auto text = take_until("]]>");
            if (open_.empty() || !text) return Fault::not_well_formed;
            something_to_read_ = something_to_read_ || !is_all_blank(*text);
            return Fault::none;
        }
        if (take("</")) return end_tag();
        rest_.remove_prefix(1);
        return start_tag();
    }

    Fault end_tag() {
        const std::string_view name = take_name();
        skip_blanks();
        if (open_.empty() || open_.back() != name || !take(">")) return Fault::not_well_formed;
        open_.pop_back();
        return Fault::none;
    }

    Fault start_tag() {
        const std::string_view name = take_name();
        if (name.empty() || (open_.empty() && root_seen_)) return Fault::not_well_formed;
        const bool is_root = open_.empty();
        if (is_root && name != "div") return Fault::not_a_div;
        if (!known_elements.holds(name)) return Fault::forbidden_element;
        if (name == "img") something_to_read_ = true;
        bool in_namespace = false;
        Given given;
        for (;;) {
            const bool apart = !rest_.empty() && is_blank(rest_.front());
            skip_blanks();
            if (rest_.empty()) return Fault::not_well_formed;
            if (rest_.front() == '>' || rest_.front() == '/') break;
            if (!apart) return Fault::not_well_formed;
            if (const Fault fault = attribute(in_namespace, given); fault != Fault::none) return fault;
        }
        if (is_root && !in_namespace) return Fault::not_a_div;
        root_seen_ = true;
        if (take("/>")) return Fault::none;
        open_.push_back(name);
        return take(">") ? Fault::none : Fault::not_well_formed;
    }

    Fault attribute(bool& in_namespace, Given& given) {
        const std::string_view name = take_name();
        skip_blanks();
        if (name.empty() || !take("=")) return Fault::not_well_formed;
        skip_blanks();
        const char quote = rest_.empty() ? '\0' : rest_.front();
        if (quote != '"' && quote != '\'') return Fault::not_well_formed;
        const auto end = rest_.find(quote, 1);
        if (end == std::string_view::npos) return Fault::not_well_formed;
        const std::string_view value = rest_.substr(1, end - 1);
        rest_.remove_prefix(end + 1);
        if (value.find('<') != std::string_view::npos || !references_are_whole(value))
            return Fault::not_well_formed;
        const std::size_t index = known_attributes.find(name);
        if (index == narrative_attributes.size()) return Fault::forbidden_attribute;
        if (given.test(index)) return Fault::not_well_formed;
        given.set(index);
        if (name == "xmlns") {
            in_namespace = value == xhtml_namespace;
            return in_namespace ? Fault::none : Fault::not_a_div;
        }
        return (name == "href" || name == "src") && runs_script(value) ? Fault::active_link : Fault::none;
    }

    std::string_view rest_;
    std::vector<std::string_view> open_;
    bool root_seen_ = false;
    bool something_to_read_ = false;
};

}  // namespace

std::string_view words_for(NarrativeFault fault) {
    switch (fault) {
        case Fault::none:
            return {};
        case Fault::not_well_formed:
            return "the narrative is not well-formed XHTML";
        case Fault::not_a_div:
            return "the narrative is not one div in the namespace http://www.w3.org/1999/xhtml";
        case Fault::forbidden_element:
            return "the narrative has an element that is not for showing text";
        case Fault::forbidden_attribute:
            return "the narrative has an attribute that is not for showing text";
        case Fault::active_link:
            return "the narrative has a link that runs a script";
        case Fault::nothing_to_read:
            return "the narrative has nothing to read";
    }
    return {};
}

NarrativeFault fault_in_narrative(std::string_view div) {
    return Scanner(div).scan();
}

}  // namespace nightferry::fhir::check
