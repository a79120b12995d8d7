#include "daemon/logbook/copied.hpp"

#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/pins.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

constexpr char mark[] = "copied_us";
constexpr char restored[] = "restored_us";

}  // namespace

Result<void> mark_as_copy(Database& copy, Instant now) {
    const auto before = remembered(copy, mark);
    if (!before) return before.error();
    if (*before) return {};
    return remember(copy, mark, std::to_string(micros(now)));
}

Result<void> doubt_what_a_copy_says(Database& db, Instant now) {
    const auto copied = remembered(db, mark);
    if (!copied) return copied.error();
    if (!*copied) return {};
    // What is confirmed is looked at before it is replaced anyway. A request of the life that was lost may
    // still be on its way, which does no harm where conditions are known to work.
    const auto doubted = db.run(
        "UPDATE deliveries SET outcome_unknown = 1 WHERE state NOT IN ('confirmed', 'withdrawn') "
        "OR (state = 'withdrawn' AND attempts > 0);"
        "UPDATE clinics SET unguarded = 1 WHERE knows_conditions = 0;"
        "DELETE FROM pins WHERE name = 'copied_us'");
    if (!doubted) return doubted.error();
    const auto kept = remember(db, restored, std::to_string(micros(now)));
    if (!kept) return kept.error();
    const Instant made = instant_from(std::stoll(**copied));
    return note(db, {AuditEvent::restored, {}, {}, 0, "copy of " + to_text(made)}, now);
}

}  // namespace nightferry::logbook
