// Whether what SQLite shows is what the disk has, and what is behind an error of SQLite.
#pragma once

#include <filesystem>
#include <optional>

#include "daemon/core/result.hpp"
#include "daemon/logbook/files.hpp"

namespace nightferry::logbook {

// After a failed write or sync nobody knows what the disk has: the system may forget what it could not write
// and still show it.
class Trust {
 public:
    Trust(std::filesystem::path file, Files& files) : file_(std::move(file)), files_(files) {}

    // The error for a failed call. When it leaves doubt, the mark for the next process is left, if the disk
    // still allows that, and from then on lost() tells it.
    Error error_from(int code, int system);
    const std::optional<Error>& lost() const { return lost_; }

 private:
    std::optional<Error> hidden_cause(int code, int system) const;
    Error why_no_file_was_made() const;
    bool may_be_written() const;

    std::filesystem::path file_;
    Files& files_;
    std::optional<Error> lost_;
};

}  // namespace nightferry::logbook
