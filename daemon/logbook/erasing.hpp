// Erasing everything of one person for good: the one exception to "nothing is ever removed", for people who
// ask for it. What is left are rows of the audit trail, which hold ids and references and no word of what was
// recorded; without them the chain would not hold.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "daemon/core/time.hpp"
#include "daemon/logbook/database.hpp"
#include "daemon/logbook/files.hpp"

namespace nightferry::logbook {

// What there is of a person.
struct Traces {
    struct Clinic {
        std::string name;
        std::int64_t confirmed = 0;  // Entries that it has.
        std::int64_t perhaps = 0;    // Those that were sent, and nobody knows whether they arrived.
    };
    std::int64_t entries = 0;
    std::int64_t revisions = 0;
    std::int64_t flags = 0;   // What became of flags.
    std::int64_t orders = 0;  // What clinics listed as ordered, and who they take the person for.
    std::int64_t under_way = 0;
    std::vector<Clinic> clinics;
    // Other logbooks beside this one, which may hold the person's entries, too.
    std::vector<std::filesystem::path> copies;

    bool is_anything() const { return entries + flags + orders > 0 || !copies.empty(); }
};

Result<Traces> traces_of(Database& db, const std::string& person, const std::filesystem::path& file,
                         Files& files);

// Removes all of it, the copies included, and writes the file anew so that nothing of it is left in free
// pages or in the WAL. `by` is a carer's key; the reason goes into the audit trail for good. Errc::locked,
// and nothing is changed, while something of the person is under way to a clinic. Cut short, it is done
// again; then it ends what was begun.
Result<Traces> erase(Database& db, const std::string& person, const std::string& by,
                     const std::string& reason, const std::filesystem::path& file, Instant now, Files& files);

}  // namespace nightferry::logbook
