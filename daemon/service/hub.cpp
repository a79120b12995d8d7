#include "daemon/service/hub.hpp"

#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <csignal>

#include "config/acquaintances.hpp"
#include "daemon/core/folders.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "daemon/intake/api.hpp"
#include "daemon/intake/desk.hpp"
#include "daemon/intake/inbox_watch.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/logbook/pins.hpp"
#include "daemon/net/http_server.hpp"
#include "daemon/net/system_ports.hpp"
#include "daemon/service/linked_passes.hpp"
#include "daemon/service/room_wait.hpp"
#include "daemon/sharing/clinic_view.hpp"
#include "daemon/upkeep/upkeep.hpp"

namespace nightferry::service {

namespace {

std::vector<logbook::Pin> pins_of(const config::Settings& settings) {
    using Kind = logbook::Pin::Kind;
    std::vector<logbook::Pin> pins{{Kind::hub, "name", settings.household.hub},
                                   {Kind::hub, "identifier_system", settings.identifier_system}};
    for (const entry::Medicine& medicine : settings.household.medicines) {
        pins.push_back({Kind::medicine, medicine.key,
                        medicine.strength.to_string() + " " +
                            std::string(entry::word_for(medicine.strength_unit)) + "/mL " +
                            medicine.substance});
    }
    for (const config::Clinic& clinic : settings.clinics) {
        const WebAddress& base = clinic.base;
        pins.push_back({Kind::clinic, clinic.name,
                        std::string(base.tls ? "https://" : "http://") + base.host + ":" +
                            std::to_string(base.port) + base.path});
    }
    return pins;
}

class Hub {
 public:
    Hub(const config::Settings& settings, Clock& clock, Random& random, Log& log, logbook::Database& db)
        : settings_(settings),
          clock_(clock),
          random_(random),
          log_(log),
          logbook_(db),
          outbox_(db),
          audit_(db),
          flags_(db),
          order_shelf_(db),
          orders_(settings.household, order_shelf_,
                  [this](const std::string& person) { return settings_.clinics_asked_for_orders(person); }),
          upkeep_(settings.household, settings.plans, logbook_, flags_, clock,
                  [this](const std::string& person) { return settings_.clinics_for(person); }),
          upkeep_alarm_(loop_),
          desk_(
              settings.household, logbook_, clock,
              [this](const std::string& person) { return settings_.clinics_for(person); },
              config::acquaintances_of(settings)),
          passes_(links_),
          care_api_(settings.household, upkeep_, clock),
          sharing_api_(settings.household, logbook_, outbox_, audit_, clock, sharing_ports()),
          api_(settings.household, desk_, logbook_, outbox_, passes_, care_api_, sharing_api_, clock) {
        upkeep_.compare_orders(orders_);
    }

    Result<void> run() {
        desk_.tell_when_recorded([this] {
            for (const auto& one : links_)
                one->loop().on_recorded();
        });
        const auto shared = logbook_.share_only_with(clinic_names(), clock_.now());
        if (!shared) return shared.error();
        for (const logbook::SharingChange& change : *shared)
            tell(change);
        for (const config::Clinic& clinic : settings_.clinics) {
            const auto linked = link(clinic);
            if (!linked) return linked.error();
        }
        auto inbox = intake::Inbox::open(settings_.inbox, desk_, clock_, log_);
        if (!inbox) return inbox.error();
        auto server =
            net::HttpServer::open_local(loop_, settings_.socket, [this](const HttpRequest& request) {
                HttpAnswer answer = api_.answer(request);
                if (api_.failed()) give_up(*api_.failed());
                return answer;
            });
        if (!server) return server.error();
        boost::asio::signal_set signals(loop_, SIGTERM, SIGINT, SIGHUP);
        signals.async_wait([this](boost::system::error_code cancelled, int) {
            if (cancelled) return;
            log_.event(Level::info, "stopping");
            end();
        });
        auto watch = intake::InboxWatch::start(loop_, std::move(*inbox),
                                               [this](const Error& error) { give_up(error); });
        if (!watch) return watch.error();
        log_.event(Level::info, "ready",
                   {{"hub", settings_.household.hub}, {"clinics", std::to_string(links_.size())}});
        for (const auto& one : links_)
            one->start();
        keep_up();
        if (!failure_) loop_.run();
        if (failure_) return *failure_;
        log_.event(Level::info, "stopped");
        return {};
    }

 private:
    Result<void> link(const config::Clinic& clinic) {
        const auto shared = logbook_.share(clinic.name, clinic.sharing, clock_.now());
        if (!shared) return shared.error();
        if (shared->is_changed) tell(*shared);
        auto made = ClinicLink::make(loop_, settings_, clinic, outbox_, order_shelf_, upkeep_, clock_,
                                     random_, log_, [this](const Error& error) { give_up(error); });
        if (!made) return made.error();
        links_.push_back(std::move(*made));
        return {};
    }

