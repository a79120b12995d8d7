#include "daemon/watching/log_repeats.hpp"

#include <algorithm>
#include <array>

namespace nightferry::watching {

namespace {

// There are as many as events times clinics times outcomes; beyond this every line is written.
constexpr std::size_t remembered_max = 1000;

std::string identity_of(LogEvent event, std::span<const Log::Fact> facts) {
    constexpr std::array<std::string_view, 3> identifying{"clinic", "what", "outcome"};
    std::string identity(kind_of(event).name);
    for (const auto& [key, value] : facts) {
        if (std::ranges::find(identifying, key) != identifying.end()) identity += '\n' + value;
    }
    return identity;
}

}  // namespace

std::vector<LogLine> LogRepeats::on(LogEvent event, std::span<const Log::Fact> facts, Instant now) {
    std::vector<LogLine> lines;
    // How it ended is the last line.
    const bool is_last = event == LogEvent::ended || event == LogEvent::stopped;
    for (auto one = told_.begin(); one != told_.end();) {
        const Told& told = one->second;
        // A clock that was set back would silence it for long.
        const bool is_over = is_last || now < told.at || now - told.at >= kind_of(told.newest.event).pause;
        if (is_over && told.newest.left_out > 0) lines.push_back(told.newest);
        one = is_over ? told_.erase(one) : std::next(one);
    }
    LogLine line{event, {facts.begin(), facts.end()}};
    if (kind_of(event).pause.count() > 0) {
        std::string identity = identity_of(event, facts);
        const auto told = told_.find(identity);
        if (told != told_.end()) {
            const LogLine& before = told->second.newest;
            line.left_out = before.left_out + 1;
            line.since = before.left_out > 0 ? before.since : now;
            line.newest = now;
            told->second.newest = std::move(line);
            return lines;
        }
        if (told_.size() < remembered_max) told_.emplace(std::move(identity), Told{now, line});
    }
    lines.push_back(std::move(line));
    return lines;
}

std::vector<LogLine> LogRepeats::at_end() {
    std::vector<LogLine> lines;
    for (const auto& [identity, told] : told_) {
        if (told.newest.left_out > 0) lines.push_back(told.newest);
    }
    told_.clear();
    return lines;
}

}  // namespace nightferry::watching
