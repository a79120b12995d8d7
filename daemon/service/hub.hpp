// Everything that follows from one reading of the settings, wired together: what takes entries in, what
// computes, and a way to each clinic. Another reading makes another hub around the same open logbook.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <string>

#include "config/settings.hpp"
#include "daemon/core/http.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/core/result.hpp"
#include "daemon/logbook/database.hpp"
#include "daemon/service/standing.hpp"
#include "daemon/sync/loop.hpp"
#include "daemon/watching/hub_log.hpp"

namespace boost::asio {
class io_context;
}

namespace nightferry::service {

// All references outlive the hub. `on_failure` is called when the logbook failed and the process has to end.
struct HubPorts {
    boost::asio::io_context& loop;
    Clock& clock;
    Random& random;
    watching::CountedLog& log;
    const DaemonSigns& daemon;
    logbook::Database& db;
    std::function<void(const std::string& line)> tell;  // People, of what is wrong with settings.
    std::function<void(const Error&)> on_failure;
    std::function<bool()>
        goes_on;  // Asked from time to time by what takes long; false: it is to be called off.
};

class Hub {
 public:
    // By clinic.
    using LeftToDo = std::map<std::string, sync::LeftToDo>;

    // Makes everything and starts nothing. Errc::setup when the settings, or files that they name, do not
    // serve; the error of the logbook when that failed. The settings outlive the hub.
    static Result<std::unique_ptr<Hub>> open(const config::Settings& settings, const HubPorts& ports);
    ~Hub();

    // Takes what lies in the inbox, arms the timetables, goes on with what was left to do.
    void start(const LeftToDo& left);

    // One request to the local API.
    HttpAnswer answer(const HttpRequest& request);
    // For calling from time to time: looks at the inbox, in case the kernel dropped a message, listens for
    // [metrics] and [page] where that was not possible before, and lets go of a copy that nobody fetches any
    // more.
    void look_around();

    // Has every clinic's loop come to a halt where nothing is under way; entries are still taken in. Calls
    // `halted` then, perhaps from inside; after that the hub may be destroyed, but not in the callback.
    void halt(std::function<void()> halted);
    LeftToDo left_to_do() const;

    Result<Standing> standing();
    // Since the daemon's start.
    watching::Counts counts() const;

    // Ends all waiting, wherever it is.
    void stop();

 private:
    class Parts;
    explicit Hub(std::unique_ptr<Parts> parts);
    std::unique_ptr<Parts> parts_;
};

}  // namespace nightferry::service
