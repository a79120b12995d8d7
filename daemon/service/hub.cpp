#include "daemon/service/hub.hpp"

#include <algorithm>
#include <boost/asio/io_context.hpp>

#include "config/acquaintances.hpp"
#include "daemon/intake/api.hpp"
#include "daemon/intake/desk.hpp"
#include "daemon/intake/inbox_watch.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/net/system_ports.hpp"
#include "daemon/page/entrance.hpp"
#include "daemon/page/pages.hpp"
#include "daemon/service/hub_watch.hpp"
#include "daemon/service/linked_passes.hpp"
#include "daemon/service/page_server.hpp"
#include "daemon/service/pins_of.hpp"
#include "daemon/sharing/clinic_view.hpp"
#include "daemon/upkeep/upkeep.hpp"

namespace nightferry::service {

namespace {

texts::Language language_of(const config::Settings& settings) {
    return settings.page ? settings.page->language : texts::Language::english;
}

}  // namespace

class Hub::Parts {
 public:
    Parts(const config::Settings& settings, const HubPorts& ports)
        : settings_(settings),
          loop_(ports.loop),
          clock_(ports.clock),
          random_(ports.random),
          log_(ports.log),
          db_(ports.db),
          tell_(ports.tell),
          on_failure_(ports.on_failure),
          logbook_(db_),
          outbox_(db_),
          audit_(db_),
          flags_(db_),
          order_shelf_(db_),
          orders_(settings.household, order_shelf_,
                  [this](const std::string& person) { return settings_.clinics_asked_for_orders(person); }),
          patients_(outbox_, [this](const std::string& person) { return settings_.clinics_for(person); }),
          upkeep_(settings.household, settings.plans, logbook_, flags_, clock_,
                  [this](const std::string& person) { return settings_.clinics_for(person); }),
          upkeep_alarm_(loop_),
          desk_(
              settings.household, logbook_, clock_,
              [this](const std::string& person) { return settings_.clinics_for(person); },
              config::acquaintances_of(settings)),
          passes_(links_),
          care_api_(settings.household, upkeep_, clock_),
          sharing_api_(settings.household, logbook_, outbox_, audit_, clock_, sharing_ports()),
          logbook_api_(settings.household, settings.identifier_system, db_, logbook::file_in(settings.data),
                       clock_),
          api_(settings.household, desk_, logbook_, outbox_, passes_, care_api_, sharing_api_, logbook_api_,
               clock_),
          watched_({settings, outbox_, desk_, links_, log_, clock_, ports.daemon,
                    [this] { return waits_for_room(); }, [this] { return page_.certificate_ends(); },
                    [this](const Error& error) { give_up(error); }}),
          page_({settings, db_, clock_, log_,
                 [this](const HttpRequest& request) { return entrance_.answer(request); },
                 [this](const Error& error) { give_up(error); }}),
          pages_({settings.household, desk_, logbook_, upkeep_, clock_, random_, language_of(settings),
                  [this] { return crossings(); }}),
          entrance_(page_.gate(), clock_, entrance_views()) {
        logbook_api_.go_on_while(ports.goes_on);
        upkeep_.compare_orders(orders_);
        upkeep_.watch_patients(patients_);
    }

    Result<void> open() {
        const auto held = logbook::hold_pins(db_, pins_of(settings_), tell_);
        if (!held) return held.error();
        desk_.tell_when_recorded([this] {
            for (const auto& one : links_)
                one->loop().on_recorded();
        });
        for (const config::Clinic& clinic : settings_.clinics) {
            const auto linked = link(clinic);
            if (!linked) return linked.error();
        }
        auto inbox = intake::Inbox::open(settings_.inbox, desk_, clock_, log_);
        if (!inbox) return inbox.error();
        auto watch = intake::InboxWatch::make(loop_, std::move(*inbox),
                                              [this](const Error& error) { give_up(error); });
        if (!watch) return watch.error();
        watch_ = std::move(*watch);
        return share();
    }

