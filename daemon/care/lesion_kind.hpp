// What looks at the body have in common when they are at one thing.
#pragma once

#include "daemon/entry/entry.hpp"

namespace nightferry::care {

// Looked for and not there any more.
inline bool is_gone(const entry::Finding& finding) {
    return !finding.present || (finding.length_cm && finding.length_cm->is_zero());
}

// What a finding may turn out to have been from the start: a haematoma a bruise, a hardening a lump.
inline entry::FindingKind kin_of(entry::FindingKind kind) {
    if (kind == entry::FindingKind::haematoma) return entry::FindingKind::bruise;
    return kind == entry::FindingKind::hardening ? entry::FindingKind::lump : kind;
}

}  // namespace nightferry::care
