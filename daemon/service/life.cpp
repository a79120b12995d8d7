#include "daemon/service/life.hpp"

#include <algorithm>
#include <boost/asio/post.hpp>

#include "daemon/door/clinic_door.hpp"
#include "daemon/service/change.hpp"
#include "daemon/service/page_server.hpp"

namespace nightferry::service {

namespace {

// The daemon's only regular wake-up. With those that look after the clock (every quarter of an hour for each
// clinic and for the flags) it stays below one a minute.
constexpr std::chrono::microseconds beat_max = std::chrono::minutes{2};

}  // namespace

bool goes_on(const Surroundings& around) {
    around.manager.still_busy();
    around.signals.look();
    return !around.signals.is_told_to_end();
}

Life::Life(boost::asio::io_context& loop, logbook::Database& db,
           std::unique_ptr<const config::Settings>& settings, const Surroundings& around)
    : loop_(loop),
      db_(db),
      settings_(settings),
      around_(around),
      daemon_{around.clock.now()},
      watch_(loop, around.signals, [this] { on_signals(); }),
      beat_(loop),
      // Half of what the manager allows, as sd_watchdog_enabled(3) recommends.
      between_beats_(std::min(around.manager.watchdog().value_or(2 * beat_max) / 2, beat_max)) {}

Life::~Life() = default;

Result<void> Life::run() {
    auto opened = open(*settings_);
    if (!opened) return opened.error();
    hub_ = std::move(*opened);
    auto server = net::HttpServer::open_local(
        loop_, settings_->socket, [this](const HttpRequest& request) { return hub_->answer(request); });
    if (!server) return server.error();
    server_ = std::move(*server);
    start({});
    if (!failure_) {
        around_.log.event(LogEvent::ready, {{"clinics", std::to_string(settings_->clinics.size())}});
        around_.manager.ready(standing());
        rest_until_the_next_beat();
        on_signals();
        loop_.run();
    }
    if (failure_) return *failure_;
    return {};
}

Result<std::unique_ptr<Hub>> Life::open(const config::Settings& settings) {
    return Hub::open(settings,
                     {loop_, around_.clock, around_.random, around_.log, daemon_, db_, around_.tell,
                      [this](const Error& error) { fail(error); }, [this] { return work_goes_on(); }});
}

// Asked from inside the loop, whose watch hears nothing of what is read here.
bool Life::work_goes_on() {
    around_.manager.still_busy();
    if (around_.signals.look()) boost::asio::post(loop_, [this] { on_signals(); });
    return !around_.signals.is_told_to_end();
}

void Life::start(const Hub::LeftToDo& left) {
    // What is called off from here on would count as a failure of the logbook.
    db_.watch({});
    hub_->start(left);
}

void Life::on_signals() {
    if (around_.signals.is_told_to_end()) {
        around_.log.event(LogEvent::stopping);
        return end();
    }
    // One that comes while the settings are being read again is seen to afterwards.
    if (!next_ && around_.signals.take_reload()) begin_reload();
}

void Life::beat() {
    hub_->look_around();
    if (failure_) return;
    if (!next_) tell_standing();
    memory_.look();
    rest_until_the_next_beat();
}

void Life::rest_until_the_next_beat() {
    // From the loop, so that it tells of the loop's life and of nothing else.
    around_.manager.alive();
    beat_.after(between_beats_, [this] { beat(); });
}

std::string Life::standing() {
    const auto standing = hub_->standing();
    // Where the logbook fails, whoever needs it next will say so.
    return standing ? in_words(*standing) : "Running.";
}

void Life::tell_standing() {
    around_.manager.status(standing());
    const std::string& failure = around_.manager.failure();
    if (!failure.empty() && !std::exchange(has_told_no_manager_, true))
        around_.log.event(LogEvent::service_manager_unreachable, {{"reason", failure}});
}

void Life::begin_reload() {
    around_.log.event(LogEvent::reloading);
    around_.manager.reloading("Reading the settings again.");
    auto read = around_.read_settings();
    if (!read) return end_reload(Reload::refused);
    if (const Reload outcome = judge(*read); outcome != Reload::done) return end_reload(outcome);
    next_ = std::make_unique<const config::Settings>(std::move(*read));
    around_.manager.status("The new settings are good and take effect when the clinics' answers are here.");
    // Never from inside the hub that it destroys.
    hub_->halt([this] { boost::asio::post(loop_, [this] { change_over(); }); });
}

Life::Reload Life::judge(const config::Settings& next) {
    const auto faults = door::faults_of_doors(next, around_.clock, around_.random, around_.log);
    for (const door::DoorFault& fault : faults) {
        around_.log.event(LogEvent::settings_problem,
                          {{"clinic", fault.clinic}, {"reason", fault.error.detail}});
    }
    const auto page_fault = fault_of_page(next);
    if (page_fault) {
        around_.log.event(LogEvent::settings_problem, {{"reason", page_fault->detail}});
    }
    if (!faults.empty() || page_fault) return Reload::refused;
    const auto keys = what_needs_a_restart(*settings_, next);
    for (const std::string& key : keys) {
        around_.tell("the new settings are good, but " + key +
                     " needs a restart; nothing of them is in force");
        around_.log.event(LogEvent::restart_needed, {{"key", key}});
    }
    return keys.empty() ? Reload::done : Reload::needs_a_restart;
}

void Life::change_over() {
    const Hub::LeftToDo left = hub_->left_to_do();
    daemon_.before = hub_->counts();
    hub_.reset();
    db_.watch([this] { return goes_on(around_); });
    auto opened = open_next();
    const bool has_changed = opened && !next_;
    if (!opened) return fail(opened.error());
    hub_ = std::move(*opened);
    next_.reset();
    start(left);
    if (!failure_) end_reload(has_changed ? Reload::done : Reload::refused);
}

// A hub by the next settings, which are in force then; or, where those do not serve in the end, by the old
// ones.
Result<std::unique_ptr<Hub>> Life::open_next() {
    auto opened = open(*next_);
    if (!opened && opened.error().code == Errc::setup) {
        around_.log.event(LogEvent::settings_problem, {{"reason", opened.error().detail}});
        return open(*settings_);
    }
    // Also where the logbook failed: the next life begins with what was found good.
    settings_ = std::exchange(next_, nullptr);
    return opened;
}

void Life::end_reload(Reload outcome) {
    std::string words;
    switch (outcome) {
        case Reload::done:
            around_.log.event(LogEvent::reloaded, {{"clinics", std::to_string(settings_->clinics.size())}});
            break;
        case Reload::refused:
            around_.log.event(LogEvent::reload_refused);
            words = "The new settings were refused, see the log. ";
            break;
        case Reload::needs_a_restart:
            words = "The new settings need a restart, see the log. ";
            break;
    }
    daemon_.settings_refused = outcome != Reload::done;
    around_.manager.ready(words + standing());
    boost::asio::post(loop_, [this] { on_signals(); });
}

// What served until now is no matter of settings (a disk turned read-only, say), so the next process may try.
void Life::fail(const Error& error) {
    if (!failure_) failure_ = {error.code == Errc::setup ? Errc::storage : error.code, error.detail};
    end();
}

void Life::end() {
    around_.manager.stopping("Stopping.");
    beat_.cancel();
    if (hub_) hub_->stop();
    loop_.stop();
}

}  // namespace nightferry::service