    void start(const LeftToDo& left) {
        watched_.listen(loop_);
        page_.listen(loop_);
        watch_->look();
        for (const auto& one : links_) {
            const auto own = left.find(one->loop().clinic());
            one->start(own == left.end() ? sync::LeftToDo() : own->second);
        }
        keep_up();
    }

    HttpAnswer answer(const HttpRequest& request) {
        if (watching::Api::is_for(path_of(request.target))) return watched_.answer(request);
        if (page::DeviceApi::is_for(path_of(request.target))) return page_.answer(request);
        HttpAnswer answer = api_.answer(request);
        if (api_.failed()) give_up(*api_.failed());
        return answer;
    }

    void look_around() {
        watched_.listen(loop_);
        page_.listen(loop_);
        watch_->look();
        logbook_api_.drop_idle_copy();
    }

    void halt(std::function<void()> halted) {
        on_halted_ = std::move(halted);
        moving_ = links_.size() + 1;
        for (const auto& one : links_)
            one->loop().halt([this] { note_a_halt(); });
        note_a_halt();
    }

    LeftToDo left_to_do() const {
        LeftToDo left;
        for (const auto& one : links_)
            left.emplace(one->loop().clinic(), one->loop().left_to_do());
        return left;
    }

    Result<Standing> standing() {
        Standing standing;
        standing.clinics = links_.size();
        for (const auto& one : links_) {
            const auto counts = outbox_.counts(one->loop().clinic());
            if (!counts) return counts.error();
            const auto state = outbox_.state(one->loop().clinic());
            if (!state) return state.error();
            standing.passes += one->loop().is_running() ? 1 : 0;
            standing.waiting += counts->waiting;
            standing.set_aside += counts->set_aside;
            if (state->pass_ended != Instant())
                standing.last_pass = std::max(standing.last_pass.value_or(Instant()), state->pass_ended);
        }
        return standing;
    }

    watching::Counts counts() const { return watched_.counts(); }

    void stop() {
        upkeep_alarm_.cancel();
        for (const auto& one : links_)
            one->stop();
    }

 private:
    Result<void> link(const config::Clinic& clinic) {
        auto made = ClinicLink::make(loop_, settings_, clinic, outbox_, order_shelf_, upkeep_, clock_,
                                     random_, log_, [this](const Error& error) { give_up(error); });
        if (!made) return made.error();
        links_.push_back(std::move(*made));
        return {};
    }

    // Last, when nothing in the settings can be refused any more: what is withdrawn by it does not come back.
    Result<void> share() {
        const auto gone = logbook_.share_only_with(clinic_names(), clock_.now());
        if (!gone) return gone.error();
        for (const logbook::SharingChange& change : *gone)
            tell(change);
        for (const config::Clinic& clinic : settings_.clinics) {
            const auto shared = logbook_.share(clinic.name, clinic.sharing, clock_.now());
            if (!shared) return shared.error();
            if (shared->is_changed) tell(*shared);
        }
        return {};
    }

    Result<std::vector<page::Crossing>> crossings() {
        std::vector<page::Crossing> all;
        for (const auto& one : links_) {
            const auto counts = outbox_.counts(one->loop().clinic());
            if (!counts) return counts.error();
            all.push_back({one->loop().clinic(), *counts, one->loop().state(), one->loop().is_running()});
        }
        return all;
    }

    page::Entrance::Views entrance_views() {
        return {[this](const HttpRequest& request, const page::Device& device) {
                    HttpAnswer answer = pages_.answer(request, device);
                    if (pages_.failed()) give_up(*pages_.failed());
                    return answer;
                },
                [this](int status, page::Outside why) { return pages_.outside(status, why); },
                &page::Pages::asset};
    }

    std::vector<std::string> clinic_names() const {
        std::vector<std::string> names;
        for (const config::Clinic& clinic : settings_.clinics)
            names.push_back(clinic.name);
        return names;
    }

