#include "daemon/watching/log_forms.hpp"

#include <algorithm>
#include <cstdint>

#include "fhir/json/document.hpp"
#include "fhir/json/utf8.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::watching {

namespace {

std::string time_of(Instant now) {
    return to_text(std::chrono::floor<std::chrono::milliseconds>(now));
}

std::vector<Log::Fact> all_facts(const LogLine& line) {
    std::vector<Log::Fact> facts = line.facts;
    if (line.left_out > 0) {
        facts.emplace_back("left_out", std::to_string(line.left_out));
        facts.emplace_back("since", time_of(line.since));
        facts.emplace_back("newest", time_of(line.newest));
    }
    return facts;
}

// What was left out is over when it is told, so that nobody has to be called for it.
Level level_of(const LogLine& line) {
    return line.left_out > 0 ? Level::info : kind_of(line.event).level;
}

bool needs_quotes(std::string_view text) {
    return text.empty() || std::ranges::any_of(text, [](char c) {
               return c == '"' || c == '\\' || c == '=' || static_cast<unsigned char>(c) <= ' ';
           });
}

void append_value(std::string& line, std::string_view value) {
    if (!needs_quotes(value)) {
        line += value;
        return;
    }
    line += '"';
    for (const char c : value) {
        if (c == '"' || c == '\\') line += '\\';
        line += static_cast<unsigned char>(c) < ' ' ? ' ' : c;
    }
    line += '"';
}

// "clinic_answered_badly clinic=north outcome=http_503"
std::string words_of(const LogLine& line) {
    std::string words(kind_of(line.event).name);
    for (const auto& [key, value] : all_facts(line)) {
        words.append(" ").append(key).append("=");
        append_value(words, value);
    }
    return words;
}

// The severities of RFC 5424 section 6.2.1, as the journal uses them.
char priority_of(Level level) {
    switch (level) {
        case Level::info:
            return '6';
        case Level::warning:
            return '4';
        case Level::error:
            return '3';
    }
    return '6';
}

void append_field(std::string& entry, std::string_view name, std::string_view value) {
    entry += name;
    if (value.find('\n') == std::string_view::npos) {
        entry.append("=").append(value).append("\n");
        return;
    }
    // A value of several lines comes behind its length, little-endian in eight bytes.
    entry += '\n';
    for (std::uint64_t size = value.size(), i = 0; i < 8; ++i, size >>= 8)
        entry += static_cast<char>(size & 0xff);
    entry.append(value).append("\n");
}

}  // namespace

std::string text_line(const LogLine& line, Instant now) {
    return time_of(now) + " " + std::string(word_for(level_of(line))) + " " + words_of(line) + "\n";
}

std::string level_prefix(const LogLine& line) {
    return std::string("<") + priority_of(level_of(line)) + ">";
}

std::string json_line(const LogLine& line, Instant now) {
    fhir::json::Document document;
    fhir::json::Value& root = document.root();
    root.add_string("time", time_of(now));
    root.add_string("level", word_for(level_of(line)));
    root.add_string("event", kind_of(line.event).name);
    for (auto& [key, value] : all_facts(line)) {
        // The system's words may name a path, and paths may hold any bytes.
        for (auto at = fhir::json::find_invalid_utf8(value); at != std::string::npos;
             at = fhir::json::find_invalid_utf8(value))
            value[at] = '?';
        if (is_number(key)) {
            root.add_number(key, value);
        } else {
            root.add_string(key, value);
        }
    }
    return fhir::json::write(root) + "\n";
}

std::string journal_entry(const LogLine& line) {
    std::string entry;
    append_field(entry, "MESSAGE", words_of(line));
    append_field(entry, "PRIORITY", std::string(1, priority_of(level_of(line))));
    append_field(entry, "SYSLOG_IDENTIFIER", "nightferryd");
    append_field(entry, "NIGHTFERRY_EVENT", kind_of(line.event).name);
    for (const auto& [key, value] : all_facts(line)) {
        std::string name = "NIGHTFERRY_";
        for (const char c : key)
            name += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
        append_field(entry, name, value);
    }
    return entry;
}

}  // namespace nightferry::watching
