#include "daemon/care/known.hpp"

#include <algorithm>
#include <tuple>

#include "daemon/core/overloaded.hpp"
#include "daemon/entry/revisions.hpp"

namespace nightferry::care {

namespace {

using entry::Version;

// The revision in effect among those written down by then; null when there was none yet.
const Version* in_effect(const Revisions& revisions, Instant at) {
    const Version* found = nullptr;
    for (const Version& one : revisions) {
        if (one.recorded().at > at) continue;
        if (found == nullptr || entry::takes_effect_over(one.submission, found->submission)) found = &one;
    }
    return found;
}

void add_dose(Known& known, const Version& version, const entry::DoseGiven& dose,
              const entry::Household& household) {
    const entry::Medicine* medicine = household.medicine(dose.medicine);
    const auto size = medicine == nullptr ? std::nullopt : size_of(dose.amount, *medicine);
    if (!size) {
        known.unreadable.push_back(version.content.id);
        return;
    }
    known.doses.push_back({version.content.id, version.content.time.at, dose.medicine, dose.amount, *size,
                           dose.site, dose.vial, version.content.by, version.recorded().at, dose.separate});
}

void add(Known& known, const Version& version, const entry::Household& household) {
    const entry::Entry& entry = version.content;
    const Instant at = entry.time.at;
    std::visit(Overloaded{
                   [&](const entry::DoseGiven& dose) { add_dose(known, version, dose, household); },
                   [&](const entry::DoseNotGiven& dose) {
                       known.not_given.push_back({entry.id, at, dose.why, dose.instructed_by.value_or("")});
                   },
                   [&](const entry::Finding& finding) {
                       known.looks.push_back({entry.id, at, finding});
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
        add(known, *version, household);
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
