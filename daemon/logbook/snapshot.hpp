// A copy of the whole logbook as it stood at one moment, for a backup. It has no name on the disk, so it is
// gone when this object is, or its process.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>

#include "daemon/core/descriptor.hpp"
#include "daemon/core/time.hpp"
#include "daemon/logbook/database.hpp"
#include "daemon/logbook/files.hpp"

namespace nightferry::logbook {

class Snapshot {
 public:
    // Of the database whose file this is; needs as much room again beside it while it is there. It bears the
    // mark of a copy (copied.hpp).
    static Result<Snapshot> take(Database& db, const std::filesystem::path& file, Instant now, Files& files);

    std::uint64_t bytes() const { return bytes_; }
    // At most so many, from there on; none at the end.
    Result<std::string> read(std::uint64_t from, std::size_t most) const;

 private:
    Snapshot(Descriptor opened, std::uint64_t bytes) : opened_(std::move(opened)), bytes_(bytes) {}

    Descriptor opened_;
    std::uint64_t bytes_;
};

}  // namespace nightferry::logbook
