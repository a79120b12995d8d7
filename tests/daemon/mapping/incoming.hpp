// What becomes of FHIR that others hand in: read, checked, and told in one line each.
#pragma once

#include <gtest/gtest.h>

#include "daemon/entry/check.hpp"
#include "daemon/mapping/read_resources.hpp"
#include "fhir/json/reader.hpp"
#include "tests/support/household.hpp"

namespace nightferry::mapping {

inline const entry::Household& home() {
    static const entry::Household household = [] {
        entry::Household made = test::household();
        made.persons.push_back({"rowan", "Rowan Exampleton-Test", {"urn:example:school|R-9"}});
        return made;
    }();
    return household;
}

// Juniper and Marlow as one clinic knows them; a second clinic gives Rowan the number of Juniper at the
// first.
inline const Acquaintances& acquaintances() {
    static const Acquaintances all = [] {
        Acquaintances made(home(), "urn:example:test-home");
        made.add_person({"juniper", "https://clinic.example/fhir", "Patient/p1", {}});
        made.add_person({"juniper", {}, {}, {"urn:example:clinic", "MRN-7"}});
        made.add_person({"rowan", "https://other.example/fhir", "Patient/p2", {}});
        made.add_person({"juniper", "https://other.example/fhir", "Patient/p3", {}});
        made.add_person({"rowan", "https://clinic.example/fhir", "Patient/p3", {}});
        made.add_carer({"marlow", "https://clinic.example/fhir", "RelatedPerson/marlow", {}});
        return made;
    }();
    return all;
}

struct Outcome {
    std::optional<entry::Submission> submission;
    bool is_context = false;
    std::vector<std::string> problems;  // "where: what"
};

struct Outcomes {
    ResourceReading reading;
    std::vector<Outcome> parts;
};

inline Outcomes outcomes_of(std::string_view text, std::optional<fhir::spec::Release> stated = {}) {
    const auto document = fhir::json::read(text);
    EXPECT_TRUE(document) << text;
    Outcomes all;
    if (!document) return all;
    all.reading = read_resources(document->root(), stated, home(), acquaintances());
    if (all.reading.failure)
        all.parts.push_back({{}, false, {all.reading.failure->where + ": " + all.reading.failure->what}});
    for (const ResourcePart& part : all.reading.parts) {
        Outcome outcome;
        outcome.is_context = part.kind == ResourcePart::Kind::context;
        if (!outcome.is_context) {
            const entry::Checked checked = entry::check(part.draft, home(), test::test_now());
            outcome.submission = checked.submission;
            for (const entry::Problem& problem : checked.problems)
                outcome.problems.push_back(problem.where + ": " + problem.what);
        }
        all.parts.push_back(std::move(outcome));
    }
    return all;
}

}  // namespace nightferry::mapping
