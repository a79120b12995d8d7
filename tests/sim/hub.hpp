// The hub of a simulated home: the real logbook on a simulated disk, the real machine and loop for each
// clinic.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "daemon/core/log.hpp"
#include "daemon/logbook/flag_store.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/logbook/outbox.hpp"
#include "daemon/service/clinic_outbox.hpp"
#include "daemon/sync/loop.hpp"
#include "tests/sim/agenda.hpp"
#include "tests/sim/site.hpp"

namespace nightferry::sim {

struct QuietLog final : Log {
    void take(LogEvent, std::span<const Fact>) override {}
};

class Hub {
 public:
    struct Setup {
        std::vector<Site*> sites;
        bool as_it_happens = false;
        bool patient_by_identifier = false;
        sync::Policy policy;
        std::map<std::string, entry::SharingPolicy> sharing;  // By clinic.
    };

    // Starts a process; the error says why it cannot. `on_failure` is called when it has to end by itself.
    static Result<std::unique_ptr<Hub>> start(const Setup& setup, Agenda& agenda, WallClock& clock,
                                              Dice& dice, logbook::Files& files,
                                              std::function<void()> on_failure);

    logbook::Logbook& logbook() { return logbook_; }
    logbook::Outbox& outbox() { return outbox_; }
    Result<std::vector<logbook::Verdict>> accept(const std::vector<entry::Submission>& submissions);
    void request_passes();
    bool is_at_work() const;
    // As SIGTERM has it.
    void stop_cleanly();

 private:
    struct Link {
        std::unique_ptr<sync::ClinicPort> port;
        std::unique_ptr<service::ClinicOutbox> outbox;
        AgendaAlarm pass_alarm;
        AgendaAlarm night_alarm;
        std::unique_ptr<sync::SyncLoop> loop;
        explicit Link(Agenda& agenda) : pass_alarm(agenda), night_alarm(agenda) {}
    };

    Hub(std::unique_ptr<logbook::Database> db, WallClock& clock, Dice& dice);
    Result<void> link(const Setup& setup, Site& site, Agenda& agenda, std::function<void()> on_failure);

    std::unique_ptr<logbook::Database> db_;
    WallClock& clock_;
    Dice& dice_;
    std::vector<std::string> clinics_;
    std::vector<care::Plan> plans_;
    logbook::Logbook logbook_;
    logbook::Outbox outbox_;
    logbook::FlagStore flags_;
    upkeep::Upkeep upkeep_;
    QuietLog log_;
    std::vector<std::unique_ptr<Link>> links_;
};

// How the model clinics know this home.
mapping::Identities identities_at(bool patient_by_identifier);
inline constexpr char patient_system[] = "https://clinic.example/numbers";
inline constexpr char patient_number[] = "T-1";

}  // namespace nightferry::sim
