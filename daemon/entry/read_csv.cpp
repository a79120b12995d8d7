// A family's spreadsheet to drafts. Columns are the fields of the entry format; in place of `time` there may
// be `date` and `clock`, and a date column states its own order: date(DD.MM.YYYY).
#include <algorithm>
#include <array>
#include <optional>
#include <string>

#include "daemon/core/time.hpp"
#include "daemon/core/words.hpp"
#include "daemon/entry/check.hpp"
#include "daemon/entry/csv.hpp"
#include "daemon/entry/reader.hpp"

namespace nightferry::entry {

namespace {

constexpr char broken_quote[] =
    "a quoted cell does not end properly; close it with one \" and write \"\" for a quotation mark inside it";

struct DateColumn {
    std::string_view name;
    std::string_view form;
    std::string_view example;
    DateForm order;
};

constexpr std::array date_columns{
    DateColumn{"date", "YYYY-MM-DD", "2026-10-31", DateForm::year_month_day},
    DateColumn{"date(YYYY-MM-DD)", "YYYY-MM-DD", "2026-10-31", DateForm::year_month_day},
    DateColumn{"date(DD.MM.YYYY)", "DD.MM.YYYY", "31.10.2026", DateForm::day_month_year},
    DateColumn{"date(DD/MM/YYYY)", "DD/MM/YYYY", "31/10/2026", DateForm::day_month_year},
    DateColumn{"date(MM/DD/YYYY)", "MM/DD/YYYY", "10/31/2026", DateForm::month_day_year},
};

const DateColumn* date_column(std::string_view name) {
    const auto it = std::find_if(date_columns.begin(), date_columns.end(),
                                 [&](const DateColumn& column) { return column.name == name; });
    return it == date_columns.end() ? nullptr : &*it;
}

std::string cell_place(std::size_t line, std::string_view column) {
    return "line " + std::to_string(line) + ", column " + std::string(column);
}

std::optional<Problem> header_problem(const CsvRow& header) {
    std::vector<std::string_view> known = field_names();
    known.push_back("clock");
    for (const DateColumn& column : date_columns)
        known.push_back(column.name);
    for (std::size_t i = 0; i < header.cells.size(); ++i) {
        const std::string& name = header.cells[i];
        const std::string where = "line " + std::to_string(header.line) + ", column " + std::to_string(i + 1);
        if (name.empty()) return Problem{where, "this column has no name in the header row"};
        if (std::find(known.begin(), known.end(), name) == known.end()) {
            return Problem{where, in_quotes(name) + " is not a column we know." + did_you_mean(name, known)};
        }
        if (std::count(header.cells.begin(), header.cells.end(), name) > 1) {
            return Problem{where, in_quotes(name) + " stands in the header row twice"};
        }
    }
    const auto has = [&](std::string_view name) {
        return std::find(header.cells.begin(), header.cells.end(), name) != header.cells.end();
    };
    const auto dates = std::count_if(header.cells.begin(), header.cells.end(),
                                     [](const std::string& name) { return date_column(name) != nullptr; });
    const std::string row = "line " + std::to_string(header.line);
    if (dates > 1) return Problem{row, "there is more than one date column; keep one"};
    if (has("time") && (dates > 0 || has("clock"))) {
        return Problem{row, "there are a time column and date or clock columns; keep either"};
    }
    if ((dates > 0) != has("clock"))
        return Problem{row, "a date column and a clock column are needed together"};
    return std::nullopt;
}

// Joins `date` and `clock` of one row into the field `time`.
void join_time(Draft& draft, const Field& date, const Field& clock) {
    draft.unreadable.emplace_back("time");
    const DateColumn& column = *date_column(date.name);
    const auto day = parse_date(date.text, column.order);
    // "8:30", and with its offset "08:30+01:00" for an hour that comes twice.
    const std::string padded = clock.text.size() > 1 && clock.text[1] == ':' ? "0" + clock.text : clock.text;
    const bool is_clock = parse_time("2000-01-01 " + padded).has_value();
    if (!day) {
        draft.problems.push_back(
            {date.where, in_quotes(date.text) + " is not a date in the form " + std::string(column.form) +
                             " that the column states; write it like " + std::string(column.example)});
    }
    if (!is_clock) {
        draft.problems.push_back(
            {clock.where,
             in_quotes(clock.text) + " is not a time of day; write 08:00 or 20:15, by the 24-hour clock"});
    }
    if (day && is_clock) draft.fields.push_back({"time", to_text(*day) + " " + padded, clock.where});
}

Draft draft_from(const CsvRow& header, const CsvRow& row) {
    Draft draft;
    draft.where = "line " + std::to_string(row.line);
    if (row.broken) {
        draft.problems.push_back({draft.where, broken_quote});
        return draft;
    }
    if (row.cells.size() != header.cells.size()) {
        draft.problems.push_back(
            {draft.where,
             "found " + counted(row.cells.size(), "cell", "cells") + ", expected " +
                 std::to_string(header.cells.size()) +
                 " as in the header row; put a text or a decimal with a separator in it in quotes, and "
                 "keep empty cells"});
        return draft;
    }
    std::optional<Field> date;
    std::optional<Field> clock;
    for (std::size_t i = 0; i < row.cells.size(); ++i) {
        if (row.cells[i].empty()) continue;
        Field field{header.cells[i], row.cells[i], cell_place(row.line, header.cells[i])};
        if (date_column(field.name) != nullptr) {
            date = std::move(field);
        } else if (field.name == "clock") {
            clock = std::move(field);
        } else {
            draft.fields.push_back(std::move(field));
        }
    }
    if (date && clock) {
        join_time(draft, *date, *clock);
    } else if (date || clock) {
        draft.unreadable.emplace_back("time");
        draft.problems.push_back(
            {draft.where, date ? "there is a date but no clock time" : "there is a clock time but no date"});
    }
    return draft;
}

}  // namespace

Reading read_csv(std::string_view text, const Limits& limits) {
    Reading reading;
    const std::vector<CsvRow> rows = csv_rows(text, csv_separator(text));
    if (!rows.empty() && rows.front().broken) {
        reading.failure = Problem{"line " + std::to_string(rows.front().line), broken_quote};
        return reading;
    }
    if (rows.size() < 2) {
        reading.failure =
            Problem{"line 1", "expected a header row with the column names and at least one row below it"};
        return reading;
    }
    reading.failure = header_problem(rows.front());
    if (reading.failure) return reading;
    if (rows.size() - 1 > limits.entries) {
        reading.failure = Problem{{},
                                  "it holds " + std::to_string(rows.size() - 1) + " rows; at most " +
                                      std::to_string(limits.entries) + " are taken at once"};
        return reading;
    }
    for (std::size_t i = 1; i < rows.size(); ++i)
        reading.drafts.push_back(draft_from(rows.front(), rows[i]));
    return reading;
}

}  // namespace nightferry::entry
