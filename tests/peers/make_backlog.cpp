// Writes a logbook in which many entries wait for one clinic, as if it had been away for years:
//
//   make_backlog FOLDER COUNT
//
// They are doses, findings and weights of the demo household's person, all accepted by the logbook itself,
// for the clinic "nowhere". The household is to be run without a regimen: with one the hub computes from
// everything a person ever recorded, whatever waits.
#include <cstdio>
#include <cstdlib>

#include "daemon/logbook/logbook.hpp"
#include "daemon/logbook/opening.hpp"

namespace {

using namespace nightferry;
using namespace std::chrono_literals;

// Many at once, because each batch touches pages all over the file.
constexpr std::int64_t batch = 200'000;
const std::string clinic = "nowhere";
const std::string person = "juniper";

// Computed ids lie scattered, as those of a household do: the order in which entries wait is not that of
// their ids.
EntryId id_of(std::int64_t number) {
    static const NameSpace ids("exampleton-home");
    return ids.id_for("backlog:" + std::to_string(number));
}

entry::DoseGiven dose(std::int64_t number) {
    entry::DoseGiven dose;
    dose.medicine = "enoxaparin-100";
    dose.amount = {Decimal(18 + number % 3, 2), entry::Unit::millilitre};
    dose.site = {entry::Region::abdomen, number % 2 == 0 ? entry::Side::left : entry::Side::right,
                 Decimal(4 + number % 5, 0), Decimal(-2, 0)};
    dose.vial = "vial-" + std::to_string(number / 30);
    dose.checked_by = "tove";
    return dose;
}

entry::Finding bruise(std::int64_t number) {
    entry::Finding finding;
    finding.what = entry::FindingKind::bruise;
    finding.site = dose(number).site;
    finding.length_cm = Decimal(10 + number % 30, 1);
    finding.dose = id_of(number - 1);
    return finding;
}

entry::Submission submission(std::int64_t number, Instant now, std::int64_t count) {
    entry::Entry content;
    content.id = id_of(number);
    content.person = person;
    content.time = {std::chrono::floor<std::chrono::minutes>(now) - std::chrono::minutes{count - number},
                    60min};
    content.by = "marlow";
    switch (number % 4) {
        case 1:
            content.what = bruise(number);
            break;
        case 3:
            content.what = entry::Weight{Decimal(180 + number % 9, 1)};
            break;
        default:
            content.what = dose(number);
            content.note = "After breakfast, without tears";
    }
    return {entry::Action::record, content.id, content.time, content.by, {}, content};
}

// A hub that has room: what is written here is thrown away when the machine fails, and no test is about that.
Result<void> hurry(logbook::Database& db) {
    return db.run("PRAGMA synchronous=OFF; PRAGMA cache_size=-1000000; PRAGMA wal_autocheckpoint=100000");
}

Result<void> write_backlog(const std::filesystem::path& folder, std::int64_t count) {
    const Instant now = std::chrono::floor<std::chrono::microseconds>(std::chrono::system_clock::now());
    auto db = logbook::open(logbook::file_in(folder), now);
    if (!db) return db.error();
    if (const auto hurried = hurry(**db); !hurried) return hurried;
    {
        logbook::Logbook book(**db);
        // As the hub does when it starts: there is nothing yet, and from here on every entry gets its
        // delivery.
        entry::SharingTerms terms;
        terms.persons = {person};
        const auto shared = book.share(clinic, entry::SharingPolicy(terms), now);
        if (!shared) return shared.error();
        std::vector<logbook::Arrival> arrivals;
        for (std::int64_t number = 0; number < count; ++number) {
            arrivals.push_back({submission(number, now, count), "local", {clinic}});
            if (number + 1 < count && std::ssize(arrivals) < batch) continue;
            const auto accepted = book.accept(arrivals, now);
            if (!accepted) return accepted.error();
            arrivals.clear();
        }
    }
    return (*db)->close_cleanly();
}

}  // namespace

int main(int argc, char** argv) {
    const std::int64_t count = argc == 3 ? std::atoll(argv[2]) : 0;
    if (count <= 0) {
        std::fprintf(stderr, "usage: make_backlog FOLDER COUNT\n");
        return 64;
    }
    const auto written = write_backlog(argv[1], count);
    if (written) return 0;
    std::fprintf(stderr, "make_backlog: %s\n", written.error().detail.c_str());
    return 74;
}
