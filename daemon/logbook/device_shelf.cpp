#include "daemon/logbook/device_shelf.hpp"

#include <algorithm>

#include "daemon/core/secrets.hpp"
#include "daemon/logbook/audit.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

Result<void> note_about(Database& db, AuditEvent event, const Device& device, const std::string& by,
                        Instant now) {
    std::string detail = "device=" + device.id + ";carer=" + device.carer;
    if (!by.empty()) detail += ";by=" + by;
    return note(db, {event, {}, {}, 0, std::move(detail)}, now);
}

Result<void> end(Database& db, const Device& device, const std::string& by, Instant now) {
    auto mark = db.prepare("UPDATE devices SET revoked_us = ?2 WHERE device_id = ?1");
    if (!mark) return mark.error();
    if (const auto marked = mark->bind(1, device.id).bind(2, micros(now)).run(); !marked) return marked;
    return note_about(db, AuditEvent::unpaired, device, by, now);
}

Result<std::vector<Device>> devices_in(Database& db) {
    auto query = db.prepare(
        "SELECT device_id, name, carer, token_hash, paired_us, revoked_us, seen_on FROM devices "
        "ORDER BY paired_us, device_id");
    if (!query) return query.error();
    std::vector<Device> devices;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return devices;
        devices.push_back({query->text(0), query->text(1), query->text(2), query->text(3),
                           instant_from(query->integer(4)),
                           query->is_null(5) ? std::nullopt : std::optional(instant_from(query->integer(5))),
                           query->text(6)});
    }
}

}  // namespace

Result<void> DeviceShelf::add(const Device& device) {
    auto transaction = Transaction::begin(db_);
    if (!transaction) return transaction.error();
    auto add = db_.prepare(
        "INSERT INTO devices (device_id, name, carer, token_hash, paired_us, seen_on) "
        "VALUES (?1, ?2, ?3, ?4, ?5, ?6)");
    if (!add) return add.error();
    const auto added = add->bind(1, device.id)
                           .bind(2, device.name)
                           .bind(3, device.carer)
                           .bind(4, device.token_hash)
                           .bind(5, micros(device.paired))
                           .bind(6, device.seen_on)
                           .run();
    if (!added) return added;
    const auto noted = note_about(db_, AuditEvent::paired, device, {}, device.paired);
    if (!noted) return noted;
    return transaction->commit();
}

Result<bool> DeviceShelf::revoke(const std::string& id, const std::string& by, Instant now) {
    auto transaction = Transaction::begin(db_);
    if (!transaction) return transaction.error();
    const auto devices = devices_in(db_);
    if (!devices) return devices.error();
    const auto device = std::ranges::find(*devices, id, &Device::id);
    if (device == devices->end()) return false;
    if (device->revoked) return true;
    if (const auto ended = end(db_, *device, by, now); !ended) return ended.error();
    if (const auto committed = transaction->commit(); !committed) return committed.error();
    return true;
}

Result<void> DeviceShelf::note_use(const std::string& id, const std::string& day) {
    auto note = db_.prepare("UPDATE devices SET seen_on = ?2 WHERE device_id = ?1");
    if (!note) return note.error();
    return note->bind(1, id).bind(2, day).run();
}

Result<std::optional<Device>> DeviceShelf::find(std::string_view token_hash) {
    const auto devices = devices_in(db_);
    if (!devices) return devices.error();
    std::optional<Device> found;
    for (const Device& device : *devices) {
        const bool is_it = is_same_secret(device.token_hash, token_hash);
        if (is_it && !device.revoked) found = device;
    }
    return found;
}

Result<std::vector<Device>> DeviceShelf::list() {
    return devices_in(db_);
}

Result<void> revoke_every_device(Database& db, Instant now) {
    const auto devices = devices_in(db);
    if (!devices) return devices.error();
    for (const Device& device : *devices) {
        if (device.revoked) continue;
        if (const auto ended = end(db, device, {}, now); !ended) return ended;
    }
    return {};
}

}  // namespace nightferry::logbook
