// How long a review takes, for one, ten and a hundred years of twice-daily doses of one person, with a
// finding a week and a vial every eight days. "each" is the time for one dose: it stays the same where cost
// grows linearly. A hundred years are some 150 MB, for which the kernel's pages cost extra; to leave those
// out, run it with
// GLIBC_TUNABLES=glibc.malloc.mmap_threshold=4294967296:glibc.malloc.trim_threshold=8589934592.
#include <benchmark/benchmark.h>

#include "daemon/care/review.hpp"
#include "daemon/care/summaries.hpp"

namespace nightferry::bench {

using namespace std::chrono_literals;

entry::Household household() {
    return {"bench-home",
            *Zone::find("Europe/Dublin"),
            {{"somebody", "Somebody"}},
            {{"carer", "Carer", ""}},
            {{"enoxaparin-100", "enoxaparin", Decimal(100, 0), entry::Unit::milligram}}};
}

const LocalSecond begins{std::chrono::local_days{std::chrono::year{2000} / 1 / 1}};
const entry::Amount ordered{Decimal(18, 2), entry::Unit::millilitre};

care::Plan plan() {
    care::Plan plan;
    plan.person = "somebody";
    plan.regimen.orders.push_back(
        {begins, household().zone, "enoxaparin-100", {{8h, ordered}, {20h, ordered}}});
    return plan;
}

EntryId id(std::int64_t number) {
    static const NameSpace names("bench");
    return names.id_for(std::to_string(number));
}

// Of the doses one in fifty is missing, and their times and sites wander.
care::Known known(const care::Plan& plan, Instant from, Instant to) {
    care::Known known;
    const entry::Household home = household();
    std::int64_t n = 0;
    std::string vial;
    for (const care::Slot& slot : care::slots_between(plan.regimen, from, to)) {
        const Instant at = slot.due.at + (n * 37 % 200 - 80) * 1min;
        if (n % 16 == 0) {
            vial = "V" + std::to_string(n / 16);
            known.vials.push_back({id(-n - 1), at - 1min, "enoxaparin-100", vial, Decimal(3, 0), {}, {}});
        }
        if (n % 14 == 0) {
            entry::Finding bruise;
            bruise.what = entry::FindingKind::bruise;
            bruise.site =
                entry::Site{entry::Region::thigh, entry::Side::left, Decimal(n % 7, 0), Decimal(2, 0)};
            bruise.length_cm = n % 28 == 0 ? Decimal(2, 0) : Decimal();
            bruise.present = n % 28 == 0;
            bruise.lesion = "B" + std::to_string(n / 28);
            known.looks.push_back({id(1'000'000 + n), at, bruise});
        }
        if (n++ % 50 == 49) continue;
        const entry::Site site{n % 4 < 2 ? entry::Region::abdomen : entry::Region::thigh,
                               n % 2 == 0 ? entry::Side::left : entry::Side::right,
                               Decimal(n % 2 == 0 ? 6 + n % 3 : -6 - n % 3, 0), Decimal(n % 5, 0)};
        known.doses.push_back({id(n), at, "enoxaparin-100", ordered,
                               *care::size_of(ordered, home.medicines[0]), site, vial, "carer", at + 2min,
                               false});
    }
    std::ranges::sort(known.doses, {}, [](const care::GivenDose& dose) { return dose.at; });
    return known;
}

void review_of_years(benchmark::State& state) {
    const care::Plan ordered_plan = plan();
    const entry::Household home = household();
    const Instant from = care::meant_by(home.zone, begins).at;
    const Instant to = from + std::chrono::days{365} * state.range(0);
    const care::Known all = known(ordered_plan, from, to);
    for (auto _ : state)
        benchmark::DoNotOptimize(care::review_of_known(ordered_plan, home, all, {from, to}, to));
    const auto doses = static_cast<double>(all.doses.size()) * static_cast<double>(state.iterations());
    state.counters["each"] =
        benchmark::Counter(doses, benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
}
BENCHMARK(review_of_years)->Arg(1)->Arg(10)->Arg(100)->Unit(benchmark::kMillisecond);

void summaries_of_years(benchmark::State& state) {
    const care::Plan ordered_plan = plan();
    const entry::Household home = household();
    const Instant from = care::meant_by(home.zone, begins).at;
    const Instant to = from + std::chrono::days{365} * state.range(0);
    const care::Review review =
        care::review_of_known(ordered_plan, home, known(ordered_plan, from, to), {to, to}, to);
    for (auto _ : state)
        benchmark::DoNotOptimize(care::summaries_of(review, ordered_plan, home));
}
BENCHMARK(summaries_of_years)->Arg(1)->Arg(10)->Arg(100)->Unit(benchmark::kMillisecond);

}  // namespace nightferry::bench

BENCHMARK_MAIN();
