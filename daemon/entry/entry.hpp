// What people at home record. Plain values; how they are read is reader.hpp, what makes them good is
// check.hpp.
#pragma once

#include <chrono>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/core/decimal.hpp"
#include "daemon/core/ids.hpp"
#include "daemon/core/time.hpp"

namespace nightferry::entry {

enum class Kind { dose_given, dose_not_given, finding, weight, vial_opened, summary };

enum class Unit { millilitre, milligram, international_unit };

struct Amount {
    Decimal value;
    Unit unit = Unit::millilitre;
    bool operator==(const Amount&) const = default;
};

enum class Region { abdomen, thigh, upper_arm, buttock, lower_back };
enum class Side { left, right };    // The person's own left and right.
enum class Level { upper, lower };  // Above or below the navel.

// Where on the body. On the abdomen the origin is the navel, x to the person's left, y up; on the other
// regions each has its own local grid. Coordinates are approximate and in centimetres.
struct Site {
    Region region = Region::abdomen;
    Side side = Side::left;
    std::optional<Decimal> x_cm;
    std::optional<Decimal> y_cm;
    std::optional<Level> level = {};  // On the abdomen, where no y says it.
    bool operator==(const Site&) const = default;
};

struct DoseGiven {
    std::string medicine;  // Key of the household's medicine, which fixes the strength.
    Amount amount;
    Site site;
    std::optional<std::string> vial;        // The family's label of the vial it was drawn from.
    std::optional<std::string> checked_by;  // A second person who checked the syringe.
    // Somebody made sure that it is an injection of its own, although another lies close by.
    bool separate = false;
};

enum class WhyNotGiven {
    forgot,
    refused,      // The person did not want it.
    clinic_hold,  // The clinic said to leave it out.
    out_of_stock,
    not_at_hand,  // In stock but not where the person was.
    in_hospital,
    unwell,
    other,
};

// The entry's time is the time at which the dose was due.
struct DoseNotGiven {
    std::string medicine;
    WhyNotGiven why = WhyNotGiven::other;
    std::optional<std::string> instructed_by = {};  // Who at the clinic said so; only with clinic_hold.
};

enum class FindingKind {
    bruise,
    haematoma,
    lump,
    hardening,
    site_bleeding,
    redness,
    pain,
    swelling,
    itching,
    hives,
    infection_signs,
    dead_skin,
    leak,
    colour_change,
    numbness,
    nosebleed,
    gum_bleeding,
    blood_in_urine,
    dark_stool,
    head_injury,
    other,
};

// Whether such a finding lies at a place where somebody injects.
enum class Place { at_a_site, elsewhere, either };
constexpr Place place_of(FindingKind kind) {
    switch (kind) {
        case FindingKind::nosebleed:
        case FindingKind::gum_bleeding:
        case FindingKind::blood_in_urine:
        case FindingKind::dark_stool:
        case FindingKind::head_injury:
            return Place::elsewhere;
        case FindingKind::other:
            return Place::either;
        default:
            return Place::at_a_site;
    }
}

struct Finding {
    FindingKind what = FindingKind::other;
    bool present = true;                // false: looked for and not there (any more).
    std::optional<Site> site;           // As place_of() says.
    std::optional<Decimal> length_cm;   // The longest measure; 0 when the finding has gone.
    std::optional<Decimal> width_cm;    // Across it; at most the length.
    std::optional<Decimal> pain;        // 0 (none) to 10 (worst imaginable), whole.
    std::optional<Decimal> minutes;     // How long it lasted.
    std::optional<std::string> lesion;  // The family's label of the lesion, the same in every look at it.
    std::optional<EntryId> dose;        // The dose entry it belongs to, where known.
};

enum class HowWeighed { measured, estimated };

struct Weight {
    Decimal kg;
    HowWeighed how = HowWeighed::measured;
};

struct VialOpened {
    std::string medicine;
    std::string vial;
    std::optional<Decimal> volume_ml;  // As printed on the vial.
    std::optional<std::string> lot;
    std::optional<std::string> expires;  // As printed on the vial: "2027-03-31", or "2027-03".
};

enum class SummaryOf { day, week };

// What a summary counts. Those of the first group are the doses that were ordered and what became of them.
enum class Count {
    ordered,  // Slots that were neither held nor are still due: what the shares are of.
    given,    // Doses, extra ones too.
    filled,   // Slots with a dose.
    on_time,
    early,
    late,
    very_late,
    missed,
    no_record,
    held,
    extra,
    undecided,          // Slots that only a provisional dose could fill.
    provisional,        // Doses in no other count, until a person decides.
    near_time,          // Slots filled within the near window,
    wide_time,          // and within the wide one.
    as_ordered_amount,  // Slots filled with the ordered amount.
    days,               // Days that can be judged,
    days_as_ordered,    // and those with as many doses as were ordered.
};

// What became of the doses of a closed day or week. Made by the hub, never handed in; `by` is empty.
struct Summary {
    struct Content {
        std::string medicine;
        Decimal given;  // In the unit of the medicine's strength.
        Decimal ordered;
        bool operator==(const Content&) const = default;
    };

    SummaryOf of = SummaryOf::day;
    std::chrono::year_month_day first;  // Days of the home's zone,
    std::chrono::year_month_day last;   // the last one included.
    Moment begins;
    std::map<Count, std::int64_t> counts;
    std::vector<Content> contents;
    // The clinic's limits by which the times of doses were judged.
    std::chrono::minutes on_time{0};
    std::chrono::minutes late{0};
    std::chrono::minutes near{0};
    std::chrono::minutes wide{0};

    std::int64_t count(Count which) const {
        const auto found = counts.find(which);
        return found == counts.end() ? 0 : found->second;
    }
};

// A name under which somebody else knows an entry, as FHIR writes it.
struct ForeignIdentifier {
    std::string system;  // An absolute URI, or empty.
    std::string value;
    bool operator==(const ForeignIdentifier&) const = default;
};

struct Entry {
    EntryId id;
    std::string person;
    Moment
        time;  // When it happened; for a dose not given, when it was due; for a summary, when its time ended.
    std::string by;  // Empty for what the hub makes.
    std::optional<std::string> note;
    std::variant<DoseGiven, DoseNotGiven, Finding, Weight, VialOpened, Summary> what;
    std::vector<ForeignIdentifier> identifiers = {};  // What its source calls it, in the source's order.

    Kind kind() const { return static_cast<Kind>(what.index()); }
};

// In the order in which they take effect.
enum class Action {
    record,   // A new entry.
    amend,    // A later version of it, complete.
    retract,  // It should never have been recorded ("entered in error").
};

// What somebody hands in: an entry, its later version, or its retraction.
struct Submission {
    Action action = Action::record;
    EntryId id;
    // When it was written down. Always there for amend and retract: it tells revisions apart and orders
    // them. For a record it may be absent; the time of acceptance then stands for it.
    std::optional<Moment> recorded;
    std::string recorded_by;
    std::optional<std::string> reason;  // Why it is amended or retracted.
    std::optional<Entry> entry;         // Absent only for a retraction.
};

// One revision of an entry as the logbook holds it, ready to be shown.
struct Version {
    std::int64_t revision = 0;  // Counts arrivals from 1.
    Submission submission;
    Entry content;  // Its own, or for a retraction the content in effect before it.
    Instant accepted;

    Action action() const { return submission.action; }
    // When it was written down, as far as we know.
    Moment recorded() const { return submission.recorded.value_or(Moment{accepted, content.time.offset}); }
};

}  // namespace nightferry::entry
