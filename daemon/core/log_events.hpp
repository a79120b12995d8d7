// Every event that the log can tell, in one place. Their names are for good: people's alerts and
// deploy/runbook.md, which says of each what it means and what to do, go by them. tests/house compares the
// two.
#pragma once

#include <chrono>
#include <span>
#include <string_view>

namespace nightferry {

enum class LogEvent {
    // The hub's life.
    ready,
    reloading,
    reloaded,
    reload_refused,
    restart_needed,
    settings_problem,
    stopping,
    stopped,
    ended,
    not_closed_cleanly,
    logbook_begun,
    logbook_failed,
    disk_full,
    service_manager_unreachable,
    log_lines_lost,
    metrics_not_served,
    metrics_served,
    sharing_changed,
    // What comes in.
    file_taken,
    file_taken_in_part,
    file_refused,
    file_cannot_be_moved,
    reason_cannot_be_written,
    inbox_unreadable,
    // Passes.
    pass_started,
    pass_waits,
    pass_ended,
    pass_stopped,
    pass_out_of_time,
    set_aside,
    persons_left_out,
    orders_not_read,
    clinic_answered_badly,
    connections_break,
    clock_in_doubt,
    // The way in to a clinic.
    scope_narrowed,
    orders_not_permitted,
    next_key_in_use,
    hub_certificate_ends,
    clinic_certificate_ends,
    // The page for carers' phones.
    page_served,
    page_not_served,
    page_certificate_ends,
    pairing_refused,
    device_paired,
    device_revoked,
};

enum class Level { info, warning, error };

struct LogEventKind {
    LogEvent event;
    std::string_view name;
    Level level;
    std::string_view facts;      // The keys of what it may bear, with blanks between them.
    std::chrono::minutes pause;  // For so long the same is not told again; 0: always told.
};

// In the order of the enumerators.
std::span<const LogEventKind> log_events();
const LogEventKind& kind_of(LogEvent event);
// Whether it may bear a fact of this key.
bool bears(const LogEventKind& kind, std::string_view key);
// Whether facts of this key are whole numbers, whatever the event.
bool is_number(std::string_view key);
std::string_view word_for(Level level);

}  // namespace nightferry
