#include "daemon/report/emphasis.hpp"

#include <array>

namespace nightferry::report {

namespace {

constexpr std::string_view bold = "\x1b[1m";
constexpr std::string_view alarm = "\x1b[1;31m";
constexpr std::string_view plain = "\x1b[0m";

std::string_view line_at(std::string_view text, std::size_t begin) {
    const auto feed = text.find('\n', begin);
    return text.substr(begin, feed == std::string_view::npos ? feed : feed - begin);
}

bool is_heading(std::string_view line, std::string_view next) {
    const bool begins_as_one = !line.empty() && line.front() >= 'A' && line.front() <= 'Z';
    return begins_as_one && line.back() != '.' && line.find("  ") == std::string_view::npos &&
           next.starts_with("  ");
}

// Where the next such word of the line begins, and how long it is.
struct Found {
    std::size_t at = std::string_view::npos;
    std::size_t length = 0;
};

bool is_apart(std::string_view line, std::size_t at, std::size_t length) {
    const auto is_letter = [&](std::size_t i) {
        return i < line.size() && ((line[i] >= 'a' && line[i] <= 'z') || (line[i] >= 'A' && line[i] <= 'Z'));
    };
    return (at == 0 || !is_letter(at - 1)) && !is_letter(at + length);
}

Found first_alarm(std::string_view line, std::size_t from) {
    constexpr std::array<std::string_view, 3> anywhere{"NOT", "UNREADABLE", "RETRACTED"};
    constexpr std::array<std::string_view, 2> at_the_start{"urgent:", "contact:"};
    Found first;
    for (const std::string_view word : anywhere) {
        auto at = line.find(word, from);
        while (at != std::string_view::npos && !is_apart(line, at, word.size()))
            at = line.find(word, at + 1);
        if (at < first.at) first = {at, word.size()};
    }
    const auto text_begins = line.find_first_not_of(' ');
    for (const std::string_view word : at_the_start) {
        const bool is_there = text_begins != std::string_view::npos && text_begins >= from &&
                              line.substr(text_begins).starts_with(word);
        if (is_there) first = {text_begins, word.size()};
    }
    return first;
}

std::string with_alarms(std::string_view line) {
    std::string text;
    std::size_t done = 0;
    for (Found found = first_alarm(line, 0); found.at != std::string_view::npos;
         found = first_alarm(line, done)) {
        text.append(line.substr(done, found.at - done)).append(alarm);
        text.append(line.substr(found.at, found.length)).append(plain);
        done = found.at + found.length;
    }
    return text.append(line.substr(done));
}

}  // namespace

std::string with_emphasis(std::string_view text) {
    std::string all;
    for (std::size_t begin = 0; begin < text.size();) {
        const std::string_view line = line_at(text, begin);
        const std::size_t next = begin + line.size() + 1;
        if (next <= text.size() && is_heading(line, line_at(text, next))) {
            all.append(bold).append(line).append(plain);
        } else {
            all += with_alarms(line);
        }
        if (next <= text.size()) all += '\n';
        begin = next;
    }
    return all;
}

}  // namespace nightferry::report
