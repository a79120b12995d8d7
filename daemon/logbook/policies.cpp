#include "daemon/logbook/policies.hpp"

#include "daemon/entry/vocabulary.hpp"
#include "daemon/logbook/rows.hpp"

namespace nightferry::logbook {

Result<entry::SharingHistory> read_policies(Database& db, const std::string& clinic) {
    auto query = db.prepare(
        "SELECT since_us, back_to_us, policy FROM sharing_policies WHERE clinic = ?1 ORDER BY number");
    if (!query) return query.error();
    query->bind(1, clinic);
    std::vector<entry::PolicyInForce> policies;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return entry::SharingHistory(std::move(policies));
        auto policy = entry::SharingPolicy::read(query->text(2));
        if (!policy) return Error{Errc::corrupt, policy.error().detail};
        std::optional<Instant> back_to;
        if (!query->is_null(1)) back_to = instant_from(query->integer(1));
        policies.push_back({instant_from(query->integer(0)), back_to, std::move(*policy)});
    }
}

Result<void> add_policy(Database& db, const std::string& clinic, const entry::PolicyInForce& policy) {
    auto add = db.prepare(
        "INSERT INTO sharing_policies (clinic, number, since_us, back_to_us, policy) VALUES (?1, "
        "(SELECT coalesce(max(number), 0) + 1 FROM sharing_policies WHERE clinic = ?1), ?2, ?3, ?4)");
    if (!add) return add.error();
    add->bind(1, clinic).bind(2, micros(policy.since)).bind(4, policy.policy.text());
    if (policy.back_to) {
        add->bind(3, micros(*policy.back_to));
    } else {
        add->bind_null(3);
    }
    return add->run();
}

Result<Instant> first_accepted(Database& db, const std::string& entry_id) {
    auto query = db.prepare("SELECT accepted_us FROM revisions WHERE entry_id = ?1 AND revision = 1");
    if (!query) return query.error();
    const auto row = query->bind(1, entry_id).step();
    if (!row) return row.error();
    return *row ? instant_from(query->integer(0)) : Instant{};
}

Result<entry::Shareable> shareable_in(Database& db, const std::string& entry_id,
                                      const entry::Entry* content) {
    if (content != nullptr) return entry::shareable(*content);
    auto query = db.prepare("SELECT kind, person, happened_us FROM entries WHERE entry_id = ?1");
    if (!query) return query.error();
    const auto row = query->bind(1, entry_id).step();
    if (!row) return row.error();
    if (!*row)
        return Error{Errc::unreadable, "a revision belongs to an entry that the logbook does not hold"};
    return shareable_of(db, entry_id, query->text(0), query->text(1), query->integer(2));
}

Result<entry::Shareable> shareable_of(Database& db, const std::string& entry_id, std::string_view kind,
                                      const std::string& person, std::int64_t happened_us) {
    const auto known = entry::meaning_of<entry::Kind>(kind);
    if (!known)
        return Error{Errc::unreadable, "an entry in the logbook has a kind this version does not know"};
    entry::Shareable what{person, *known, instant_from(happened_us)};
    if (what.kind != entry::Kind::summary) return what;
    const auto versions = versions_of(db, entry_id);
    // One that cannot be read is never sent either.
    if (!versions && versions.error().code != Errc::unreadable) return versions.error();
    return versions && !versions->empty() ? entry::shareable(in_effect(*versions).content) : what;
}

bool may_go(const entry::SharingHistory& history, Parcel& parcel) {
    const entry::Shareable what = entry::shareable(parcel.wanted.content);
    parcel.texts = {history.with_notes(what, parcel.wanted.accepted), history.ever_had_notes(),
                    history.ever_left_notes_out()};
    if (!history.why_not_now(what)) return true;
    const bool may_be_there = parcel.receipt || parcel.outcome_unknown;
    parcel.only_taken_back = parcel.wanted.action() == entry::Action::retract && may_be_there;
    return parcel.only_taken_back;
}

}  // namespace nightferry::logbook
