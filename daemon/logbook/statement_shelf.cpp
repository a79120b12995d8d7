#include "daemon/logbook/statement_shelf.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <array>

namespace nightferry::logbook {

namespace {

// Pragmas may act when they are prepared, and others run once.
bool is_worth_keeping(std::string_view sql) {
    constexpr std::array<std::string_view, 7> kinds{"SELECT", "INSERT", "UPDATE",  "DELETE",
                                                    "BEGIN",  "COMMIT", "ROLLBACK"};
    return std::any_of(kinds.begin(), kinds.end(),
                       [&](std::string_view kind) { return sql.starts_with(kind); });
}

}  // namespace

sqlite3_stmt* StatementShelf::take(std::string_view sql) {
    const auto found = idle_.find(sql);
    if (found == idle_.end() || found->second.empty()) return nullptr;
    sqlite3_stmt* statement = found->second.back();
    found->second.pop_back();
    return statement;
}

void StatementShelf::put_back(sqlite3_stmt* statement) {
    const std::string_view sql = sqlite3_sql(statement);
    if (is_closed_ || !is_worth_keeping(sql)) {
        sqlite3_finalize(statement);
        return;
    }
    // Its last error was told when it came up.
    sqlite3_reset(statement);
    sqlite3_clear_bindings(statement);
    auto found = idle_.find(sql);
    if (found == idle_.end()) found = idle_.emplace(std::string(sql), std::vector<sqlite3_stmt*>()).first;
    found->second.push_back(statement);
}

void StatementShelf::close() {
    is_closed_ = true;
    for (const auto& [sql, statements] : idle_)
        std::for_each(statements.begin(), statements.end(), sqlite3_finalize);
    idle_.clear();
}

}  // namespace nightferry::logbook
