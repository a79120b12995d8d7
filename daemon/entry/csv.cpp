#include "daemon/entry/csv.hpp"

#include <algorithm>
#include <array>

#include "daemon/core/words.hpp"

namespace nightferry::entry {

char csv_separator(std::string_view text) {
    constexpr std::array candidates{',', ';', '\t'};
    std::array<std::size_t, candidates.size()> counts{};
    bool quoted = false;
    for (const char c : text.substr(std::min(text.find_first_not_of("\r\n"), text.size()))) {
        if (c == '"') quoted = !quoted;
        if (quoted) continue;
        if (c == '\n' || c == '\r') break;
        for (std::size_t i = 0; i < candidates.size(); ++i)
            counts[i] += c == candidates[i] ? 1 : 0;
    }
    const auto best = std::max_element(counts.begin(), counts.end());
    return candidates[static_cast<std::size_t>(best - counts.begin())];
}

namespace {

class RowReader {
 public:
    RowReader(std::string_view text, char separator) : text_(text), separator_(separator) {}

    bool at_end() const { return at_ >= text_.size(); }

    CsvRow next() {
        CsvRow row;
        row.line = line_;
        do {
            row.cells.push_back(cell(row));
        } while (take(separator_));
        end_of_line();
        return row;
    }

 private:
    bool take(char expected) {
        if (at_end() || text_[at_] != expected) return false;
        ++at_;
        return true;
    }

    bool at_line_end() const { return at_end() || text_[at_] == '\n' || text_[at_] == '\r'; }

    std::string cell(CsvRow& row) {
        std::string content;
        while (!at_end() && text_[at_] == ' ')
            ++at_;
        if (!take('"')) {
            while (!at_line_end() && text_[at_] != separator_)
                content += text_[at_++];
            return std::string(trimmed(content));
        }
        while (true) {
            if (at_end()) {
                row.broken = true;
                return {};
            }
            const char c = text_[at_++];
            if (c == '\n') ++line_;
            if (c != '"') {
                content += c;
            } else if (!take('"')) {
                break;
            } else {
                content += '"';
            }
        }
        if (!at_line_end() && text_[at_] != separator_) {
            row.broken = true;
            while (!at_line_end() && text_[at_] != separator_)
                ++at_;
        }
        return std::string(trimmed(content));
    }

    void end_of_line() {
        if (at_end()) return;
        take('\r');
        take('\n');
        ++line_;
    }

    std::string_view text_;
    char separator_;
    std::size_t at_ = 0;
    std::size_t line_ = 1;
};

bool is_blank(const CsvRow& row) {
    return !row.broken &&
           std::all_of(row.cells.begin(), row.cells.end(), [](const std::string& c) { return c.empty(); });
}

}  // namespace

std::vector<CsvRow> csv_rows(std::string_view text, char separator) {
    std::vector<CsvRow> rows;
    RowReader reader(text, separator);
    while (!reader.at_end()) {
        CsvRow row = reader.next();
        if (!is_blank(row)) rows.push_back(std::move(row));
    }
    return rows;
}

}  // namespace nightferry::entry
