// The invented fortnight of the demo household: its entries, read from config/demo as the daemon reads them,
// and what its clinic ordered.
#pragma once

#include <chrono>
#include <map>
#include <string_view>
#include <vector>

#include "daemon/care/regimen.hpp"
#include "daemon/care/timeline.hpp"
#include "daemon/entry/check.hpp"
#include "daemon/entry/reader.hpp"
#include "tests/support/files.hpp"
#include "tests/support/household.hpp"

namespace nightferry::test {

inline Instant instant(std::string_view text) {
    const auto written = parse_time(text);
    EXPECT_TRUE(written && written->offset) << text;
    if (!written || !written->offset) return {};
    return Instant{written->local.time_since_epoch() - *written->offset};
}

inline LocalSecond local(std::string_view text) {
    const auto written = parse_time(text);
    EXPECT_TRUE(written) << text;
    return written ? written->local : LocalSecond{};
}

inline Zone zone(std::string_view name) {
    return Zone::find(name).value();
}

// Twice a day at eight, from that local time on.
inline care::Order every_twelve_hours(std::string_view from, std::string_view zone_name,
                                      std::string_view ml = "0.18") {
    const entry::Amount amount{*Decimal::parse(ml), entry::Unit::millilitre};
    return {local(from),
            zone(zone_name),
            "enoxaparin-100",
            {{std::chrono::hours{8}, amount}, {std::chrono::hours{20}, amount}}};
}

// What the clinic ordered. Its holds are entries.
inline care::Regimen fortnight() {
    return {{every_twelve_hours("2026-10-12T08:00", "Europe/Dublin"),
             every_twelve_hours("2026-10-21T20:00", "Europe/Dublin", "0.20")},
            {},
            {}};
}

inline const entry::Medicine enoxaparin{"enoxaparin-100", "enoxaparin", Decimal(100, 0),
                                        entry::Unit::milligram};

inline const Instant long_after = instant("2026-12-01T00:00Z");
inline const Instant fortnight_from = instant("2026-10-11T23:00Z");
inline const Instant fortnight_to = instant("2026-11-02T00:00Z");

// Adds what a file of config/demo says, revision by revision. Anything refused fails the test.
inline void read_demo(const char* name, entry::Format format, std::map<EntryId, care::Revisions>& entries) {
    const std::string text = source_file(std::string("config/demo/") + name);
    for (const entry::Draft& draft : entry::read(text, format).drafts) {
        const entry::Checked checked = entry::check(draft, household(), long_after);
        EXPECT_TRUE(checked.submission) << name << ' ' << draft.where;
        if (!checked.submission) continue;
        const entry::Submission& submission = *checked.submission;
        care::Revisions& revisions = entries[submission.id];
        const auto content = submission.entry ? *submission.entry : revisions.back().content;
        const auto number = static_cast<std::int64_t>(revisions.size()) + 1;
        revisions.push_back({number, submission, content, long_after});
    }
}

inline std::vector<care::Revisions> fortnight_entries() {
    std::map<EntryId, care::Revisions> entries;
    read_demo("doses.csv", entry::Format::csv, entries);
    read_demo("findings.json", entry::Format::json, entries);
    read_demo("later.ndjson", entry::Format::ndjson, entries);
    std::vector<care::Revisions> all;
    for (auto& [id, revisions] : entries)
        all.push_back(std::move(revisions));
    return all;
}

inline care::Known fortnight_known(Instant known_at = long_after) {
    static const std::vector<care::Revisions> entries = fortnight_entries();
    return care::known_at(entries, household(), known_at);
}

inline care::Timeline fortnight_timeline(Instant known_at) {
    return care::timeline_of(fortnight(), household(), fortnight_from, fortnight_to,
                             fortnight_known(known_at), known_at, {});
}

}  // namespace nightferry::test
