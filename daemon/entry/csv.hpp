// RFC 4180 rows, with the separator that spreadsheets of the reader's country use.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightferry::entry {

struct CsvRow {
    std::size_t line = 1;  // Where the row starts, counted from 1.
    std::vector<std::string> cells;
    bool broken = false;  // A quoted cell that never ends, or text behind a closing quote.
};

// Comma, semicolon or tab, whichever the header row uses most outside quotes; comma when it uses none.
char csv_separator(std::string_view text);

// All rows that are not blank. Line ends may be LF, CRLF or CR; cells keep their inner line feeds.
std::vector<CsvRow> csv_rows(std::string_view text, char separator);

}  // namespace nightferry::entry
