// What each page shows, from what is known. Pure: whoever calls has looked everything up. Used inside this
// room only.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/care/plan.hpp"
#include "daemon/care/review.hpp"
#include "daemon/logbook/delivery.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/page/leaf.hpp"

namespace nightferry::page {

// How it stands with one clinic.
struct Crossing {
    std::string clinic;
    logbook::QueueCounts counts;
    logbook::ClinicState state;
    bool is_running = false;
};

// What is known of a person, for showing beside what is asked.
struct Facts {
    std::string person;
    const care::Plan* plan = nullptr;         // Nothing where the settings give no regimen.
    std::optional<care::Review> review;       // Of today and the days before; with a plan only.
    std::vector<logbook::EntryRecord> doses;  // The newest, newest first.
};

// What a slot near a time has already.
struct Taken {
    care::SlotRecord slot;
    std::optional<care::GivenDose> dose;  // Where one was given.
};

// Why something was not recorded; shown above the form that was sent.
using Problems = std::vector<std::string>;

// What is filled in before a person types.
Typed blank_dose(const Facts& facts, const Backdrop& at, const std::string& device_carer,
                 const std::string& id);

std::string people_view(const Backdrop& at);
std::string start_view(const Backdrop& at, const Facts& facts, const std::vector<Crossing>& crossings);
std::string dose_view(const Backdrop& at, const Facts& facts, const Typed& typed, const Problems& problems,
                      const std::optional<Taken>& taken);
std::string not_given_view(const Backdrop& at, const Facts& facts, const Typed& typed,
                           const Problems& problems, const std::optional<Taken>& taken);
std::string finding_view(const Backdrop& at, const Facts& facts, const Typed& typed,
                         const Problems& problems);
std::string vial_view(const Backdrop& at, const Facts& facts, const Typed& typed, const Problems& problems);
// What can be amended here; weighings and summaries cannot.
bool has_form(const entry::Entry& entry);
std::string entry_view(const Backdrop& at, const logbook::EntryRecord& entry, const std::optional<T>& news);
std::string amend_view(const Backdrop& at, const Facts& facts, const logbook::EntryRecord& entry,
                       const Typed& typed, const Problems& problems);
std::string retract_view(const Backdrop& at, const logbook::EntryRecord& entry, const Typed& typed,
                         const Problems& problems);
std::string pair_view(const Backdrop& at, const std::optional<T>& remark);
std::string message_view(const Backdrop& at, T message);

// The fields of each form; an amendment has the same.
void put_dose_fields(Leaf& leaf, Form& form, const Facts& facts);
void put_not_given_fields(Leaf& leaf, Form& form, const Facts& facts);
void put_finding_fields(Leaf& leaf, Form& form, const Facts& facts);
void put_vial_fields(Leaf& leaf, Form& form, const Facts& facts);

// Parts that several of them have.
void put_problems(Leaf& leaf, const Problems& problems);
void put_place_picker(Leaf& leaf, Form& form, const Facts& facts, bool needed);
std::vector<Form::Choice> carer_choices(const Leaf& leaf);
std::vector<Form::Choice> medicine_choices(const Leaf& leaf, const Facts& facts);
void put_when(Leaf& leaf, Form& form);
// Whether and how long a place rests, in words.
std::string rest_words(const Leaf& leaf, const care::ZoneUse& zone);
// "0.20 mL enoxaparin-100, left thigh" and the like.
std::string entry_words(const Leaf& leaf, const entry::Entry& entry);

}  // namespace nightferry::page