    void tell(const logbook::SharingChange& change) {
        log_.event(LogEvent::sharing_changed, {{"clinic", change.clinic},
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
        upkeep_waits_for_room_ = !done && done.error().code == Errc::disk_full;
        if (upkeep_waits_for_room_) {
            log_.event(LogEvent::disk_full, {{"what", "flags"}});
            return upkeep_alarm_.after(std::chrono::minutes{1}, [this] { keep_up(); });
        }
        if (!done) return give_up(done.error());
        // Not for long, because the clock may be put right in the meantime.
        constexpr std::chrono::microseconds longest = std::chrono::minutes{15};
        if (const auto next = upkeep_.next_change())
            upkeep_alarm_.after(std::min(*next - clock_.now(), longest), [this] { keep_up(); });
    }

    bool waits_for_room() const {
        return upkeep_waits_for_room_ || watch_->waits_for_room() ||
               std::ranges::any_of(links_, [](const auto& one) { return one->loop().waits_for_room(); });
    }

    void note_a_halt() {
        if (--moving_ == 0) std::exchange(on_halted_, nullptr)();
    }

    // The logbook's state is in doubt after a failed disk call, so the process ends and the next one starts
    // from what is on disk.
    void give_up(const Error& error) {
        if (std::exchange(has_given_up_, true)) return;
        log_.event(LogEvent::logbook_failed, {{"reason", error.detail}});
        on_failure_(error);
    }

    const config::Settings& settings_;
    boost::asio::io_context& loop_;
    Clock& clock_;
    Random& random_;
    watching::CountedLog& log_;
    logbook::Database& db_;
    std::function<void(const std::string&)> tell_;
    std::function<void(const Error&)> on_failure_;
    logbook::Logbook logbook_;
    logbook::Outbox outbox_;
    logbook::AuditTrail audit_;
    logbook::FlagStore flags_;
    logbook::OrderShelf order_shelf_;
    upkeep::OrderBook orders_;
    upkeep::PatientBook patients_;
    upkeep::Upkeep upkeep_;
    net::LoopAlarm upkeep_alarm_;
    intake::Desk desk_;
    std::vector<std::unique_ptr<ClinicLink>> links_;
    LinkedPasses passes_;
    intake::CareApi care_api_;
    intake::SharingApi sharing_api_;
    intake::LogbookApi logbook_api_;
    intake::Api api_;
    HubWatch watched_;
    PageServer page_;
    page::Pages pages_;
    page::Entrance entrance_;
    std::unique_ptr<intake::InboxWatch> watch_;
    std::size_t moving_ = 0;  // Links that have not come to a halt, and one more while they are told.
    std::function<void()> on_halted_;
    bool upkeep_waits_for_room_ = false;
    bool has_given_up_ = false;
};

Result<std::unique_ptr<Hub>> Hub::open(const config::Settings& settings, const HubPorts& ports) {
    auto parts = std::make_unique<Parts>(settings, ports);
    const auto opened = parts->open();
    if (!opened) return opened.error();
    return std::unique_ptr<Hub>(new Hub(std::move(parts)));
}

Hub::Hub(std::unique_ptr<Parts> parts) : parts_(std::move(parts)) {}

Hub::~Hub() = default;

void Hub::start(const LeftToDo& left) {
    parts_->start(left);
}

HttpAnswer Hub::answer(const HttpRequest& request) {
    return parts_->answer(request);
}

void Hub::look_around() {
    parts_->look_around();
}

void Hub::halt(std::function<void()> halted) {
    parts_->halt(std::move(halted));
}

Hub::LeftToDo Hub::left_to_do() const {
    return parts_->left_to_do();
}

Result<Standing> Hub::standing() {
    return parts_->standing();
}

watching::Counts Hub::counts() const {
    return parts_->counts();
}

void Hub::stop() {
    parts_->stop();
}

}  // namespace nightferry::service
