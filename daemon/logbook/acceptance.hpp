// Decides what becomes of a submission beside what the logbook already holds of its entry. Pure.
#pragma once

#include <string>
#include <vector>

#include "daemon/entry/entry.hpp"

namespace nightferry::logbook {

struct KnownRevision {
    std::int64_t revision = 0;
    entry::Submission submission;
};

struct Verdict {
    enum class Kind { add, already_there, conflict };
    Kind kind = Kind::conflict;
    std::int64_t revision = 0;     // The one to add, or the one that already says this.
    bool becomes_current = false;  // False when a later-recorded revision is already there.
    bool is_retracted = false;     // For already there: the entry has been retracted since.
    std::string words;             // For a conflict: why, and what to do.
};

// The revision in effect: a retraction if there is one, else the one recorded last, whatever the order of
// arrival. `known` is not empty.
const KnownRevision& current_of(const std::vector<KnownRevision>& known);

// `known` are all revisions of the same entry id, empty for a new one. Handing in again what any of them
// says is no change; nothing is ever overwritten.
Verdict judge(const std::vector<KnownRevision>& known, const entry::Submission& incoming);

}  // namespace nightferry::logbook
