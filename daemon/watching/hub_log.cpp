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
    if (form_ == LogForm::journal && outlets_.journal(journal_entry(line))) return;
    outlets_.standard_error(form_ == LogForm::json ? json_line(line, now) : text_line(line, now));
}

void CountedLog::take(LogEvent what, std::span<const Fact> facts) {
    ++counts_[static_cast<std::size_t>(what)];
    log_.pass_on(what, facts);
}

}  // namespace nightferry::watching
