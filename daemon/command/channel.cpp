#include "daemon/command/channel.hpp"

#include <algorithm>

#include "config/acquaintances.hpp"
#include "daemon/intake/api.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/net/local_client.hpp"
#include "daemon/net/system_ports.hpp"
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

Result<HttpAnswer> Channel::get(const std::string& target) {
    const HttpRequest request{"GET", target, {}, {}};
    auto answer = net::call_local(settings_.socket, request);
    // Who may not even look into the data folder is told that no daemon answers.
    std::error_code unseen;
    was_alone_ = !answer && answer.error().code == Errc::unreachable &&
                 std::filesystem::exists(logbook::file_in(settings_.data), unseen);
    return was_alone_ ? read_alone(request) : std::move(answer);
}

Result<HttpAnswer> Channel::post(const std::string& target, std::string body, const std::string& media_type) {
    HttpRequest request{"POST", target, {}, std::move(body)};
    if (!media_type.empty()) request.headers.emplace_back("Content-Type", media_type);
    was_alone_ = false;
    return net::call_local(settings_.socket, request);
}

Result<HttpAnswer> Channel::read_alone(const HttpRequest& request) const {
    net::SystemClock clock;
    const auto db = logbook::open(logbook::file_in(settings_.data), clock.now());
    if (!db) return db.error();
    logbook::Logbook book(**db);
    logbook::Outbox outbox(**db);
    intake::Desk desk(
        settings_.household, book, clock, [](const std::string&) { return std::vector<std::string>(); },
        config::acquaintances_of(settings_));
    NoPasses passes(settings_);
    logbook::FlagStore flags(**db);
    upkeep::Upkeep upkeep(settings_.household, settings_.plans, book, flags, clock,
                          [this](const std::string& person) { return settings_.clinics_for(person); });
    logbook::OrderShelf shelf(**db);
    upkeep::OrderBook orders(settings_.household, shelf, [this](const std::string& person) {
        return settings_.clinics_asked_for_orders(person);
    });
    upkeep.compare_orders(orders);
    intake::CareApi care(settings_.household, upkeep, clock);
    logbook::AuditTrail audit(**db);
    const intake::SharingApi::Ports ports{
        [&] { return passes.clinics(); },
        [&](const std::string& name) -> Result<sync::JobBuilder> {
            const auto clinic = std::ranges::find(settings_.clinics, name, &config::Clinic::name);
            auto builder = sharing::builder_before_contact(settings_, *clinic, shelf);
            if (!builder) return builder.error();
            return sharing::for_preview(*clinic, std::move(*builder));
        },
        [](const std::string&) {}};
    intake::SharingApi sharing(settings_.household, book, outbox, audit, clock, ports);
    intake::Api api(settings_.household, desk, book, outbox, passes, care, sharing, clock);
    HttpAnswer answer = api.answer(request);
    // Opening took the mark of a clean end away; where it cannot be left again, the next start checks the
    // file.
    (void)(*db)->close_cleanly();
    return answer;
}

}  // namespace nightferry::command
