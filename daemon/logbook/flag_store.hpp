// What became of flags, kept for good.
#pragma once

#include <span>
#include <string>

#include "daemon/care/flag_history.hpp"
#include "daemon/logbook/database.hpp"

namespace nightferry::logbook {

class FlagStore {
 public:
    explicit FlagStore(Database& db) : db_(db) {}

    Result<care::FlagHistory> history(const std::string& person);
    // All of them in one commit.
    Result<void> add(const std::string& person, std::span<const care::FlagEvent> events);

 private:
    Database& db_;
};

}  // namespace nightferry::logbook
