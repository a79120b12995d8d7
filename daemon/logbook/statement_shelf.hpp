// Prepared statements that nobody uses at the moment, by their text: preparing one again costs more than most
// of them take to run.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

struct sqlite3_stmt;

namespace nightferry::logbook {

class StatementShelf {
 public:
    StatementShelf() = default;
    StatementShelf(const StatementShelf&) = delete;
    StatementShelf& operator=(const StatementShelf&) = delete;
    ~StatementShelf() { close(); }

    // Null when there is none with this text.
    sqlite3_stmt* take(std::string_view sql);
    // Takes it back, ready for another use; finalizes what is not worth keeping.
    void put_back(sqlite3_stmt* statement);
    // Finalizes all, also those that come back from now on: the database is about to be closed.
    void close();

 private:
    bool is_closed_ = false;
    std::map<std::string, std::vector<sqlite3_stmt*>, std::less<>> idle_;
};

}  // namespace nightferry::logbook
