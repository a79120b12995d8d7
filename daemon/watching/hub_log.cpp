#include "daemon/watching/hub_log.hpp"

#include "daemon/watching/log_forms.hpp"

namespace nightferry::watching {

HubLog::~HubLog() {
    const Instant now = clock_.now();
    for (const LogLine& line : repeats_.at_end())
        write(line, now);
}

void HubLog::take(LogEvent what, std::span<const Fact> facts) {
    const Instant now = clock_.now();
    for (const LogLine& line : repeats_.on(what, facts, now))
        write(line, now);
}

void HubLog::write(const LogLine& line, Instant now) {
    if (form_ == LogForm::journal) {
        const JournalAnswer answer = outlets_.journal(journal_entry(line));
        if (answer == JournalAnswer::taken) return tell_what_was_lost();
        if (answer == JournalAnswer::held_up && outlets_.is_standard_error_the_journal) {
            ++lost_;
            return;
        }
    }
    const std::string prefix = outlets_.is_standard_error_the_journal ? level_prefix(line) : "";
    outlets_.standard_error(prefix + (form_ == LogForm::json ? json_line(line, now) : text_line(line, now)));
}

void HubLog::tell_what_was_lost() {
    if (lost_ == 0) return;
    const LogLine line{LogEvent::log_lines_lost, {{"number", std::to_string(lost_)}}};
    if (outlets_.journal(journal_entry(line)) == JournalAnswer::taken) lost_ = 0;
}

void CountedLog::take(LogEvent what, std::span<const Fact> facts) {
    ++counts_[static_cast<std::size_t>(what)];
    log_.pass_on(what, facts);
}

}  // namespace nightferry::watching
