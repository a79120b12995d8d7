#include "daemon/logbook/flag_store.hpp"

#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

Result<care::FlagHistory> FlagStore::history(const std::string& person) {
    auto query = db_.prepare(
        "SELECT flag_key, event, at_us, level, about_us, reason, settled_by, words FROM flag_events "
        "WHERE person = ?1 ORDER BY number");
    if (!query) return query.error();
    query->bind(1, person);
    care::FlagHistory history;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return history;
        const auto what = care::flag_event(query->text(1));
        const auto level = care::flag_level(query->text(3));
        // The table's CHECK constraints allow no other words.
        history[query->text(0)].push_back({query->text(0), *what, instant_from(query->integer(2)), *level,
                                           instant_from(query->integer(4)), query->text(5), query->text(6),
                                           query->text(7)});
    }
}

Result<void> FlagStore::add(const std::string& person, std::span<const care::FlagEvent> events) {
    if (events.empty()) return {};
    auto transaction = Transaction::begin(db_);
    if (!transaction) return transaction.error();
    for (const care::FlagEvent& event : events) {
        auto add = db_.prepare(
            "INSERT INTO flag_events (person, flag_key, event, at_us, level, about_us, reason, settled_by, "
            "words) "
            "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)");
        if (!add) return add.error();
        const auto added = add->bind(1, person)
                               .bind(2, event.key)
                               .bind(3, care::word_for(event.what))
                               .bind(4, micros(event.at))
                               .bind(5, care::word_for(event.level))
                               .bind(6, micros(event.about))
                               .bind(7, event.reason)
                               .bind(8, event.by)
                               .bind(9, event.words)
                               .run();
        if (!added) return added.error();
    }
    return transaction->commit();
}

}  // namespace nightferry::logbook
