// Erasing everything of one person for good: the one exception to "nothing is ever removed", for people who
// ask for it. What is left are rows of the audit trail, which hold ids and references and no word of what was
// recorded; without them the chain would not hold.
//
//   1. The mark of doubt: the next opening writes the file anew, and with it goes what free pages and the
//      WAL still hold.
//   2. In one commit: the rows are removed, the audit trail says so, and a mark says that it is not over.
//   3. The logbook is opened again, which writes it anew.
//   4. Copies beside it are removed, and then the mark of step 2.
//   5. What is there now is looked through: for the person, and whether it is sound.
//
// It needs the logbook for itself: whoever is under way to a clinic would write down again what the clinic
// says of the person. Cut short after step 2, whoever opens the logbook next ends it.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "daemon/core/time.hpp"
#include "daemon/logbook/checkup.hpp"
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
    std::vector<Clinic> clinics;
    // Other files beside this one, which may hold the person's entries, too.
    std::vector<std::filesystem::path> copies;

    // Whether the logbook itself holds anything.
    bool is_anything() const { return entries + flags + orders > 0; }
};

Result<Traces> traces_of(Database& db, const std::string& person, const std::filesystem::path& file,
                         Files& files);

struct Erasure {
    std::string person;
    std::string by;      // A carer's key.
    std::string reason;  // Goes into the audit trail for good.
};

// Of step 5, in which nothing of the person was found.
struct Erased {
    Traces before;
    Checkup after;  // Its newest audit row tells of the erasing, and its hash stands for all before it.
};

// All of it, with the logbook `opened` from `file`; whoever follows opens it again. An error that names what
// was erased means that step 3 or 4 is still to come; corrupt: step 5 found something.
Result<Erased> erase(std::unique_ptr<Database> opened, const std::filesystem::path& file,
                     const Erasure& erasure, Instant now, Files& files);

// Of a copy that is put back: its rows are erased, the rest is not to be done any more.
Result<void> drop_begun_erasing(Database& db);

// Step 4, for opening; nothing where no erasing was begun.
Result<void> finish_erasing(Database& db, const std::filesystem::path& file, Files& files);

}  // namespace nightferry::logbook
