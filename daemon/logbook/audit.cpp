#include "daemon/logbook/audit.hpp"

#include "daemon/core/secrets.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

// Behind its length, so that no two rows read the same.
std::string counted_text(std::string_view text) {
    return std::to_string(text.size()) + ":" + std::string(text) + ",";
}

std::string canonical(const AuditRow& row) {
    return counted_text(std::to_string(row.number)) + counted_text(std::to_string(micros(row.at))) +
           counted_text(row.event) + counted_text(row.clinic) + counted_text(row.entry) +
           counted_text(std::to_string(row.revision)) + counted_text(row.detail);
}

}  // namespace

std::string_view word_for(AuditEvent event) {
    switch (event) {
        case AuditEvent::accepted:
            return "accepted";
        case AuditEvent::amended:
            return "amended";
        case AuditEvent::retracted:
            return "retracted";
        case AuditEvent::owed:
            return "owed";
        case AuditEvent::back_dated:
            return "back_dated";
        case AuditEvent::sent:
            return "sent";
        case AuditEvent::confirmed:
            return "confirmed";
        case AuditEvent::set_aside:
            return "set_aside";
        case AuditEvent::released:
            return "released";
        case AuditEvent::closed:
            return "closed";
        case AuditEvent::withdrawn:
            return "withdrawn";
        case AuditEvent::policy:
            return "policy";
        case AuditEvent::restored:
            return "restored";
        case AuditEvent::erased:
            return "erased";
        case AuditEvent::paired:
            return "paired";
        case AuditEvent::unpaired:
            return "unpaired";
    }
    return {};
}

std::string digest_of(std::string_view words) {
    return "sha256:" + sha256(words);
}

std::string hash_of(std::string_view previous, const AuditRow& row) {
    return sha256(counted_text(previous) + canonical(row));
}

std::optional<std::string> ChainCheck::next(const AuditRow& row) {
    const std::string name = "row " + std::to_string(row.number);
    if (row.number != rows_ + 1) {
        return name + " follows row " + std::to_string(rows_) +
               ": what was between them is gone, or the order was changed";
    }
    if (row.hash != hash_of(newest_, row))
        return name + " is not what was written: it, or the row before it, was changed since";
    ++rows_;
    newest_ = row.hash;
    return std::nullopt;
}

Result<std::vector<AuditRow>> AuditTrail::rows(std::int64_t after, std::int64_t limit,
                                               std::string_view entry) {
    auto query = db_.prepare(
        "SELECT number, at_us, event, clinic, entry_id, revision, detail, hash FROM audit "
        "WHERE number > ?1 AND (?3 = '' OR entry_id = ?3) ORDER BY number LIMIT ?2");
    if (!query) return query.error();
    query->bind(1, after).bind(2, limit).bind(3, entry);
    std::vector<AuditRow> rows;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return rows;
        rows.push_back({query->integer(0), instant_from(query->integer(1)), query->text(2), query->text(3),
                        query->text(4), query->integer(5), query->text(6), query->text(7)});
    }
}

Result<void> note(Database& db, const AuditNote& what, Instant now) {
    std::string previous;
    AuditRow row{1,           now, std::string(word_for(what.event)), what.clinic, what.entry, what.revision,
                 what.detail, {}};
    {
        auto last = db.prepare("SELECT number, hash FROM audit ORDER BY number DESC LIMIT 1");
        if (!last) return last.error();
        const auto found = last->step();
        if (!found) return found.error();
        if (*found) {
            row.number = last->integer(0) + 1;
            previous = last->text(1);
        }
    }
    auto add = db.prepare(
        "INSERT INTO audit (number, at_us, event, clinic, entry_id, revision, detail, hash) "
        "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)");
    if (!add) return add.error();
    return add->bind(1, row.number)
        .bind(2, micros(row.at))
        .bind(3, row.event)
        .bind(4, row.clinic)
        .bind(5, row.entry)
        .bind(6, row.revision)
        .bind(7, row.detail)
        .bind(8, hash_of(previous, row))
        .run();
}

}  // namespace nightferry::logbook
