// What became of flags over time: raised once, then cleared by later facts or settled by a person. Events are
// kept for good; where a flag stands is told by its last one.
#pragma once

#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/care/flag.hpp"

namespace nightferry::care {

enum class FlagEventKind {
    raised,   // It arises.
    cleared,  // It does not arise any more: entries came or were corrected, or a note has become old.
    settled,  // A person dealt with it.
};

struct FlagEvent {
    std::string key;
    FlagEventKind what = FlagEventKind::raised;
    Instant at;
    Level level = Level::note;  // As it was then,
    Instant about;
    std::string reason;  // with its facts.
    std::string by;      // Who settled it, a carer's key;
    std::string words;   // and what came of it.
};

std::string_view word_for(FlagEventKind kind);
std::optional<FlagEventKind> flag_event(std::string_view word);

// All events of each flag, in their order; none is empty.
using FlagHistory = std::map<std::string, std::vector<FlagEvent>>;

// What has to be added to the history when these flags arise now: those that are new or come back are raised,
// and those that are open and do not arise are cleared. What a person settled is raised again only after it
// was cleared.
std::vector<FlagEvent> changes_of(const FlagHistory& history, std::span<const Flag> arising, Instant now);

// Whether somebody should still look at it.
bool is_open(const FlagHistory& history, const std::string& key);

}  // namespace nightferry::care
