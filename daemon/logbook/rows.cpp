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
    std::pair{DeliveryState::withdrawn, std::string_view("withdrawn")},
};

}  // namespace

Result<std::vector<std::string>> texts_of(Database& db, const char* sql) {
    auto query = db.prepare(sql);
    if (!query) return query.error();
    std::vector<std::string> texts;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return texts;
        texts.push_back(query->text(0));
    }
}

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
        "SELECT revision, resource_type, resource_id, version_id, http_status, received_us, number, "
        "written_after "
        // The sign keeps SQLite from going through all of the clinic's receipts in their order.
        "FROM receipts WHERE clinic = ?1 AND entry_id = ?2 ORDER BY +number");
    if (!query) return query.error();
    query->bind(1, clinic).bind(2, entry_id);
    std::vector<Receipt> receipts;
    while (true) {
        const auto row = query->step();
        if (!row) return row.error();
        if (!*row) return receipts;
        receipts.push_back({query->integer(0), query->text(1), query->text(2), query->text(3),
                            static_cast<int>(query->integer(4)), instant_from(query->integer(5)),
                            Receipt::Written::just_now, query->integer(6), query->integer(7)});
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
    auto query = db.prepare(
        "SELECT entry_id, revision, accepted_us, body FROM revisions WHERE entry_id = ?1 ORDER BY revision");
    if (!query) return query.error();
    query->bind(1, entry_id);
    auto history = read_history(*query);
    if (!history) return history.error();
    if (!history->unreadable.empty())
        return Error{Errc::unreadable, "an entry in the logbook has a form this version does not know"};
    return history->entries.empty() ? std::vector<entry::Version>() : std::move(history->entries.front());
}

namespace {

struct Row {
    std::int64_t revision = 0;
    Instant accepted;
    Result<entry::Submission> submission;
};

// Nothing when one of them cannot be read, or none has a content.
std::optional<std::vector<entry::Version>> versions_from(const std::vector<Row>& rows) {
    std::vector<KnownRevision> with_content;
    for (const Row& row : rows) {
        if (!row.submission) return std::nullopt;
        if (row.submission->entry) with_content.push_back({row.revision, *row.submission});
    }
    if (with_content.empty()) return std::nullopt;
    std::vector<entry::Version> versions;
    for (const Row& row : rows) {
        const entry::Submission& submission = *row.submission;
        const entry::Entry& content =
            submission.entry ? *submission.entry : *current_of(with_content).submission.entry;
        versions.push_back({row.revision, submission, content, row.accepted});
    }
    return versions;
}

}  // namespace

Result<PersonHistory> read_history(Statement& rows) {
    PersonHistory history;
    std::string id;
    std::vector<Row> of_one;
    const auto finish = [&] {
        if (of_one.empty()) return;
        if (auto versions = versions_from(of_one)) {
            history.entries.push_back(std::move(*versions));
        } else {
            history.unreadable.push_back(*EntryId::parse(id));
        }
        of_one.clear();
    };
    while (true) {
        const auto row = rows.step();
        if (!row) return row.error();
        if (!*row || rows.text(0) != id) finish();
        if (!*row) return history;
        id = rows.text(0);
        of_one.push_back({rows.integer(1), instant_from(rows.integer(2)), entry::from_body(rows.text(3))});
    }
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
