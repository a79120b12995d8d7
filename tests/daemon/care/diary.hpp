// Made-up diaries for tests that look for what no diary may bring about.
#pragma once

#include <algorithm>
#include <random>

#include "tests/daemon/care/clinic_orders.hpp"

namespace nightferry::test {

// What clinics list: an order that differs, one that words alone name, one of another medicine; or none at
// all.
inline std::vector<care::OrdersRead> troubled_orders(bool missing) {
    care::ClinicOrder differs = clinic_order("25");
    differs.doses[0].as_needed = true;
    differs.doses[0].until = instant("2027-01-01T00:00Z");
    care::ClinicOrder could_be = clinic_order("20", "o2");
    could_be.recognition = care::Recognition::by_words;
    care::ClinicOrder other = clinic_order("20", "o3");
    other.medicines = {"dalteparin-10000"};
    care::ClinicOrder over = clinic_order("20", "o4");
    over.status = "on-hold";
    if (missing) return {orders_read({over, other})};
    return {orders_read({differs, could_be, other})};
}

// A diary of nothing but trouble: every finding, amounts from nothing to tenfold, doses at any time, sites
// anywhere.
inline care::Known trouble(std::mt19937& random) {
    using namespace std::chrono_literals;
    using namespace care;
    const auto between = [&](int least, int most) {
        return std::uniform_int_distribution<int>(least, most)(random);
    };
    Known known;
    const auto id = [&] { return NameSpace("tone").id_for(std::to_string(random())); };
    const Instant start = instant("2026-10-12T00:00Z");
    for (int i = 0; i < 40; ++i) {
        const entry::Amount amount{Decimal(between(1, 250), 2), entry::Unit::millilitre};
        const Instant at = start + between(0, 14 * 24 * 60) * 1min;
        const bool other = between(0, 9) == 0;
        const entry::Medicine medicine = other ? *household().medicine("dalteparin-10000") : enoxaparin;
        entry::Site site{
            static_cast<entry::Region>(between(0, 4)), static_cast<entry::Side>(between(0, 1)), {}, {}};
        if (between(0, 1) == 1) {
            site.x_cm = Decimal(between(-9, 9), 0);
            site.y_cm = Decimal(between(-9, 9), 0);
        }
        const std::string vial = "V" + std::to_string(between(1, 4));
        known.doses.push_back({id(), at, medicine.key, amount, *size_of(amount, medicine), site,
                               between(0, 5) == 0 ? std::nullopt : std::optional(vial), "marlow",
                               at + between(0, 50) * 1h, between(0, 3) == 0});
    }
    for (int i = 0; i <= static_cast<int>(entry::FindingKind::other) * 3; ++i) {
        entry::Finding finding;
        finding.what = static_cast<entry::FindingKind>(i % (static_cast<int>(entry::FindingKind::other) + 1));
        finding.minutes = Decimal(between(1, 60), 0);
        if (entry::place_of(finding.what) != entry::Place::elsewhere) {
            finding.site = entry::Site{entry::Region::thigh, entry::Side::left, Decimal(1, 0), Decimal(1, 0)};
            finding.length_cm = Decimal(between(1, 9), 0);
            finding.width_cm = Decimal(1, 0);
            finding.lesion = "L";
        }
        known.looks.push_back({id(), start + between(0, 14 * 24 * 60) * 1min, finding});
    }
    for (int i = 0; i < 3; ++i) {
        known.vials.push_back({id(),
                               start + between(0, 72) * 1h,
                               "enoxaparin-100",
                               "V" + std::to_string(i + 1),
                               Decimal(3, 0),
                               {},
                               "2026-10-15"});
        known.weights.push_back({id(), start + i * 24h, Decimal(15 + 3 * i, 0), entry::HowWeighed::measured});
        known.not_given.push_back({id(), start + between(0, 300) * 1h, entry::WhyNotGiven::forgot, {}});
        known.not_given.push_back(
            {id(), start + between(0, 300) * 1h, entry::WhyNotGiven::clinic_hold, "the nurse"});
    }
    known.unreadable.push_back(id());
    known.orders = troubled_orders(between(0, 2) == 0);
    known.left_out = {{"north", start, "the clinic replaced the patient record 'Patient/1' by another one"}};
    const auto by_time = [](const auto& a, const auto& b) {
        return std::tie(a.at, a.id) < std::tie(b.at, b.id);
    };
    std::ranges::sort(known.doses, by_time);
    std::ranges::sort(known.looks, by_time);
    std::ranges::sort(known.vials, by_time);
    std::ranges::sort(known.not_given, {}, &NotGiven::due);
    return known;
}

}  // namespace nightferry::test
