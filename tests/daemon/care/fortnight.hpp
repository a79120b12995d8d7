// The invented fortnight of the demo household (config/demo), as values: its regimen with the three held
// slots, and the instants of its 38 injections.
#pragma once

#include <chrono>
#include <set>
#include <string_view>
#include <vector>

#include "daemon/care/regimen.hpp"
#include "daemon/care/timeline.hpp"

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

inline care::Hold held(std::string_view from, std::string_view until) {
    return {instant(from), instant(until), "the clinic", "as it said"};
}

inline care::Regimen fortnight() {
    return {{every_twelve_hours("2026-10-12T08:00", "Europe/Dublin"),
             every_twelve_hours("2026-10-21T20:00", "Europe/Dublin", "0.20")},
            {held("2026-10-15T19:00Z", "2026-10-16T12:00Z"), held("2026-10-28T20:00Z", "2026-10-28T21:00Z")},
            {}};
}

inline std::vector<Instant> fortnight_given() {
    std::vector<Instant> given;
    for (const char* text :
         {"2026-10-12T07:00Z", "2026-10-12T19:05Z", "2026-10-13T06:50Z", "2026-10-13T21:15Z",
          "2026-10-14T07:00Z", "2026-10-14T19:15Z", "2026-10-15T07:05Z", "2026-10-16T19:10Z",
          "2026-10-17T07:00Z", "2026-10-17T19:02Z", "2026-10-18T07:30Z", "2026-10-19T06:55Z",
          "2026-10-19T19:00Z", "2026-10-20T07:05Z", "2026-10-20T19:12Z", "2026-10-21T06:57Z",
          "2026-10-21T19:20Z", "2026-10-22T10:40Z", "2026-10-22T18:58Z", "2026-10-23T07:20Z",
          "2026-10-23T19:00Z", "2026-10-24T07:10Z", "2026-10-24T17:30Z", "2026-10-25T08:10Z",
          "2026-10-25T20:05Z", "2026-10-26T07:45Z", "2026-10-26T20:45Z", "2026-10-27T20:00Z",
          "2026-10-28T08:03Z", "2026-10-28T09:20Z", "2026-10-29T07:50Z", "2026-10-29T20:05Z",
          "2026-10-30T08:05Z", "2026-10-30T20:10Z", "2026-10-31T08:20Z", "2026-10-31T19:50Z",
          "2026-11-01T08:00Z", "2026-11-01T20:06Z"})
        given.push_back(instant(text));
    return given;
}

// The medicine of the fortnight, and its injections as doses that count, as far as they were known then: one
// was written down two days late.
inline const entry::Medicine enoxaparin{"enoxaparin-100", "enoxaparin", Decimal(100, 0),
                                        entry::Unit::milligram};

inline std::vector<care::GivenDose> fortnight_doses(Instant known_at) {
    const std::set<std::size_t> by_tove{6, 11, 17, 18, 23, 27, 30, 34};
    const auto given = fortnight_given();
    std::vector<care::GivenDose> doses;
    for (std::size_t n = 1; n <= given.size(); ++n) {
        const Decimal ml = n <= 17 ? Decimal(18, 2) : Decimal(20, 2);
        const Instant recorded =
            n == 34 ? instant("2026-11-01T09:00Z") : given[n - 1] + std::chrono::minutes{2};
        if (recorded > known_at) continue;
        doses.push_back({given[n - 1], *care::size_of({ml, entry::Unit::millilitre}, enoxaparin),
                         by_tove.contains(n) ? "tove" : "marlow", recorded});
    }
    return doses;
}

inline care::Timeline fortnight_timeline(Instant known_at) {
    return care::timeline_of(fortnight(), enoxaparin, instant("2026-10-11T23:00Z"),
                             instant("2026-11-02T00:00Z"), fortnight_doses(known_at),
                             {instant("2026-10-18T19:00Z")}, known_at, {});
}

}  // namespace nightferry::test
