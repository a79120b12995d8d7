#include "daemon/service/text_log.hpp"

#include <cstdio>

namespace nightferry::service {

namespace {

std::string_view word_for(Level level) {
    switch (level) {
        case Level::info:
            return "info";
        case Level::warning:
            return "warning";
        case Level::error:
            return "error";
    }
    return {};
}

bool needs_quotes(std::string_view text) {
    return text.empty() || text.find_first_of(" \"=\\\n\t") != std::string_view::npos;
}

}  // namespace

void TextLog::event(Level level, std::string_view name, std::initializer_list<Fact> facts) {
    std::string line = to_text(std::chrono::floor<std::chrono::milliseconds>(clock_.now()));
    line.append(" ").append(word_for(level)).append(" ").append(name);
    for (const auto& [key, value] : facts) {
        line.append(" ").append(key).append("=");
        if (!needs_quotes(value)) {
            line += value;
            continue;
        }
        line += '"';
        for (const char c : value) {
            if (c == '"' || c == '\\') line += '\\';
            line += c == '\n' || c == '\t' ? ' ' : c;
        }
        line += '"';
    }
    line += '\n';
    std::fwrite(line.data(), 1, line.size(), stderr);
}

}  // namespace nightferry::service
