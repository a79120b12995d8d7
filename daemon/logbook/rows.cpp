#include "daemon/logbook/rows.hpp"

#include <algorithm>
#include <array>
#include <iterator>
#include <utility>

namespace nightferry::logbook {

namespace {

constexpr std::array states{
    std::pair{DeliveryState::waiting, std::string_view("waiting")},
    std::pair{DeliveryState::under_way, std::string_view("under_way")},
    std::pair{DeliveryState::confirmed, std::string_view("confirmed")},
    std::pair{DeliveryState::set_aside, std::string_view("set_aside")},
    std::pair{DeliveryState::closed, std::string_view("closed")},
};

}  // namespace

std::string_view word_for(DeliveryState state) {
    return std::find_if(states.begin(), states.end(), [&](const auto& one) { return one.first == state; })
        ->second;
}

DeliveryState state_from(std::string_view word) {
    // The table's CHECK constraint allows no other word.
    return std::find_if(states.begin(), states.end(), [&](const auto& one) { return one.second == word; })
        ->first;
}

Result<std::vector<Receipt>> receipts_of(Database& db, const std::string& clinic,
                                         const std::string& entry_id) {
    auto query = db.prepare(
        "SELECT revision, resource_type, resource_id, version_id, http_status, received_us "
        "FROM receipts WHERE clinic = ?1 AND entry_id = ?2 ORDER BY received_us, revision");
    if (!query) return query.error();
    query->bind(1, clinic).bind(2, entry_id);
    std::vector<Receipt> receipts;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return receipts;
        receipts.push_back({query->integer(0), query->text(1), query->text(2), query->text(3),
                            static_cast<int>(query->integer(4)), instant_from(query->integer(5))});
    }
}

Result<std::vector<Closing>> closings_of(Database& db, const std::string& clinic,
                                         const std::string& entry_id) {
    auto query = db.prepare(
        "SELECT revision, closed_us, closed_by, reason FROM closings "
        "WHERE clinic = ?1 AND entry_id = ?2 ORDER BY closed_us, revision");
    if (!query) return query.error();
    query->bind(1, clinic).bind(2, entry_id);
    std::vector<Closing> closings;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return closings;
        closings.push_back(
            {query->integer(0), instant_from(query->integer(1)), query->text(2), query->text(3)});
    }
}

Result<std::vector<KnownRevision>> revisions_of(Database& db, const std::string& entry_id) {
    auto query = db.prepare("SELECT revision, body FROM revisions WHERE entry_id = ?1 ORDER BY revision");
    if (!query) return query.error();
    query->bind(1, entry_id);
    std::vector<KnownRevision> known;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return known;
        auto submission = entry::from_body(query->text(1));
        if (!submission) return submission.error();
        known.push_back({query->integer(0), std::move(*submission)});
    }
}

Result<std::vector<entry::Version>> versions_of(Database& db, const std::string& entry_id) {
    const auto known = revisions_of(db, entry_id);
    if (!known) return known.error();
    std::vector<KnownRevision> with_content;
    std::copy_if(known->begin(), known->end(), std::back_inserter(with_content),
                 [](const KnownRevision& one) { return one.submission.entry.has_value(); });
    if (with_content.empty() && !known->empty())
        return Error{Errc::unreadable, "an entry in the logbook has no content"};
    auto query = db.prepare("SELECT accepted_us FROM revisions WHERE entry_id = ?1 ORDER BY revision");
    if (!query) return query.error();
    query->bind(1, entry_id);
    std::vector<entry::Version> versions;
    for (const KnownRevision& one : *known) {
        const auto row = query->step();
        if (!row) return row.error();
        const entry::Entry& content =
            one.submission.entry ? *one.submission.entry : *current_of(with_content).submission.entry;
        versions.push_back({one.revision, one.submission, content, instant_from(query->integer(0))});
    }
    return versions;
}

const entry::Version& in_effect(const std::vector<entry::Version>& versions) {
    std::vector<KnownRevision> known;
    for (const entry::Version& one : versions)
        known.push_back({one.revision, one.submission});
    const std::int64_t current = current_of(known).revision;
    return *std::find_if(versions.begin(), versions.end(),
                         [&](const entry::Version& one) { return one.revision == current; });
}

}  // namespace nightferry::logbook
