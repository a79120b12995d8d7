// The commands that show what was computed.
#include <cstdio>

#include "daemon/command/commands.hpp"
#include "daemon/command/query.hpp"
#include "daemon/report/orders_text.hpp"
#include "daemon/report/report_page.hpp"
#include "daemon/report/review_text.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::command {

namespace json = fhir::json;

int Commands::report() {
    const std::string target = "/v1/report" + query_of({{"person", options_.person},
                                                        {"from", options_.from},
                                                        {"to", options_.to},
                                                        {"known_at", options_.at}});
    if (options_.html.empty()) return get(target, report::review_text);
    if (options_.as_json) return complain(ExitCode::usage, "say either --json or --html, not both");
    const auto answer = channel_.get(target);
    if (!answer) return not_there(answer.error());
    if (channel_.was_alone()) std::fprintf(stderr, "(the daemon is not running; read from its logbook)\n");
    // What it refuses is told like everything that is refused.
    if (answer->status != 200) return finish(*answer, report::review_text);
    return write_page(*answer);
}

int Commands::write_page(const HttpAnswer& answer) const {
    const auto document = json::read(answer.body);
    if (!document) return complain(ExitCode::io, "the daemon's answer cannot be read");
    const texts::Speaker speaker(
        texts::language_tagged(options_.language).value_or(texts::Language::english));
    const Instant now = std::chrono::floor<std::chrono::seconds>(clock_.now());
    const std::string page = report::report_page(document->root(), speaker, {options_.version, to_text(now)});
    if (options_.html == "-") {
        std::fwrite(page.data(), 1, page.size(), stdout);
        return as_status(ExitCode::ok);
    }
    auto file = NewFile::begin(options_.html);
    if (!file) return complain_of_new_file(file.error());
    auto done = file->write(page);
    if (done) done = file->settle();
    if (!done) return complain_of_new_file(done.error());
    std::printf("Written: %s\n", options_.html.c_str());
    return as_status(ExitCode::ok);
}

int Commands::since_dose() {
    return get("/v1/since-dose" + query_of({{"person", options_.person}, {"at", options_.at}}),
               report::since_dose_text);
}

int Commands::flags() {
    return get("/v1/flags" + query_of({{"person", options_.person}, {"all", options_.all ? "yes" : ""}}),
               report::flags_text);
}

int Commands::orders() {
    return get(
        "/v1/orders" + query_of({{"person", options_.person}, {"propose", options_.propose ? "yes" : ""}}),
        options_.propose ? report::proposal_text : report::orders_text);
}

int Commands::settle_flag() {
    json::Document closer;
    closer.root().add_string("by", options_.by);
    closer.root().add_string("reason", options_.reason);
    const auto answer =
        channel_.post("/v1/flags/settle" + query_of({{"person", options_.person}, {"key", options_.id}}),
                      json::write(closer.root()), "application/json");
    if (!answer) return not_there(answer.error());
    const auto done = [](const json::Value& settled) {
        return "settled " + std::string(settled.string_at("settled")) +
               "; it is not raised again for the same facts\n";
    };
    return finish(*answer, done, ExitCode::bad_input);
}

}  // namespace nightferry::command
