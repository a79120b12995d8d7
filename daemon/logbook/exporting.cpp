#include "daemon/logbook/exporting.hpp"

#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

namespace {

constexpr char page[] =
    "SELECT entry_id FROM entries WHERE entry_id > ?1 AND (?3 = '' OR person = ?3) ORDER BY entry_id LIMIT "
    "?2";

}  // namespace

Result<BodyPage> bodies(Database& db, const PageWish& wish) {
    auto query = db.prepare(
        "SELECT p.entry_id, r.body, e.kind FROM (" + std::string(page) +
        ") p JOIN entries e ON e.entry_id = p.entry_id JOIN revisions r ON r.entry_id = p.entry_id "
        "ORDER BY p.entry_id, r.revision");
    if (!query) return query.error();
    query->bind(1, wish.after).bind(2, wish.limit).bind(3, wish.person);
    BodyPage found;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return found;
        found.last = query->text(0);
        if (query->text(2) != "summary") found.lines += query->text(1) + "\n";
    }
}

Result<std::vector<EntryId>> entry_ids(Database& db, const PageWish& wish) {
    auto query = db.prepare(page);
    if (!query) return query.error();
    query->bind(1, wish.after).bind(2, wish.limit).bind(3, wish.person);
    std::vector<EntryId> ids;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return ids;
        ids.push_back(*EntryId::parse(query->text(0)));
    }
}

Result<bool> has_entries_of(Database& db, const std::string& person) {
    auto query = db.prepare("SELECT EXISTS (SELECT 1 FROM entries WHERE person = ?1)");
    if (!query) return query.error();
    const auto row = query->bind(1, person).step();
    if (!row) return row.error();
    return query->integer(0) != 0;
}

Result<std::vector<std::string>> persons_in(Database& db) {
    return texts_of(db, "SELECT DISTINCT person FROM entries ORDER BY person");
}

}  // namespace nightferry::logbook
