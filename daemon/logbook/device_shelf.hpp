// The phones that carers paired with the page, and those that may not use it any more. Rows are added and
// end, and are never removed. Of the token by which a phone is known there is its SHA-256 only.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/time.hpp"
#include "daemon/logbook/database.hpp"

namespace nightferry::logbook {

struct Device {
    std::string id;
    std::string name;   // As whoever paired it calls it.
    std::string carer;  // The key of the one who uses it.
    std::string token_hash;
    Instant paired;
    std::optional<Instant> revoked;
    std::string seen_on;  // The day at home when it was used last, "2026-10-12"; empty: never.
};

class DeviceShelf {
 public:
    explicit DeviceShelf(Database& db) : db_(db) {}

    // Each of these three is one commit, with its row of the audit trail where it has one.
    Result<void> add(const Device& device);
    // Whether there is such a device; one that was revoked before stays as it was. `by` is a carer's key.
    Result<bool> revoke(const std::string& id, const std::string& by, Instant now);
    Result<void> note_use(const std::string& id, const std::string& day);

    // The one with that token that was not revoked. It takes as long wherever hashes differ.
    Result<std::optional<Device>> find(std::string_view token_hash);
    // All of them, the one that was paired first first.
    Result<std::vector<Device>> list();

 private:
    Database& db_;
};

// Inside a transaction: a copy knows nothing of what was revoked since it was made, so of the devices in it
// none may go on. For this room.
Result<void> revoke_every_device(Database& db, Instant now);

}  // namespace nightferry::logbook
