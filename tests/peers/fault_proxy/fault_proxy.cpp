// Stands between the daemon and a real FHIR server and lets happen what happens on the way: connections that
// break at any moment, gateways that answer in the server's name, requests that arrive twice or seconds late.
//
//   fault_proxy --cert FILE --key FILE --server PORT [--server-ca FILE] [--seed N] [--percent N]
//               [--silence-ms N] [--latest-ms N]
//
// Prints "ready PORT" once it listens on 127.0.0.1, and then one line for each line on its standard input:
//
//   percent N             so many of a hundred requests meet a fault; "ok"
//   only FAULT ...        nothing else is drawn; without a name everything is again; "ok"
//   force FAULT [TIMES]   the next request (or connection) meets this one, or with "none" nothing; "ok"
//   calm                  no fault from now on; what is outstanding still reaches the server; "ok"
//   counts                what has happened so far, as JSON
//
// It ends with its standard input. plan.hpp lists the faults; their names have hyphens here.

#include <unistd.h>

#include <CLI/CLI.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <iostream>
#include <sstream>

#include "tests/peers/fault_proxy/session.hpp"

namespace nightferry::test {
namespace {

namespace asio = boost::asio;
using asio::use_awaitable;
using asio::ip::tcp;

std::string counts_of(const Proxy& proxy) {
    std::ostringstream text;
    text << "{\"connections\":" << proxy.connections << ",\"requests\":" << proxy.requests
         << ",\"forwarded\":" << proxy.server.asked() << ",\"abandoned\":" << proxy.abandoned
         << ",\"outstanding\":" << proxy.outstanding << ",\"faults\":{";
    const char* separator = "";
    for (const auto& [fault, count] : proxy.plan.counts()) {
        text << separator << '"' << name_of(fault) << "\":" << count;
        separator = ",";
    }
    text << "}}";
    return text.str();
}

std::string obey(Proxy& proxy, const std::string& line) {
    std::istringstream words(line);
    std::string command;
    words >> command;
    if (command == "counts") return counts_of(proxy);
    if (command == "percent") {
        unsigned percent = 0;
        if (!(words >> percent) || percent > 100) return "not a percentage";
        proxy.plan.set_percent(percent);
    } else if (command == "calm") {
        proxy.plan.calm();
    } else if (command == "only" || command == "force") {
        std::set<Fault> faults;
        unsigned times = 1;
        for (std::string name; words >> name;) {
            if (const auto fault = fault_named(name)) {
                faults.insert(*fault);
            } else if (command != "force" || !(std::istringstream(name) >> times)) {
                return "no fault is called " + name;
            }
        }
        if (command == "only") {
            proxy.plan.restrict_to(std::move(faults));
        } else if (faults.size() == 1) {
            proxy.plan.force(*faults.begin(), times);
        } else {
            return "force needs one fault";
        }
    } else {
        return "unknown command " + command;
    }
    return "ok";
}

asio::awaitable<void> listen(Proxy& proxy, tcp::acceptor& acceptor) {
    while (true) {
        tcp::socket socket = co_await acceptor.async_accept(use_awaitable);
        asio::co_spawn(acceptor.get_executor(), serve(proxy, std::move(socket)), asio::detached);
    }
}

asio::awaitable<void> take_orders(Proxy& proxy, asio::io_context& loop) {
    asio::posix::stream_descriptor input(loop, ::dup(STDIN_FILENO));
    std::string bytes;
    try {
        while (true) {
            const std::size_t length =
                co_await asio::async_read_until(input, asio::dynamic_buffer(bytes), '\n', use_awaitable);
            std::cout << obey(proxy, bytes.substr(0, length - 1)) << std::endl;
            bytes.erase(0, length);
        }
    } catch (const boost::system::system_error&) {
        loop.stop();
    }
}

struct Options {
    std::string cert;
    std::string key;
    std::uint16_t server = 0;
    std::string server_ca;
    std::uint32_t seed = 1;
    unsigned percent = 0;
    unsigned silence_ms = 2000;
    unsigned latest_ms = 3000;
};

void run(const Options& options) {
    asio::io_context loop(1);
    asio::ssl::context tls(asio::ssl::context::tls_server);
    tls.use_certificate_chain_file(options.cert);
    tls.use_private_key_file(options.key, asio::ssl::context::pem);
    Plan plan(options.seed, options.percent);
    Server server(options.server, options.server_ca);
    Proxy proxy{plan, server, tls, std::chrono::milliseconds{options.silence_ms},
                std::chrono::milliseconds{options.latest_ms}};
    tcp::acceptor acceptor(loop, {asio::ip::address_v4::loopback(), 0});
    asio::co_spawn(loop, listen(proxy, acceptor), asio::detached);
    asio::co_spawn(loop, take_orders(proxy, loop), asio::detached);
    std::cout << "ready " << acceptor.local_endpoint().port() << std::endl;
    loop.run();
}

}  // namespace
}  // namespace nightferry::test

int main(int count, char** arguments) {
    CLI::App app("A proxy that breaks connections on purpose");
    nightferry::test::Options options;
    app.add_option("--cert", options.cert)->required();
    app.add_option("--key", options.key)->required();
    app.add_option("--server", options.server)->required();
    app.add_option("--server-ca", options.server_ca);
    app.add_option("--seed", options.seed);
    app.add_option("--percent", options.percent)->check(CLI::Range(0, 100));
    app.add_option("--silence-ms", options.silence_ms);
    app.add_option("--latest-ms", options.latest_ms)->check(CLI::PositiveNumber);
    CLI11_PARSE(app, count, arguments);
    nightferry::test::run(options);
    return 0;
}
