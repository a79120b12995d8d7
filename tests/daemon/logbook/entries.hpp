// Entries for tests, each read and checked from the text that somebody would hand in. Labels are their ids:
// entry "w1" of one test is entry "w1" of every other.
#pragma once

#include <gtest/gtest.h>

#include <string>

#include "daemon/entry/body.hpp"
#include "daemon/entry/check.hpp"
#include "daemon/entry/reader.hpp"
#include "daemon/logbook/logbook.hpp"
#include "tests/support/household.hpp"

namespace nightferry::test {

inline entry::Submission submission_from(const std::string& json) {
    const entry::Reading reading = entry::read(json, entry::Format::ndjson);
    EXPECT_EQ(reading.drafts.size(), 1u) << json;
    const entry::Checked checked = entry::check(reading.drafts.at(0), household(), test_now());
    for (const entry::Problem& problem : checked.problems)
        ADD_FAILURE() << problem.where << ": " << problem.what;
    return checked.submission.value();
}

inline EntryId id_of(const std::string& label) {
    return household().ids().id_for("label:" + label);
}

inline Instant instant(std::string_view text) {
    const auto moment = parse_moment(text);
    EXPECT_TRUE(moment.has_value()) << text;
    return moment ? moment->at : Instant{};
}

// `members` begin with a comma.
inline entry::Submission a_weight(const std::string& label, const std::string& kg = "18.4",
                                  const std::string& time = "2026-10-12T08:00",
                                  const std::string& members = "") {
    return submission_from(R"({"type":"weight","person":"juniper","by":"marlow","id":")" + label +
                           R"(","time":")" + time + R"(","kg":)" + kg + members + "}");
}

inline entry::Submission a_dose(const std::string& label, const std::string& amount = "0.18",
                                const std::string& time = "2026-10-12T08:00") {
    return submission_from(
        R"({"type":"dose_given","person":"juniper","by":"marlow","medicine":"enoxaparin-100","unit":"mL",)"
        R"("region":"thigh","side":"left","id":")" +
        label + R"(","time":")" + time + R"(","amount":)" + amount + "}");
}

// A bruise that belongs to the dose of that label.
inline entry::Submission a_bruise(const std::string& label, const std::string& dose) {
    return submission_from(
        R"({"type":"finding","person":"juniper","by":"tove","time":"2026-10-13T08:00","finding":"bruise",)"
        R"("region":"thigh","side":"left","length_cm":2.0,"id":")" +
        label + R"(","dose":")" + dose + "\"}");
}

// The same entry as it stands after a correction that was written down at `recorded`, a UTC time like
// "2026-10-12T09:00"; so is the one of a retraction.
inline entry::Submission amended(entry::Submission submission, const std::string& recorded) {
    submission.action = entry::Action::amend;
    submission.recorded = Moment{instant(recorded + "Z"), std::chrono::minutes{0}};
    submission.recorded_by = "tove";
    submission.reason = "typing slip";
    return submission;
}

inline entry::Submission a_retraction(const std::string& label, const std::string& recorded) {
    return submission_from(R"({"action":"retract","id":")" + label + R"(","recorded":")" + recorded +
                           R"(Z","recorded_by":"tove","reason":"another child"})");
}

inline logbook::Arrival arrival(entry::Submission submission, std::vector<std::string> clinics = {"north"}) {
    return {std::move(submission), "inbox", std::move(clinics)};
}

}  // namespace nightferry::test
