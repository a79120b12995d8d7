// What each clinic has still to get: the only writer of receipts, and of what sending and people do to
// deliveries.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "daemon/logbook/database.hpp"
#include "daemon/logbook/delivery.hpp"

namespace nightferry::logbook {

class Outbox {
 public:
    explicit Outbox(Database& db) : db_(db) {}

    // Takes out waiting deliveries as ordered and marks them under way with one more attempt; they come in
    // the order in which they wait. When this returns, the marks are on disk: a crash afterwards is
    // remembered as an unknown outcome. What went to the back once is never among the fresh ones. What the
    // clinic may not have (any more) does not come out but is withdrawn.
    Result<std::vector<Parcel>> take(const std::string& clinic, const TakeOrder& order, Instant now);

    // Deliveries that are confirmed, wait with a later revision or are withdrawn, and whose newest receipt
    // has a number below this, the highest first, as parcels to compare with what the clinic holds. What
    // cannot be read any more is left out.
    Result<std::vector<Parcel>> recall(const std::string& clinic, std::int64_t below, std::size_t limit);

    // What take() would take out in the end if nothing changed, as parcels in the order in which they wait;
    // nothing is marked. With `entries`, what it would take out of these if they waited as well.
    Result<std::vector<Parcel>> preview(const std::string& clinic, std::span<const EntryId> entries,
                                        std::size_t limit);

    // Stores all settlements and the clinic's state in one commit. A delivery whose entry was amended while
    // it was under way goes back to waiting, whatever became of the old revision.
    Result<void> settle(const std::string& clinic, std::span<const Settlement> settlements,
                        const ClinicState& state, Instant now);

    Result<ClinicState> state(const std::string& clinic);
    // Rises when what is known of a clinic's patients changes.
    std::int64_t patient_changes() const { return patient_changes_; }
    Result<QueueCounts> counts(const std::string& clinic);
    // Deliveries in one state, the longest-waiting first.
    Result<std::vector<Delivery>> in_state(const std::string& clinic, DeliveryState state, std::size_t limit);

    // Sends what was set aside once more: one entry, or all when no id is given. Returns how many.
    Result<std::int64_t> release(const std::string& clinic, const std::optional<EntryId>& id, Instant now);
    // Closes what was set aside: nothing is sent, and only a later revision opens it again. False, and
    // nothing changed, when it is not set aside. `by` is a carer's key.
    Result<bool> close(const std::string& clinic, const EntryId& id, const std::string& by,
                       const std::string& reason, Instant now);

 private:
    Result<Parcel> parcel(const std::string& clinic, const EntryId& id, std::int64_t wanted);
    Result<void> mark_under_way(const std::string& clinic, const EntryId& id, Instant now);
    Result<void> withdraw(const std::string& clinic, const Parcel& parcel, Instant now);
    Result<void> keep_receipt(const std::string& clinic, const Settlement& settlement);
    Result<void> note_settled(const std::string& clinic, const Settlement& settlement, Instant now);
    Result<void> settle_one(const std::string& clinic, const Settlement& settlement, Instant now);
    Result<void> save(const std::string& clinic, const ClinicState& state);

    Database& db_;
    std::int64_t patient_changes_ = 0;
};

}  // namespace nightferry::logbook
