// The log of the running hub: what repeats itself is told now and then, in the form that was chosen.
#pragma once

#include <functional>
#include <string_view>

#include "daemon/core/log.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/watching/log_repeats.hpp"

namespace nightferry::watching {

enum class LogForm { text, json, journal };

// What became of an entry for the journal.
enum class JournalAnswer {
    taken,
    held_up,  // It is there and has no room now.
    none,     // It is not there, or cannot take this.
};

// Where lines go. What the journal does not take goes to standard error; but where that leads to the same
// journal and it is held up, lines are lost rather than waited for, and their number is told afterwards.
struct LogOutlets {
    std::function<void(std::string_view line)> standard_error;
    std::function<JournalAnswer(std::string_view entry)> journal;
    bool is_standard_error_the_journal = false;
};

class HubLog final : public Log {
 public:
    HubLog(LogForm form, LogOutlets outlets, Clock& clock)
        : form_(form), outlets_(std::move(outlets)), clock_(clock) {}
    HubLog(const HubLog&) = delete;
    HubLog& operator=(const HubLog&) = delete;
    ~HubLog() override;  // Tells what was left out last.

 private:
    void take(LogEvent what, std::span<const Fact> facts) override;
    void write(const LogLine& line, Instant now);
    void tell_what_was_lost();

    LogForm form_;
    LogOutlets outlets_;
    Clock& clock_;
    LogRepeats repeats_;
    std::int64_t lost_ = 0;
};

// Counts what another log is told.
class CountedLog final : public Log {
 public:
    explicit CountedLog(Log& log) : log_(log), counts_(log_events().size()) {}
    // One for each of log_events().
    const std::vector<std::int64_t>& counts() const { return counts_; }

 private:
    void take(LogEvent what, std::span<const Fact> facts) override;

    Log& log_;
    std::vector<std::int64_t> counts_;
};

}  // namespace nightferry::watching
