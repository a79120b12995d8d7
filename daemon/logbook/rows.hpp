// Between table rows and our types. Used inside this room only.
#pragma once

#include <vector>

#include "daemon/entry/body.hpp"
#include "daemon/logbook/acceptance.hpp"
#include "daemon/logbook/database.hpp"
#include "daemon/logbook/delivery.hpp"
#include "daemon/logbook/logbook.hpp"

namespace nightferry::logbook {

inline std::int64_t micros(Instant instant) {
    return instant.time_since_epoch().count();
}
inline Instant instant_from(std::int64_t value) {
    return Instant{std::chrono::microseconds{value}};
}

// The first column of every row that a query yields.
Result<std::vector<std::string>> texts_of(Database& db, const char* sql);

DeliveryState state_from(std::string_view word);

// The receipts of one delivery, oldest first.
Result<std::vector<Receipt>> receipts_of(Database& db, const std::string& clinic,
                                         const std::string& entry_id);

// What people closed of it, oldest first.
Result<std::vector<Closing>> closings_of(Database& db, const std::string& clinic,
                                         const std::string& entry_id);

// The same as judge() wants them.
Result<std::vector<KnownRevision>> revisions_of(Database& db, const std::string& entry_id);

// All revisions of an entry, in the order of arrival, as they are shown.
Result<std::vector<entry::Version>> versions_of(Database& db, const std::string& entry_id);

// The same of every entry that a query yields as rows of entry id, revision, time of acceptance and body,
// each entry's rows together.
Result<PersonHistory> read_history(Statement& rows);

// The one in effect; `versions` is not empty.
const entry::Version& in_effect(const std::vector<entry::Version>& versions);

}  // namespace nightferry::logbook
