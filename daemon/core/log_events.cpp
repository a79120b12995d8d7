#include "daemon/core/log_events.hpp"

#include <algorithm>
#include <array>
#include <cassert>

namespace nightferry {

namespace {

constexpr std::chrono::minutes always{0};
constexpr std::chrono::minutes hourly{60};
constexpr std::chrono::minutes daily{24 * 60};

// No fact may hold what an entry says, the name of a person or a carer, or a clinic's words.
constexpr std::array kinds{
    LogEventKind{LogEvent::ready, "ready", Level::info, "clinics", always},
    LogEventKind{LogEvent::reloading, "reloading", Level::info, "", always},
    LogEventKind{LogEvent::reloaded, "reloaded", Level::info, "clinics", always},
    LogEventKind{LogEvent::reload_refused, "reload_refused", Level::error, "", always},
    LogEventKind{LogEvent::restart_needed, "restart_needed", Level::warning, "key", always},
    LogEventKind{LogEvent::settings_problem, "settings_problem", Level::error, "file line key clinic reason",
                 always},
    LogEventKind{LogEvent::stopping, "stopping", Level::info, "", always},
    LogEventKind{LogEvent::stopped, "stopped", Level::info, "", always},
    LogEventKind{LogEvent::ended, "ended", Level::error, "status reason", always},
    LogEventKind{LogEvent::not_closed_cleanly, "not_closed_cleanly", Level::warning, "reason", always},
    LogEventKind{LogEvent::logbook_begun, "logbook_begun", Level::info, "", always},
    LogEventKind{LogEvent::logbook_failed, "logbook_failed", Level::error, "reason", always},
    LogEventKind{LogEvent::disk_full, "disk_full", Level::error, "what clinic reason", hourly},
    LogEventKind{LogEvent::service_manager_unreachable, "service_manager_unreachable", Level::warning,
                 "reason", always},
    LogEventKind{LogEvent::log_lines_lost, "log_lines_lost", Level::warning, "number", always},
    LogEventKind{LogEvent::metrics_not_served, "metrics_not_served", Level::error, "reason", always},
    LogEventKind{LogEvent::metrics_served, "metrics_served", Level::info, "", always},
    LogEventKind{LogEvent::sharing_changed, "sharing_changed", Level::info, "clinic owed withdrawn", always},
    LogEventKind{LogEvent::file_taken, "file_taken", Level::info, "accepted already_there", always},
    LogEventKind{LogEvent::file_taken_in_part, "file_taken_in_part", Level::warning,
                 "accepted already_there conflicts refused", hourly},
    LogEventKind{LogEvent::file_refused, "file_refused", Level::warning, "", hourly},
    LogEventKind{LogEvent::file_cannot_be_moved, "file_cannot_be_moved", Level::error, "reason", hourly},
    LogEventKind{LogEvent::reason_cannot_be_written, "reason_cannot_be_written", Level::error, "", hourly},
    LogEventKind{LogEvent::inbox_unreadable, "inbox_unreadable", Level::error, "reason", hourly},
    LogEventKind{LogEvent::pass_started, "pass_started", Level::info, "clinic", always},
    LogEventKind{LogEvent::pass_waits, "pass_waits", Level::info, "clinic seconds", always},
    LogEventKind{LogEvent::pass_ended, "pass_ended", Level::info, "clinic confirmed set_aside", always},
    LogEventKind{LogEvent::pass_stopped, "pass_stopped", Level::warning, "clinic confirmed set_aside",
                 always},
    LogEventKind{LogEvent::pass_out_of_time, "pass_out_of_time", Level::warning, "clinic confirmed set_aside",
                 always},
    LogEventKind{LogEvent::set_aside, "set_aside", Level::warning, "clinic number", always},
    LogEventKind{LogEvent::persons_left_out, "persons_left_out", Level::warning, "clinic number", hourly},
    LogEventKind{LogEvent::orders_not_read, "orders_not_read", Level::warning, "clinic", hourly},
    LogEventKind{LogEvent::clinic_answered_badly, "clinic_answered_badly", Level::warning, "clinic outcome",
                 hourly},
    LogEventKind{LogEvent::connections_break, "connections_break", Level::warning, "clinic answers_each",
                 hourly},
    LogEventKind{LogEvent::clock_in_doubt, "clock_in_doubt", Level::warning, "clinic clinic_ahead_seconds",
                 hourly},
    LogEventKind{LogEvent::scope_narrowed, "scope_narrowed", Level::warning, "clinic", daily},
    LogEventKind{LogEvent::orders_not_permitted, "orders_not_permitted", Level::warning, "clinic", daily},
    LogEventKind{LogEvent::next_key_in_use, "next_key_in_use", Level::warning, "clinic", daily},
    LogEventKind{LogEvent::hub_certificate_ends, "hub_certificate_ends", Level::warning, "clinic", daily},
    LogEventKind{LogEvent::clinic_certificate_ends, "clinic_certificate_ends", Level::warning, "clinic",
                 daily},
    LogEventKind{LogEvent::page_served, "page_served", Level::info, "", always},
    LogEventKind{LogEvent::page_not_served, "page_not_served", Level::error, "reason", always},
    LogEventKind{LogEvent::page_certificate_ends, "page_certificate_ends", Level::warning, "", daily},
    LogEventKind{LogEvent::pairing_refused, "pairing_refused", Level::warning, "outcome seconds", hourly},
    LogEventKind{LogEvent::device_paired, "device_paired", Level::info, "device", always},
    LogEventKind{LogEvent::device_revoked, "device_revoked", Level::info, "device", always},
};

constexpr std::array<std::string_view, 16> numbers{
    "accepted", "already_there", "answers_each", "clinic_ahead_seconds",
    "clinics",  "confirmed",     "conflicts",    "left_out",
    "line",     "number",        "owed",         "refused",
    "seconds",  "set_aside",     "status",       "withdrawn"};

constexpr bool are_in_order() {
    for (std::size_t i = 0; i < kinds.size(); ++i) {
        if (static_cast<std::size_t>(kinds[i].event) != i) return false;
    }
    return true;
}
static_assert(are_in_order(), "a kind for each event, in the order of the enumerators");
static_assert(kinds.back().event == LogEvent::device_revoked, "and for the last of them");

}  // namespace

std::span<const LogEventKind> log_events() {
    return kinds;
}

const LogEventKind& kind_of(LogEvent event) {
    const auto index = static_cast<std::size_t>(event);
    assert(index < kinds.size());
    return kinds[index];
}

bool bears(const LogEventKind& kind, std::string_view key) {
    std::string_view rest = kind.facts;
    while (!rest.empty()) {
        const auto blank = std::min(rest.find(' '), rest.size());
        if (rest.substr(0, blank) == key) return true;
        rest.remove_prefix(std::min(blank + 1, rest.size()));
    }
    return false;
}

bool is_number(std::string_view key) {
    return std::ranges::find(numbers, key) != numbers.end();
}

std::string_view word_for(Level level) {
    switch (level) {
        case Level::info:
            return "info";
        case Level::warning:
            return "warning";
        case Level::error:
            return "error";
    }
    return {};
}

}  // namespace nightferry
