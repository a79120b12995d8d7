// How the doses of a period were given, as counts and fractions: implementation, in the taxonomy of Vrijens
// 2012. Every figure says n of N, and none where N is 0: then it cannot be calculated, and is neither 0 nor
// 100. The figures are never merged into one score, and nothing here is called good or bad.
//
// E, the slots that count: those of the period that were neither held nor are still due, nor undecided
// because only a provisional dose could fill them.
#pragma once

#include <chrono>
#include <cstdint>
#include <map>
#include <optional>
#include <string>

#include "daemon/care/order_check.hpp"
#include "daemon/care/share.hpp"
#include "daemon/care/timeline.hpp"

namespace nightferry::care {

struct AdherenceLimits {
    std::chrono::minutes near{
        60};  // Windows of TI60 and TI180: ISMP 2011 for medicines given twice a day, and
    std::chrono::minutes wide{180};         // a quarter of twelve hours.
    std::chrono::minutes gap_min{9 * 60};   // Twelve hours, a quarter less
    std::chrono::minutes gap_max{15 * 60};  // or more.

    bool operator==(const AdherenceLimits&) const = default;
};

// What doses of one medicine contained, and what E was ordered to contain of it, in the unit of its strength.
struct Content {
    Decimal given = {};
    Decimal ordered = {};
    entry::Unit unit = entry::Unit::milligram;

    // Given as a percentage of ordered, one decimal, half up; nothing when nothing was ordered.
    std::optional<Decimal> percent() const;
};

// The doses that one carer gave.
struct CarerFigures {
    std::int64_t given = 0;
    Share near_time;       // Within the near window, of those that have a slot.
    Share ordered_amount;  // Matching the order, of those.
    bool operator==(const CarerFigures&) const = default;
};

struct Adherence {
    Share taken;            // TA_raw: doses given, extra ones too, of E; may exceed E.
    Share slots_filled;     // TA_slots: slots with a dose, of E. The headline figure.
    Share days_as_ordered;  // CD: days with as many doses as were ordered, of the days that can be judged.
    Share days_covered;     // COV: days with at least as many.
    Share near_time;        // TI60: slots filled within the near window, of E.
    Share wide_time;        // TI180: within the wide one.
    Share intervals;        // INT: gaps within limits, of those without a held slot in them; a gap
                            // belongs to the period of the dose that ends it.
    Share ordered_amount;   // DOSE: filled slots whose dose matches the order, of the filled ones.
    std::map<std::string, Content> contents;  // MG, by medicine: nothing is added up over two of them.

    std::map<Timing, std::int64_t> timings;  // Of the filled slots.
    std::int64_t extra = 0;
    std::int64_t missed = 0;
    std::int64_t no_record = 0;
    std::int64_t held = 0;
    std::int64_t due = 0;
    std::int64_t undecided = 0;    // Slots that only a provisional dose could fill; not in E.
    std::int64_t provisional = 0;  // Doses in no other figure, until a person decides.
    std::map<std::string, CarerFigures> by_carer;

    // Given minus scheduled, over the filled slots.
    std::chrono::microseconds deviation_sum{0};
    std::chrono::microseconds deviation_size_sum{0};
    std::optional<std::chrono::microseconds>
        deviation_median;                                  // Of an even number the mean of the middle two.
    std::optional<std::chrono::microseconds> longest_gap;  // Without a held slot in it.
    std::chrono::microseconds beyond_gap_max{0};           // By how much all gaps together exceed the limit.
    std::optional<std::chrono::microseconds> longest_entry_lag;  // From giving to writing down.
};

// The period takes slots with from <= due < to, the doses given for them even when later than `to`, and extra
// doses given in it. Days are those of the home's zone, and a dose counts for the day of its slot. Amounts
// match as compare_amounts() says. Nothing when sums have too many digits.
std::optional<Adherence> adherence_of(const Timeline& timeline, Instant from, Instant to, const Zone& home,
                                      const entry::Household& household, const AdherenceLimits& limits,
                                      const OrderLimits& order_limits);

}  // namespace nightferry::care
