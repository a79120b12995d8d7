// A hub in a temporary folder, as far as intake needs one: clock, logbook, desk and what they tell.
#pragma once

#include <gtest/gtest.h>

#include <map>
#include <memory>
#include <sstream>
#include <string>
#include <vector>

#include "daemon/core/log.hpp"
#include "daemon/intake/desk.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/logbook/outbox.hpp"
#include "tests/support/files.hpp"
#include "tests/support/household.hpp"

namespace nightferry::intake {

class HandClock final : public Clock {
 public:
    Instant now() const override { return now_; }
    void move(std::chrono::microseconds span) { now_ += span; }

 private:
    Instant now_ = test::test_now();
};

// "warning file_refused", "info file_taken accepted=1 …".
class KeptLog final : public Log {
 public:
    void take(LogEvent what, std::span<const Fact> facts) override {
        std::string line(word_for(kind_of(what).level));
        line.append(" ").append(kind_of(what).name);
        for (const auto& [key, value] : facts)
            line.append(" ").append(key).append("=").append(value);
        lines.push_back(std::move(line));
    }
    std::vector<std::string> lines;
};

// The household of all tests, and Rowan, whom no clinic knows.
inline entry::Household two_persons() {
    entry::Household household = test::household();
    household.persons.push_back({"rowan", "Rowan Exampleton-Test"});
    return household;
}

// Juniper and Marlow as a clinic knows them.
inline mapping::Acquaintances acquaintances_of(const entry::Household& household) {
    mapping::Acquaintances all(household, "urn:example:test-home");
    all.add_person({"juniper", "https://clinic.example/fhir", "Patient/p1", {}});
    all.add_carer({"marlow", "https://clinic.example/fhir", "RelatedPerson/marlow", {}});
    return all;
}

struct Hub {
    Hub() : db(std::move(logbook::open(logbook::file_in(folder.path()), test::test_now()).value())) {}

    EntryId id(const std::string& label) const { return household.ids().id_for("label:" + label); }

    Answers hand_in(const std::string& text, entry::Format format = entry::Format::ndjson) {
        return desk.hand_in(text, format, "local").value();
    }

    // "nowhere wants 2, waiting": the ways of an entry to the clinics.
    std::vector<std::string> deliveries(const std::string& label) {
        std::vector<std::string> told;
        const auto record = book.find(id(label)).value();
        EXPECT_TRUE(record.has_value()) << label;
        if (!record) return told;
        for (const logbook::Delivery& one : record->deliveries) {
            told.push_back(one.clinic + " wants " + std::to_string(one.wanted) + ", " +
                           std::string(logbook::word_for(one.state)));
        }
        return told;
    }

    std::size_t entries() { return book.list({}).value().records.size(); }

    // From now on the logbook's file cannot grow, until make_room().
    // What a migration left free would still be filled.
    void fill_disk() { ASSERT_TRUE(db->run("VACUUM; PRAGMA max_page_count=1")); }
    void make_room() { ASSERT_TRUE(db->run("PRAGMA max_page_count=100000")); }

    test::TemporaryFolder folder;
    HandClock clock;
    KeptLog log;
    entry::Household household = two_persons();
    std::map<std::string, std::vector<std::string>> clinics{{"juniper", {"nowhere"}}};
    std::unique_ptr<logbook::Database> db;
    logbook::Logbook book{*db};
    logbook::Outbox outbox{*db};
    Desk desk{household, book, clock, [this](const std::string& person) { return clinics[person]; },
              acquaintances_of(household)};
};

// A weight of Juniper's as a line of JSON; `members` are added, and `person` is somebody else's key.
inline std::string weight(const std::string& id, const std::string& kg = "18.4",
                          const std::string& members = {}, const std::string& person = "juniper") {
    return R"({"type":"weight","id":")" + id + R"(","person":")" + person +
           R"(","time":"2026-10-12T08:00","by":"marlow","kg":)" + kg +
           (members.empty() ? "" : "," + members) + "}\n";
}

// Its correction, written down at that time.
inline std::string amended(const std::string& id, const std::string& kg, const std::string& recorded) {
    return weight(id, kg, R"("action":"amend","recorded_by":"tove","recorded":")" + recorded + '"');
}

inline std::string retracted(const std::string& id) {
    return R"({"action":"retract","id":")" + id +
           R"(","recorded":"2026-10-13T08:00","recorded_by":"tove","reason":"another child"})"
           "\n";
}

// Entries under a header row, as a spreadsheet has them.
inline std::string weight_rows(const std::vector<std::string>& rows) {
    std::string text = "id,type,person,time,by,kg\n";
    for (const std::string& row : rows)
        text += row + '\n';
    return text;
}

}  // namespace nightferry::intake
