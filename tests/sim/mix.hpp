// What can go wrong in one simulated world. Chosen first, from the seed, so that some worlds have one kind of
// misfortune only and others everything at once.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "tests/sim/dialect.hpp"
#include "tests/sim/dice.hpp"
#include "tests/sim/misbehaviour.hpp"

namespace nightferry::sim {

// Odds are per thousand: of requests for the line and the server, of hours for everything else.
struct Mix {
    int fault_days = 2;

    struct Line {
        int lost_requests = 0;
        int lost_answers = 0;
        int late_requests = 0;     // Given up here, and carried out minutes later.
        int doubled_requests = 0;  // Carried out twice.
        int outages = 0;           // Of minutes to hours.
        int breaks_at = 0;  // Of each connection, the request at which it breaks; 0: at none. For good.
    } line;
    struct Server {
        int misbehaves = 0;
        std::vector<Misbehaviour> kinds;
        int restores = 0;      // From the backup of a night before.
        bool refuses = false;  // Some of the family's entries, by a rule of its own.
        bool breaks = false;   // On some of them.
        bool tells_date = true;
    } server;
    struct People {
        int edits = 0;
        int touches = 0;
        int deletions = 0;
        int copies = 0;
        int races = 0;  // Edits right after the hub has looked; of its looks.
        int moves = 0;  // Of the patient's number to another record, which is then said to be the one.
    } people;
    struct Process {
        int kills = 0;
        int stops = 0;  // Clean ones.
        int loops = 0;  // For half an hour at most it ends again within seconds of each start.
        bool power_cuts = false;
        bool dies_in_calls = false;  // At a disk call rather than between events.
    } process;
    struct DiskTroubles {
        int errors = 0;  // A call that fails once.
        int sync_errors = 0;
        int full = 0;  // For some hours.
    } disk;
    struct ClockTroubles {
        int jumps = 0;
        bool wrong_at_boot = false;
        bool by_years = false;
    } clock;
    struct Family {
        int entries_a_day = 6;
        int amendments = 200;  // Per thousand entries, as the following two.
        int retractions = 60;
        int repeats = 150;      // Handed in again.
        int impatience = 30;    // Asks for a pass.
        int interruptions = 0;  // Corrects something while the hub waits for an answer; of requests.
        bool as_it_happens = false;
        int backlog = 0;          // Entries from before the first day.
        int second_thoughts = 0;  // About what a clinic may have.
    } family;
    int clinics = 1;
    bool patient_by_identifier = false;
    std::size_t bundle_bytes = 1024 * 1024;  // The hub's own limit.
};

Mix draw_mix(Dice& dice);
Dialect draw_dialect(Dice& dice);

}  // namespace nightferry::sim
