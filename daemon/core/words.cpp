#include "daemon/core/words.hpp"

#include <algorithm>

namespace nightferry {

namespace {

std::string joined(std::span<const std::string_view> items, std::string_view last) {
    std::string text;
    for (std::size_t i = 0; i < items.size(); ++i) {
        if (i > 0) text += i + 1 == items.size() ? last : std::string_view(", ");
        text += items[i];
    }
    return text;
}

// Levenshtein distance; both texts are names, so the table stays tiny.
std::size_t distance(std::string_view a, std::string_view b) {
    std::vector<std::size_t> row(b.size() + 1);
    for (std::size_t j = 0; j <= b.size(); ++j)
        row[j] = j;
    for (std::size_t i = 1; i <= a.size(); ++i) {
        std::size_t diagonal = row[0];
        row[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const std::size_t replace = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
            diagonal = row[j];
            row[j] = std::min({row[j] + 1, row[j - 1] + 1, replace});
        }
    }
    return row[b.size()];
}

// The length of the UTF-8 sequence that starts the text, or 0 when it is not valid UTF-8.
std::size_t sequence_length(std::string_view text) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
    const auto follows = [&](std::size_t i) { return i < text.size() && (byte(i) & 0xC0) == 0x80; };
    const unsigned first = byte(0);
    if (first < 0x80) return 1;
    if (first >= 0xC2 && first <= 0xDF) return follows(1) ? 2 : 0;
    if (first >= 0xE0 && first <= 0xEF) {
        if (!follows(1) || !follows(2)) return 0;
        const bool overlong = first == 0xE0 && byte(1) < 0xA0;
        const bool surrogate = first == 0xED && byte(1) > 0x9F;
        return overlong || surrogate ? 0 : 3;
    }
    if (first >= 0xF0 && first <= 0xF4) {
        if (!follows(1) || !follows(2) || !follows(3)) return 0;
        const bool overlong = first == 0xF0 && byte(1) < 0x90;
        const bool beyond = first == 0xF4 && byte(1) > 0x8F;
        return overlong || beyond ? 0 : 4;
    }
    return 0;
}

bool is_control(std::string_view sequence) {
    const auto first = static_cast<unsigned char>(sequence[0]);
    if (sequence.size() == 1) return first < 0x20 || first == 0x7F;
    return sequence.size() == 2 && first == 0xC2 && static_cast<unsigned char>(sequence[1]) < 0xA0;
}

}  // namespace

std::string any_of(std::span<const std::string_view> choices) {
    return joined(choices, " or ");
}

std::string all_of(std::span<const std::string_view> items) {
    return joined(items, " and ");
}

std::string did_you_mean(std::string_view written, std::span<const std::string_view> choices) {
    if (written.empty() || written.size() > 64) return {};
    std::string_view best;
    std::size_t best_distance = std::max<std::size_t>(1, written.size() / 3) + 1;
    for (const std::string_view choice : choices) {
        const std::size_t d = distance(written, choice);
        if (d < best_distance) {
            best_distance = d;
            best = choice;
        }
    }
    return best.empty() ? std::string() : " Did you mean '" + std::string(best) + "'?";
}

std::string counted(std::size_t count, std::string_view one, std::string_view many) {
    return std::to_string(count) + " " + std::string(count == 1 ? one : many);
}

std::string in_quotes(std::string_view text) {
    constexpr std::size_t limit = 60;
    std::string shown = "'";
    while (!text.empty()) {
        const std::size_t length = sequence_length(text);
        if (shown.size() + std::max<std::size_t>(length, 1) > limit + 1) {
            shown += "…";
            break;
        }
        const bool printable = length > 0 && !is_control(text.substr(0, length));
        shown += printable ? text.substr(0, length) : std::string_view("?");
        text.remove_prefix(std::max<std::size_t>(length, 1));
    }
    return shown + "'";
}

std::string_view trimmed(std::string_view text) {
    const auto is_blank = [](char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; };
    while (!text.empty() && is_blank(text.front()))
        text.remove_prefix(1);
    while (!text.empty() && is_blank(text.back()))
        text.remove_suffix(1);
    return text;
}

std::size_t characters_in(std::string_view text) {
    return static_cast<std::size_t>(std::count_if(
        text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

bool is_plain_text(std::string_view text, bool with_line_feeds) {
    while (!text.empty()) {
        const std::size_t length = sequence_length(text);
        if (length == 0) return false;
        const bool allowed_break = with_line_feeds && (text[0] == '\n' || text[0] == '\t');
        if (!allowed_break && is_control(text.substr(0, length))) return false;
        text.remove_prefix(length);
    }
    return true;
}

}  // namespace nightferry