    std::vector<std::string> clinic_names() const {
        std::vector<std::string> names;
        for (const config::Clinic& clinic : settings_.clinics)
            names.push_back(clinic.name);
        return names;
    }

    void tell(const logbook::SharingChange& change) {
        log_.event(Level::info, "sharing_changed",
                   {{"clinic", change.clinic},
                    {"owed", std::to_string(change.owed)},
                    {"withdrawn", std::to_string(change.withdrawn)}});
    }

    intake::SharingApi::Ports sharing_ports() {
        return {[this] { return clinic_names(); },
                [this](const std::string& name) {
                    const auto clinic = std::ranges::find(settings_.clinics, name, &config::Clinic::name);
                    return sharing::for_preview(*clinic, passes_.find(name)->builder());
                },
                [this](const std::string& name) {
                    if (ClinicLink* link = passes_.find(name)) link->loop().on_recorded();
                }};
    }

    // Now, and again when time alone changes something. What is added in between waits for a pass or for
    // somebody who asks.
    void keep_up() {
        const auto done = upkeep_.catch_up();
        if (!done && done.error().code == Errc::disk_full) {
            log_.event(Level::error, "disk_full", {{"what", "flags"}});
            return upkeep_alarm_.after(std::chrono::minutes{1}, [this] { keep_up(); });
        }
        if (!done) return give_up(done.error());
        // Not for long, because the clock may be put right in the meantime.
        constexpr std::chrono::microseconds longest = std::chrono::minutes{15};
        if (const auto next = upkeep_.next_change())
            upkeep_alarm_.after(std::min(*next - clock_.now(), longest), [this] { keep_up(); });
    }

    // The logbook's state is in doubt after a failed disk call, so the process ends and the next one starts
    // from what is on disk.
    void give_up(const Error& error) {
        if (failure_) return;
        log_.event(Level::error, "logbook_failed", {{"reason", error.detail}});
        failure_ = error;
        end();
    }

    void end() {
        upkeep_alarm_.cancel();
        for (const auto& one : links_)
            one->stop();
        loop_.stop();
    }

    const config::Settings& settings_;
    Clock& clock_;
    Random& random_;
    Log& log_;
    boost::asio::io_context loop_{1};
    logbook::Logbook logbook_;
    logbook::Outbox outbox_;
    logbook::AuditTrail audit_;
    logbook::FlagStore flags_;
    logbook::OrderShelf order_shelf_;
    upkeep::OrderBook orders_;
    upkeep::Upkeep upkeep_;
    net::LoopAlarm upkeep_alarm_;
    intake::Desk desk_;
    std::vector<std::unique_ptr<ClinicLink>> links_;
    LinkedPasses passes_;
    intake::CareApi care_api_;
    intake::SharingApi sharing_api_;
    intake::Api api_;
    std::optional<Error> failure_;
};

// The logbook is for the hub alone.
Result<void> make_data_folder(const std::filesystem::path& folder) {
    const auto failure = make_folder(folder, std::filesystem::perms::owner_all);
    if (!failure) return {};
    return Error{failure == std::errc::no_space_on_device ? Errc::disk_full : Errc::setup,
                 "the folder " + folder.string() + " cannot be made: " + failure.message()};
}

// One life: from opening the logbook to closing it.
Result<void> live(const config::Settings& settings, Clock& clock, Random& random, Log& log) {
    const auto made = make_data_folder(settings.data);
    if (!made) return made.error();
    auto db = logbook::open(logbook::file_in(settings.data), clock.now());
    if (!db) return db.error();
    const auto held = logbook::hold_pins(**db, pins_of(settings));
    if (!held) return held.error();
    {
        Hub hub(settings, clock, random, log, **db);
        const auto ended = hub.run();
        if (!ended) return ended.error();
    }
    // Without it the next start only takes a little longer.
    if (const auto closed = (*db)->close_cleanly(); !closed)
        log.event(Level::warning, "not_closed_cleanly", {{"reason", closed.error().detail}});
    return {};
}

}  // namespace

// On a full disk a new life begins when there is room, as if a supervisor had started it again.
Result<void> run_hub(const config::Settings& settings, Clock& clock, Random& random, Log& log) {
    constexpr std::chrono::seconds pause{10};
    std::optional<RoomWait> room;
    for (;;) {
        const auto lived = live(settings, clock, random, log);
        if (lived || lived.error().code != Errc::disk_full) return lived;
        if (!room) {
            room.emplace();
            log.event(Level::error, "disk_full", {{"what", "logbook"}, {"reason", lived.error().detail}});
        }
        if (!room->wait(pause)) break;
    }
    log.event(Level::info, "stopped");
    return {};
}

}  // namespace nightferry::service
