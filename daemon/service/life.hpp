// One life of the daemon around an open logbook: from opening the local socket until it is told to end or
// cannot go on. Settings that are read again make another hub within it; logbook and socket stay open.
#pragma once

#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "config/settings.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/core/result.hpp"
#include "daemon/logbook/database.hpp"
#include "daemon/net/http_server.hpp"
#include "daemon/net/idle_memory.hpp"
#include "daemon/net/service_manager.hpp"
#include "daemon/net/system_ports.hpp"
#include "daemon/service/hub.hpp"
#include "daemon/service/signals.hpp"
#include "daemon/watching/hub_log.hpp"

namespace nightferry::service {

// What is around the daemon. All references outlive it.
struct Surroundings {
    // The settings as they are now; nothing, after log and people were told why, when they are not good.
    std::function<std::optional<config::Settings>()> read_settings;
    // Tells people at a terminal what is wrong with settings. It may quote them, which the log must not.
    std::function<void(const std::string& line)> tell;
    Clock& clock;
    Random& random;
    watching::CountedLog& log;
    net::ServiceManager& manager;
    Signals& signals;
};

// For long work on the logbook: says that it goes on, and is false as soon as the process was told to end.
bool goes_on(const Surroundings& around);

class Life {
 public:
    // The database may still be watched from its opening. `settings` are those in force; they are replaced
    // when others take effect.
    Life(boost::asio::io_context& loop, logbook::Database& db,
         std::unique_ptr<const config::Settings>& settings, const Surroundings& around);
    ~Life();

    // Returns when the process was told to end, or the error for which it has to.
    Result<void> run();

 private:
    Result<std::unique_ptr<Hub>> open(const config::Settings& settings);
    bool work_goes_on();
    void start(const Hub::LeftToDo& left);
    void on_signals();
    void beat();
    void rest_until_the_next_beat();
    void tell_standing();
    std::string standing();

    // Reading settings again: checked first, then the hub comes to a halt, then another takes its place.
    enum class Reload { done, refused, needs_a_restart };
    void begin_reload();
    Reload judge(const config::Settings& next);
    void change_over();
    Result<std::unique_ptr<Hub>> open_next();
    void end_reload(Reload outcome);

    void fail(const Error& error);
    void end();

    boost::asio::io_context& loop_;
    logbook::Database& db_;
    std::unique_ptr<const config::Settings>& settings_;
    const Surroundings& around_;
    DaemonSigns daemon_;
    std::unique_ptr<Hub> hub_;
    std::unique_ptr<net::HttpServer> server_;
    SignalWatch watch_;
    net::LoopAlarm beat_;
    std::chrono::microseconds between_beats_;
    std::unique_ptr<const config::Settings> next_;  // While a reload is under way.
    net::IdleMemory memory_;
    bool has_told_no_manager_ = false;
    std::optional<Error> failure_;
};

}  // namespace nightferry::service
