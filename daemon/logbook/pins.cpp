#include "daemon/logbook/pins.hpp"

namespace nightferry::logbook {

namespace {

std::string name_of(const Pin& pin) {
    switch (pin.kind) {
        case Pin::Kind::hub:
            return "hub:" + pin.key;
        case Pin::Kind::medicine:
            return "medicine:" + pin.key;
        case Pin::Kind::clinic:
            return "clinic:" + pin.key;
    }
    return {};
}

std::string advice(const Pin& pin) {
    switch (pin.kind) {
        case Pin::Kind::hub:
            return "put it back, since entries bear the old one";
        case Pin::Kind::medicine:
            return "put it back, and give the other product a key of its own";
        case Pin::Kind::clinic:
            return "put it back, or give the clinic at the other address a name of its own";
    }
    return {};
}

Result<bool> in_use(Database& db, const Pin& pin) {
    auto query =
        db.prepare(pin.kind == Pin::Kind::hub ? "SELECT EXISTS (SELECT 1 FROM entries)"
                   : pin.kind == Pin::Kind::medicine
                       ? "SELECT EXISTS (SELECT 1 FROM revisions WHERE instr(body, ?1) > 0)"
                       : "SELECT EXISTS (SELECT 1 FROM deliveries WHERE clinic = ?1 AND attempts > 0)");
    if (!query) return query.error();
    if (pin.kind == Pin::Kind::medicine) query->bind(1, "\"medicine\":\"" + pin.key + "\"");
    if (pin.kind == Pin::Kind::clinic) query->bind(1, pin.key);
    const auto row = query->step();
    if (!row) return row.error();
    return query->integer(0) != 0;
}

}  // namespace

Result<std::optional<std::string>> remembered(Database& db, const std::string& name) {
    auto query = db.prepare("SELECT value FROM pins WHERE name = ?1");
    if (!query) return query.error();
    const auto row = query->bind(1, name).step();
    if (!row) return row.error();
    return *row ? std::optional(query->text(0)) : std::nullopt;
}

Result<void> remember(Database& db, const std::string& name, const std::string& value) {
    auto keep = db.prepare("INSERT OR REPLACE INTO pins (name, value) VALUES (?1, ?2)");
    if (!keep) return keep.error();
    return keep->bind(1, name).bind(2, value).run();
}

Result<void> forget(Database& db, const std::string& name) {
    auto removal = db.prepare("DELETE FROM pins WHERE name = ?1");
    if (!removal) return removal.error();
    return removal->bind(1, name).run();
}

Result<void> hold_pins(Database& db, std::span<const Pin> pins,
                       const std::function<void(const std::string&)>& tell) {
    auto transaction = Transaction::begin(db);
    if (!transaction) return transaction.error();
    for (const Pin& pin : pins) {
        const std::string name = name_of(pin);
        const auto before = remembered(db, name);
        if (!before) return before.error();
        if (*before && **before == pin.value) continue;
        if (*before) {
            const auto used = in_use(db, pin);
            if (!used) return used.error();
            if (*used) {
                const std::string change = pin.place + " changed, and what is in the logbook rests on it";
                tell(change + ": it was '" + **before + "' and is '" + pin.value + "' now; " + advice(pin));
                return Error{Errc::setup, change + "; " + advice(pin)};
            }
        }
        const auto kept = remember(db, name, pin.value);
        if (!kept) return kept.error();
    }
    return transaction->commit();
}

}  // namespace nightferry::logbook
