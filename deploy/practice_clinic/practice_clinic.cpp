// A practice clinic on this machine: a small FHIR receiver over TLS for trying Nightferry. It listens on
// 127.0.0.1 only, keeps what it gets in a journal file, and must never see real records.
#include <CLI/CLI.hpp>
#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <csignal>
#include <cstdio>
#include <exception>
#include <iterator>

#include "daemon/core/exit_codes.hpp"
#include "daemon/core/secret_file.hpp"
#include "daemon/net/http_server.hpp"
#include "deploy/practice_clinic/fhir_endpoint.hpp"
#include "deploy/practice_clinic/record_store.hpp"
#include "fhir/json/document.hpp"

namespace {

using namespace nightferry;

struct Options {
    std::string journal;
    std::string certificate;
    std::string key;
    std::uint16_t port = 0;
    std::string patient;  // "system|value"
    std::string release = "R4";
    bool summary = false;
};

void seed(practice::RecordStore& store, const std::string& patient) {
    const auto bar = patient.find('|');
    if (bar == std::string::npos ||
        !store.search("Patient", patient.substr(0, bar), patient.substr(bar + 1)).empty())
        return;
    fhir::json::Document document;
    document.root().add_string("resourceType", "Patient");
    fhir::json::Value& identifier = document.root().add_array("identifier").push_object();
    identifier.add_string("system", patient.substr(0, bar));
    identifier.add_string("value", patient.substr(bar + 1));
    store.put(document.root(), "Patient", "p1");
}

fhir::spec::Release release_named(const std::string& name) {
    return *std::find_if(std::begin(fhir::spec::releases), std::end(fhir::spec::releases),
                         [&](fhir::spec::Release one) { return fhir::spec::name_of(one) == name; });
}

void print_summary(const practice::RecordStore& store) {
    for (const auto& [kind, count] : store.counts()) {
        std::printf("  %4d  %s%s%s\n", count, kind.first.c_str(), kind.second.empty() ? "" : ", ",
                    kind.second.c_str());
    }
}

int complain(const Error& error) {
    std::fprintf(stderr, "practice_clinic: %s\n", error.detail.c_str());
    return as_status(exit_code_of(error.code));
}

Result<net::ServerIdentity> identity_of(const Options& options) {
    const auto certificate = read_beside_secrets(options.certificate);
    if (!certificate) return certificate.error();
    const auto key = read_beside_secrets(options.key);
    if (!key) return key.error();
    return net::ServerIdentity{*certificate, *key};
}

int run(const Options& options) {
    practice::RecordStore store(options.journal);
    if (options.summary) {
        print_summary(store);
        return as_status(ExitCode::ok);
    }
    seed(store, options.patient);
    practice::FhirEndpoint endpoint(store, "/fhir", release_named(options.release));
    boost::asio::io_context loop(1);
    const auto identity = identity_of(options);
    if (!identity) return complain(identity.error());
    auto server =
        net::HttpServer::open_tls(loop, "127.0.0.1", options.port, *identity,
                                  [&](const HttpRequest& request) { return endpoint.answer(request); });
    if (!server) return complain(server.error());
    boost::asio::signal_set signals(loop, SIGTERM, SIGINT);
    signals.async_wait([&loop](boost::system::error_code cancelled, int) {
        if (!cancelled) loop.stop();
    });
    std::printf("ready %u\n", static_cast<unsigned>((*server)->port()));
    std::fflush(stdout);
    loop.run();
    return as_status(ExitCode::ok);
}

}  // namespace

int main(int argc, char** argv) {
    CLI::App app{
        "A practice clinic for trying Nightferry on this machine; prints 'ready PORT' when it listens",
        "practice_clinic"};
    Options options;
    app.add_option("--journal", options.journal, "the file that keeps what it holds")->required();
    app.add_option("--certificate", options.certificate, "its TLS certificate (PEM)");
    app.add_option("--key", options.key, "the key of the certificate (PEM)");
    app.add_option("--port", options.port, "port on 127.0.0.1; 0 takes a free one")->capture_default_str();
    app.add_option("--patient", options.patient,
                   "a patient it knows from the start, as system|value of the identifier");
    app.add_option("--release", options.release, "the release of FHIR that it speaks")
        ->check(CLI::IsMember({"R4", "R4B", "R5"}))
        ->capture_default_str();
    app.add_flag("--summary", options.summary, "only print what it holds, by type and status");
    try {
        app.parse(argc, argv);
        return run(options);
    } catch (const CLI::ParseError& error) {
        return as_status(app.exit(error) == 0 ? ExitCode::ok : ExitCode::usage);
    } catch (const std::exception& failure) {
        std::fprintf(stderr, "practice_clinic: %s\n", failure.what());
        return as_status(ExitCode::io);
    }
}
