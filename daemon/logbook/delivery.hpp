// An entry's way to one clinic, as plain data.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/time.hpp"
#include "daemon/entry/entry.hpp"

namespace nightferry::logbook {

// Closed: it was set aside, and a person settled it with the clinic in another way than by sending it.
// Withdrawn: the clinic is not to have it any more; it may have an earlier revision.
enum class DeliveryState { waiting, under_way, confirmed, set_aside, closed, withdrawn };
std::string_view word_for(DeliveryState state);

// The clinic's answer, kept for good.
struct Receipt {
    std::int64_t revision = 0;
    std::string resource_type;
    std::string resource_id;
    std::string version_id;  // Empty when the clinic did not say.
    int http_status = 0;
    Instant received;
    // When the clinic wrote it, as far as its answer shows. Of receipts that are about to be kept.
    enum class Written { just_now, since_the_first_try, at_any_time };
    Written written = Written::just_now;
    std::int64_t number = 0;  // Counts this clinic's receipts in the order in which they came.
    // The clinic wrote it after it had given this many receipts, and before it gave the next after `number`.
    std::int64_t written_after = 0;
};

// That a person closed what was set aside, kept for good.
struct Closing {
    std::int64_t revision = 0;
    Instant at;
    std::string by;  // The carer's key.
    std::string reason;
};

// What is to be taken out of an outbox.
struct TakeOrder {
    std::size_t limit = 1;
    // How many of them at most are taken from the newest, so that today's entries are not stuck behind a long
    // backlog; the others are the longest-waiting.
    std::size_t fresh = 0;
    std::vector<std::string> without = {};  // Persons whose entries stay where they are.
};

// Whether what people wrote in their own words (entry/free_texts.hpp) goes along.
struct FreeTexts {
    bool now = true;
    // How the clinic may have got earlier ones.
    bool ever_sent = true;
    bool ever_left_out = false;
};

// One delivery taken out for sending, with all that making its resource needs.
struct Parcel {
    EntryId id;
    entry::Version wanted;                // The revision the clinic should have.
    std::vector<entry::Version> earlier;  // Every other revision: any of them may be what the clinic holds.
    bool outcome_unknown = false;         // An earlier attempt was sent and never answered.
    bool lost = false;                    // The clinic confirmed it and was then put back to an older state.
    int attempts = 0;                     // Including this one.
    std::optional<Receipt> receipt;       // The newest the clinic gave for this entry.
    std::optional<Receipt> dose_receipt;  // Of the dose that a finding belongs to.
    FreeTexts texts = {};
    // It is no longer shared, but what the clinic has of it was recorded in error: that is told where it is
    // there, and nothing is put there that is not.
    bool only_taken_back = false;
    // Only read back, and never written: the clinic is not to have it any more.
    bool withheld = false;
};

// What became of a parcel.
struct Settlement {
    // Withdrawn: there was nothing to take back.
    enum class Fate { confirmed, again, set_aside, withdrawn };
    EntryId id;
    std::int64_t revision = 0;
    Fate fate = Fate::again;
    std::optional<Receipt> receipt;  // For confirmed.
    bool outcome_unknown = false;    // For again: it was sent and the answer never came.
    bool to_the_back = false;        // For again: let the others go first.
    std::string words;               // Why not confirmed; may hold the clinic's own words.
    bool lost = false;               // For again: the clinic no longer holds what it once confirmed.
};

// How sending to one clinic stands; survives restarts.
// How a pass came to its end.
enum class PassResult {
    all_sent,     // Or set aside, or left out: nothing more can be done now.
    stopped,      // Something has to be put right first, here or there.
    out_of_time,  // The window closed, and something still waits.
};

struct ClinicState {
    int failures = 0;                       // Attempts that failed since the last answer that got through.
    Instant not_before;                     // No attempt before this.
    Instant pass_started;                   // Of the newest pass; the epoch when there was none.
    Instant pass_ended;                     // Of the newest that ended; before its start while another runs.
    std::optional<PassResult> pass_result;  // Of the same; nothing when none has ended.
    std::int64_t pass_confirmed = 0;
    std::int64_t pass_set_aside = 0;
    std::string words;                  // How the newest pass ended, or what it is waiting for.
    std::chrono::microseconds skew{0};  // By how much the clinic's clock was ahead of this hub's, if at all.
    // Something was sent that the clinic cannot tell when it comes late, and may not have come yet.
    bool unguarded = false;
    // The server takes Provenance in transactions, and something was sent in another way: what is found there
    // may have been cut off from its Provenance.
    bool provenance_apart = false;
    // It has created something that was sent on condition, so what it refuses is not refused for that.
    bool knows_conditions = false;
    // By person: the patient that the clinic meant by an identifier, last.
    struct KnownPatient {
        std::string identifier;  // "system|value".
        std::string reference;   // "Patient/…".
        // Why nothing is sent about the person, from when on; empty when it is clear who is meant.
        std::string left_out_because = {};
        Instant left_out_since = {};
        std::string left_out_reference = {};  // The record of the settings that is the wrong one, if any.
        bool operator==(const KnownPatient&) const = default;
    };
    std::map<std::string, KnownPatient> patients = {};
};

struct Delivery {
    std::string clinic;
    EntryId id;
    DeliveryState state = DeliveryState::waiting;
    std::int64_t wanted = 0;
    int attempts = 0;
    std::string words;
    Instant changed;
    std::vector<Receipt> receipts;
    std::vector<Closing> closings;  // Oldest first; all but perhaps the last are of earlier revisions.
};

struct QueueCounts {
    std::int64_t waiting = 0;  // Including those under way.
    std::int64_t confirmed = 0;
    std::int64_t set_aside = 0;
    std::int64_t closed = 0;
    std::int64_t withdrawn = 0;
    // Since when the clinic is owed what it is owed longest. That may be long after it was recorded: where
    // the clinic was told to be sent older entries, a person released it, or the clinic lost it.
    std::optional<Instant> oldest_waiting;
};

}  // namespace nightferry::logbook
