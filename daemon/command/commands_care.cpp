// The commands that show what was computed.
#include "daemon/command/commands.hpp"
#include "daemon/command/query.hpp"
#include "daemon/report/orders_text.hpp"
#include "daemon/report/review_text.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::command {

namespace json = fhir::json;

int Commands::report() {
    return get("/v1/report" + query_of({{"person", options_.person},
                                        {"from", options_.from},
                                        {"to", options_.to},
                                        {"known_at", options_.at}}),
               report::review_text);
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
