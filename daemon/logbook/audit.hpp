// The audit trail: what became of every entry, who was to have it and who got it. Append-only, and chained:
// each row bears the SHA-256 over the row before it and itself, so that whoever changes or takes out a row
// breaks the chain there. config/audit-format.md documents rows and chain.
//
// Invariants:
//   (1) A row is written in the same transaction as what it tells.
//   (2) Rows name entries, revisions, clinics, carers and resources; they never hold what an entry says, nor
//       a clinic's words.
//   (3) Writing one costs the same however long the trail is.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/time.hpp"
#include "daemon/logbook/database.hpp"

namespace nightferry::logbook {

enum class AuditEvent {
    accepted,    // An entry was recorded.
    amended,     // A later version of it.
    retracted,   // It was recorded in error.
    owed,        // A clinic that was set up is to have it.
    back_dated,  // A clinic is to have it because its policy was back-dated.
    sent,        // It was taken out to be sent; whether it arrives is not known yet.
    confirmed,   // The clinic's receipt came.
    set_aside,   // A person has to look at it.
    released,    // A person had it sent again.
    closed,      // A person settled it with the clinic.
    withdrawn,   // It is not sent any more, because it is no longer shared.
    policy,      // What a clinic may have was changed.
    restored,    // The logbook was put back from a copy: everything above is as the copy had it.
    erased,      // Everything of one person was erased for good.
    paired,      // A carer's phone may use the page from now on.
    unpaired,    // It may not any more.
};
std::string_view word_for(AuditEvent event);

// What is to be told; what does not apply stays empty.
struct AuditNote {
    AuditEvent event = AuditEvent::accepted;
    std::string clinic;
    std::string entry;
    std::int64_t revision = 0;
    std::string detail;
};

struct AuditRow {
    std::int64_t number = 0;  // Counts from 1 without a gap.
    Instant at;
    std::string event;
    std::string clinic;
    std::string entry;
    std::int64_t revision = 0;
    std::string detail;
    std::string hash;  // 64 hexadecimal digits.
};

// What a row bears in the place of words that people wrote, which never stand in it: whoever has the words
// can see whether they are still the same. "sha256:" and 64 hexadecimal digits.
std::string digest_of(std::string_view words);

// What the row's hash has to be. `previous` is the hash of the row before it; empty for the first.
std::string hash_of(std::string_view previous, const AuditRow& row);

// Follows the chain, row by row from the first.
class ChainCheck {
 public:
    // What is wrong with the row, in words; nothing while the chain holds. After a fault nothing more is
    // found.
    std::optional<std::string> next(const AuditRow& row);
    std::int64_t rows() const { return rows_; }
    const std::string& newest() const { return newest_; }

 private:
    std::int64_t rows_ = 0;
    std::string newest_;
};

class AuditTrail {
 public:
    explicit AuditTrail(Database& db) : db_(db) {}
    // Rows whose number is above `after`, in their order; those of one entry, where its id is given.
    Result<std::vector<AuditRow>> rows(std::int64_t after, std::int64_t limit, std::string_view entry = {});

 private:
    Database& db_;
};

// Adds a row, inside a transaction. For this room.
Result<void> note(Database& db, const AuditNote& what, Instant now);

}  // namespace nightferry::logbook
