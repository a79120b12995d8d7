#include "tests/sim/hub.hpp"

#include "daemon/logbook/opening.hpp"
#include "tests/sim/diary.hpp"

namespace nightferry::sim {

namespace {

constexpr char logbook_file[] = "/home/logbook.sqlite";

}  // namespace

mapping::Identities identities_at(bool patient_by_identifier) {
    mapping::Identities identities{entry_system, {}, {}, {}};
    if (!patient_by_identifier) identities.patients["juniper"] = "Patient/p1";
    return identities;
}

Result<std::unique_ptr<Hub>> Hub::start(const Setup& setup, Agenda& agenda, WallClock& clock, Dice& dice,
                                        logbook::Files& files, std::function<void()> on_failure) {
    auto db = logbook::open(logbook_file, clock.now(), files);
    if (!db) return db.error();
    std::unique_ptr<Hub> hub(new Hub(std::move(*db), clock, dice));
    for (Site* site : setup.sites)
        hub->clinics_.push_back(site->name());
    const auto shared = hub->logbook_.share_only_with(hub->clinics_, clock.now());
    if (!shared) return shared.error();
    for (Site* site : setup.sites) {
        const auto linked = hub->link(setup, *site, agenda, on_failure);
        if (!linked) return linked.error();
    }
    for (const auto& link : hub->links_)
        link->loop->start();
    return hub;
}

Hub::Hub(std::unique_ptr<logbook::Database> db, WallClock& clock, Dice& dice)
    : db_(std::move(db)),
      clock_(clock),
      dice_(dice),
      logbook_(*db_),
      outbox_(*db_),
      flags_(*db_),
      upkeep_(family_household(), plans_, logbook_, flags_, clock,
              [this](const std::string&) { return clinics_; }) {}

Result<void> Hub::link(const Setup& setup, Site& site, Agenda& agenda, std::function<void()> on_failure) {
    const std::string& clinic = site.name();
    const auto shared = logbook_.share(clinic, setup.sharing.at(clinic), clock_.now());
    if (!shared) return shared.error();
    auto state = outbox_.state(clinic);
    if (!state) return state.error();
    auto link = std::make_unique<Link>(agenda);
    link->port = site.connect();
    link->outbox = std::make_unique<service::ClinicOutbox>(outbox_, upkeep_, clinic, clock_);
    std::vector<sync::PatientToFind> patients;
    patients.push_back(setup.patient_by_identifier
                           ? sync::PatientToFind{"juniper", patient_system, patient_number}
                           : sync::PatientToFind{"juniper", {}, {}, "Patient/p1"});
    link->loop = std::make_unique<sync::SyncLoop>(
        clinic,
        sync::SyncMachine(setup.policy,
                          mapping::Mapper(family_household(), identities_at(setup.patient_by_identifier)),
                          std::move(patients), std::move(*state), dice_),
        sync::Timetable({}, family_household().zone, "sim-home"),
        sync::LoopPorts{*link->port, *link->outbox, clock_, dice_, link->pass_alarm, link->night_alarm, log_},
        [on_failure = std::move(on_failure)](const Error&) { on_failure(); });
    if (setup.as_it_happens) link->loop->send_as_it_happens({});
    links_.push_back(std::move(link));
    return {};
}

Result<std::vector<logbook::Verdict>> Hub::accept(const std::vector<entry::Submission>& submissions) {
    std::vector<logbook::Arrival> arrivals;
    for (const entry::Submission& one : submissions)
        arrivals.push_back({one, "local", one.entry ? clinics_ : std::vector<std::string>{}});
    auto verdicts = logbook_.accept(arrivals, clock_.now());
    if (verdicts) {
        for (const auto& link : links_)
            link->loop->on_recorded();
    }
    return verdicts;
}

void Hub::request_passes() {
    for (const auto& link : links_)
        link->loop->request_pass();
}

bool Hub::is_at_work() const {
    return std::any_of(links_.begin(), links_.end(),
                       [](const auto& link) { return link->loop->is_running(); });
}

void Hub::stop_cleanly() {
    for (const auto& link : links_)
        link->loop->stop();
    (void)db_->close_cleanly();
}

}  // namespace nightferry::sim
