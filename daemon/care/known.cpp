#include "daemon/care/known.hpp"

#include <algorithm>
#include <tuple>

#include "daemon/core/overloaded.hpp"
#include "daemon/entry/revisions.hpp"

namespace nightferry::care {

namespace {

using entry::Version;

// A clock that runs ahead dates a record after its acceptance; it is known from that on.
Instant known_from(const Version& version) {
    return std::min(version.recorded().at, version.accepted);
}

// The revision in effect among those written down by then; null when there was none yet.
const Version* in_effect(const Revisions& revisions, Instant at) {
    const Version* found = nullptr;
    for (const Version& one : revisions) {
        if (known_from(one) > at) continue;
        if (found == nullptr || entry::takes_effect_over(one.submission, found->submission)) found = &one;
    }
    return found;
}

Instant first_recorded(const Revisions& revisions) {
    return std::ranges::min(revisions, {}, [](const Version& one) { return one.recorded().at; })
        .recorded()
        .at;
}

void add_dose(Known& known, const Version& version, Instant recorded, const entry::DoseGiven& dose,
              const entry::Household& household) {
    const entry::Medicine* medicine = household.medicine(dose.medicine);
    const auto size = medicine == nullptr ? std::nullopt : size_of(dose.amount, *medicine);
    if (!size) {
        known.unreadable.push_back(version.content.id);
        return;
    }
    known.doses.push_back({version.content.id, version.content.time.at, dose.medicine, dose.amount, *size,
                           dose.site, dose.vial, version.content.by, recorded, dose.separate});
}

void add(Known& known, const Version& version, Instant recorded, const entry::Household& household) {
    const entry::Entry& entry = version.content;
    const Instant at = entry.time.at;
    std::visit(Overloaded{
                   [&](const entry::DoseGiven& dose) { add_dose(known, version, recorded, dose, household); },
                   [&](const entry::DoseNotGiven& dose) {
                       known.not_given.push_back({entry.id, at, dose.why, dose.instructed_by.value_or("")});
                   },
                   [&](const entry::Finding& finding) {
                       known.looks.push_back({entry.id, at, finding, entry.note.value_or("")});
                   },
                   [&](const entry::Weight& weight) {
                       known.weights.push_back({entry.id, at, weight.kg, weight.how});
                   },
                   [&](const entry::VialOpened& opened) {
                       known.vials.push_back({entry.id, at, opened.medicine, opened.vial, opened.volume_ml,
                                              opened.lot, opened.expires});
                   },
                   // Made from the others.
                   [](const entry::Summary&) {},
               },
               entry.what);
}

}  // namespace

std::optional<Instant> Known::begins() const {
    std::optional<Instant> first;
    if (!doses.empty()) first = doses.front().at;
    if (!not_given.empty()) first = std::min(first.value_or(not_given.front().due), not_given.front().due);
    return first;
}

Known known_at(std::span<const Revisions> entries, const entry::Household& household, Instant at) {
    Known known;
    for (const Revisions& revisions : entries) {
        const Version* version = in_effect(revisions, at);
        if (version == nullptr || version->action() == entry::Action::retract) continue;
        add(known, *version, first_recorded(revisions), household);
    }
    const auto by_time = [](const auto& a, const auto& b) {
        return std::tie(a.at, a.id) < std::tie(b.at, b.id);
    };
    std::ranges::sort(known.doses, by_time);
    std::ranges::sort(known.looks, by_time);
    std::ranges::sort(known.vials, by_time);
    std::ranges::sort(known.weights, by_time);
    std::ranges::sort(known.not_given, [](const NotGiven& a, const NotGiven& b) {
        return std::tie(a.due, a.id) < std::tie(b.due, b.id);
    });
    std::ranges::sort(known.unreadable);
    return known;
}

}  // namespace nightferry::care
