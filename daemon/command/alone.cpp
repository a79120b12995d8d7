#include "daemon/command/alone.hpp"

#include <algorithm>

#include "config/acquaintances.hpp"
#include "daemon/intake/api.hpp"
#include "daemon/intake/api_json.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/net/system_ports.hpp"
#include "daemon/page/device_api.hpp"
#include "daemon/sharing/clinic_view.hpp"

namespace nightferry::command {

namespace {

// Without a daemon there are no passes.
class NoPasses final : public intake::Passes {
 public:
    explicit NoPasses(const config::Settings& settings) : settings_(settings) {}
    std::vector<std::string> clinics() const override {
        std::vector<std::string> names;
        for (const config::Clinic& clinic : settings_.clinics)
            names.push_back(clinic.name);
        return names;
    }
    bool is_running(const std::string&) const override { return false; }
    void start(const std::string&) override {}

 private:
    const config::Settings& settings_;
};

}  // namespace

struct Alone::Hub {
    Hub(const config::Settings& of_this_home, std::unique_ptr<logbook::Database> opened)
        : settings(of_this_home), db(std::move(opened)) {
        computing.compare_orders(orders);
        computing.watch_patients(patients);
    }

    intake::SharingApi::Ports sharing_ports() {
        return {[this] { return passes.clinics(); },
                [this](const std::string& name) -> Result<sync::JobBuilder> {
                    const auto clinic = std::ranges::find(settings.clinics, name, &config::Clinic::name);
                    auto builder = sharing::builder_before_contact(settings, *clinic, shelf);
                    if (!builder) return builder.error();
                    return sharing::for_preview(*clinic, std::move(*builder));
                },
                [](const std::string&) {}};
    }

    const config::Settings& settings;
    std::unique_ptr<logbook::Database> db;
    net::SystemClock clock;
    logbook::Logbook book{*db};
    logbook::Outbox outbox{*db};
    intake::Desk desk{settings.household, book, clock,
                      [](const std::string&) { return std::vector<std::string>(); },
                      config::acquaintances_of(settings)};
    NoPasses passes{settings};
    logbook::FlagStore flags{*db};
    upkeep::Upkeep computing{
        settings.household, settings.plans, book, flags, clock, [this](const std::string& person) {
            return settings.clinics_for(person);
        }};
    logbook::OrderShelf shelf{*db};
    upkeep::OrderBook orders{settings.household, shelf, [this](const std::string& person) {
                                 return settings.clinics_asked_for_orders(person);
                             }};
    upkeep::PatientBook patients{outbox,
                                 [this](const std::string& person) { return settings.clinics_for(person); }};
    intake::CareApi care{settings.household, computing, clock};
    logbook::AuditTrail audit{*db};
    intake::SharingApi shares{settings.household, book, outbox, audit, clock, sharing_ports()};
    intake::LogbookApi keeping{settings.household, settings.identifier_system, *db,
                               logbook::file_in(settings.data), clock};
    intake::Api api{settings.household, desk, book, outbox, passes, care, shares, keeping, clock};
    logbook::DeviceShelf device_shelf{*db};
    // Codes are in the daemon's memory.
    page::DeviceApi devices{
        settings.household,
        device_shelf,
        clock,
        {[](const std::string&, const std::string&) -> Result<page::DeviceApi::Invitation> {
             return Error{Errc::unreachable, "only the daemon lets a phone in, and it does not run"};
         },
         [](const std::string&) {}}};
};

Alone::Alone(std::unique_ptr<Hub> hub) : hub_(std::move(hub)) {}

Result<std::unique_ptr<Alone>> Alone::open(const config::Settings& settings) {
    auto db = logbook::open(logbook::file_in(settings.data), net::SystemClock().now());
    if (!db) return db.error();
    return std::unique_ptr<Alone>(new Alone(std::make_unique<Hub>(settings, std::move(*db))));
}

Alone::~Alone() {
    // Opening took the mark of a clean end away; where it cannot be left again, the next start checks the
    // file.
    (void)hub_->db->close_cleanly();
}

HttpAnswer Alone::answer(const HttpRequest& request) {
    if (!page::DeviceApi::is_for(path_of(request.target))) return hub_->api.answer(request);
    auto answer = hub_->devices.answer(request);
    return answer ? std::move(*answer) : intake::error_answer(500, answer.error().detail);
}

}  // namespace nightferry::command
