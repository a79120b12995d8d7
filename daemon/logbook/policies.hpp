// The sharing policies in the logbook, and by what entries are judged by them. Used inside this room only.
#pragma once

#include <string>

#include "daemon/entry/sharing_policy.hpp"
#include "daemon/logbook/database.hpp"
#include "daemon/logbook/delivery.hpp"

namespace nightferry::logbook {

// All that the clinic has had; none where nobody ever said what it may have.
Result<entry::SharingHistory> read_policies(Database& db, const std::string& clinic);
Result<void> add_policy(Database& db, const std::string& clinic, const entry::PolicyInForce& policy);

// When the entry's first revision was accepted.
Result<Instant> first_accepted(Database& db, const std::string& entry_id);

// By what an entry of the logbook is judged; `content` is what it says, where that is at hand.
Result<entry::Shareable> shareable_in(Database& db, const std::string& entry_id, const entry::Entry* content);

// What the tables say of it without its text, so that many can be judged in no time. Of a summary the text is
// needed as well.
Result<entry::Shareable> shareable_of(Database& db, const std::string& entry_id, std::string_view kind,
                                      const std::string& person, std::int64_t happened_us);

// Whether a parcel may go out, and how: sets what it has to say of free texts and of taking back.
bool may_go(const entry::SharingHistory& history, Parcel& parcel);

}  // namespace nightferry::logbook
