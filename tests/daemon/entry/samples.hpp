// Good input: one entry of each type with every field it can have, then an amendment and a retraction, each
// as a line of JSON and as a spreadsheet that says the same; and how a test reads it.
#pragma once

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "daemon/entry/check.hpp"
#include "daemon/entry/reader.hpp"
#include "tests/support/household.hpp"

namespace nightferry::test {

struct Sample {
    std::string json;
    std::string csv;
};

inline const Sample dose_given{
    R"({"type":"dose_given","person":"juniper","time":"2026-10-12T08:00","by":"marlow",)"
    R"("medicine":"enoxaparin-100","amount":0.18,"unit":"mL","region":"abdomen","side":"left","x_cm":6,)"
    R"("y_cm":-2.5,"vial":"V3","checked_by":"tove","note":"calm, slept on"})",
    R"(type,person,time,by,medicine,amount,unit,region,side,x_cm,y_cm,vial,checked_by,note
dose_given,juniper,2026-10-12T08:00,marlow,enoxaparin-100,0.18,mL,abdomen,left,6,-2.5,V3,tove,"calm, slept on"
)"};

inline const Sample dose_not_given{
    R"({"type":"dose_not_given","person":"juniper","time":"2026-10-12T20:00","by":"tove",)"
    R"("medicine":"enoxaparin-100","why":"clinic_hold"})",
    "type\tperson\ttime\tby\tmedicine\twhy\n"
    "dose_not_given\tjuniper\t2026-10-12 20:00\ttove\tenoxaparin-100\tclinic_hold\n"};

inline const Sample finding{
    R"({"type":"finding","person":"juniper","time":"2026-10-13T08:00","by":"self","finding":"bruise",)"
    R"("present":true,"region":"thigh","side":"right","x_cm":0,"y_cm":3,"length_cm":2.0,"width_cm":1.5,)"
    R"("pain":3,"minutes":20,"lesion":"B1","dose":"morning-1"})",
    R"(type;person;time;by;finding;present;region;side;x_cm;y_cm;length_cm;width_cm;pain;minutes;lesion;dose
finding;juniper;2026-10-13T08:00;self;bruise;yes;thigh;right;0;3;2;1,50;3;20;B1;morning-1
)"};

inline const Sample weight{
    R"({"type":"weight","person":"juniper","time":"2026-10-14T08:00","by":"marlow","kg":18.40,"how":"estimated"})",
    R"(type;person;date(DD.MM.YYYY);clock;by;kg;how
weight;juniper;14.10.2026;8:00;marlow;18,4;estimated
)"};

inline const Sample vial_opened{
    R"({"type":"vial_opened","person":"juniper","time":"2026-10-14T08:00","by":"marlow",)"
    R"("medicine":"enoxaparin-100","vial":"V4","volume_ml":3,"lot":"L-17","expires":"2027-03-31"})",
    R"(type,person,time,by,medicine,vial,volume_ml,lot,expires
vial_opened,juniper,2026-10-14T08:00+01:00,marlow,enoxaparin-100,V4,3.0,L-17,2027-03-31
)"};

inline const Sample amendment{
    R"({"action":"amend","id":"w1","recorded":"2026-10-14T09:00","recorded_by":"tove","reason":"typing slip",)"
    R"("type":"weight","person":"juniper","time":"2026-10-14T08:00","by":"marlow","kg":18.6})",
    R"(action,id,recorded,recorded_by,reason,type,person,time,by,kg
amend,w1,2026-10-14T09:00,tove,typing slip,weight,juniper,2026-10-14T08:00,marlow,18.6
)"};

inline const Sample retraction{
    R"({"action":"retract","id":"w1","recorded":"2026-10-14T10:00","recorded_by":"tove","reason":"another child"})",
    R"(action,id,recorded,recorded_by,reason
retract,w1,2026-10-14T10:00,tove,another child
)"};

inline const std::vector<Sample> samples{dose_given,  dose_not_given, finding,   weight,
                                         vial_opened, amendment,      retraction};

// Everything that was handed in; fails the test when any of it is refused.
inline std::vector<entry::Submission> all_from(std::string_view text, entry::Format format) {
    const entry::Reading reading = entry::read(text, format);
    if (reading.failure) ADD_FAILURE() << reading.failure->where << ": " << reading.failure->what;
    std::vector<entry::Submission> submissions;
    for (const entry::Draft& draft : reading.drafts) {
        const entry::Checked checked = entry::check(draft, household(), test_now());
        for (const entry::Problem& problem : checked.problems)
            ADD_FAILURE() << problem.where << ": " << problem.what;
        if (checked.submission) submissions.push_back(*checked.submission);
    }
    return submissions;
}

inline entry::Submission one_from(std::string_view text, entry::Format format = entry::Format::ndjson) {
    const auto all = all_from(text, format);
    EXPECT_EQ(all.size(), 1u) << text;
    return all.empty() ? entry::Submission{} : all.front();
}

// A weight entry with one more member, and a weight row under a header.
inline entry::Submission weight_with(const std::string& member) {
    return one_from(R"({"type":"weight","person":"juniper","by":"marlow","kg":18.4,)" + member + "}");
}

inline entry::Submission weight_row(const std::string& columns, const std::string& cells) {
    return one_from("type,person,by,kg," + columns + "\nweight,juniper,marlow,18.4," + cells + "\n",
                    entry::Format::csv);
}

}  // namespace nightferry::test
