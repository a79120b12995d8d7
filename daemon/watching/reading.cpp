#include "daemon/watching/reading.hpp"

namespace nightferry::watching {

namespace {

void add_to(ByWord& sum, const ByWord& more) {
    for (const auto& [word, number] : more)
        sum[word] += number;
}

}  // namespace

void Counts::add(const Counts& more) {
    for (const auto& [way, answers] : more.handed_in)
        add_to(handed_in[way], answers);
    add_to(unreadable, more.unreadable);
    for (const auto& [clinic, counts] : more.clinics) {
        ClinicCounts& sum = clinics[clinic];
        add_to(sum.passes, counts.passes);
        add_to(sum.requests, counts.requests);
        sum.sent_bytes += counts.sent_bytes;
        sum.received_bytes += counts.received_bytes;
    }
}

}  // namespace nightferry::watching
