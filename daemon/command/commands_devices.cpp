// The commands about the phones that may use the page.
#include "daemon/command/commands.hpp"
#include "daemon/command/query.hpp"
#include "daemon/report/devices_text.hpp"

namespace nightferry::command {

namespace json = fhir::json;

int Commands::pair() {
    return post("/v1/devices" + query_of({{"carer", options_.carer}, {"name", options_.name}}),
                report::invitation_text);
}

int Commands::devices() {
    return get("/v1/devices", report::devices_text);
}

// Also while the daemon is stopped: a phone that was lost is lost now.
int Commands::unpair() {
    const auto answer = channel_.either(
        {"DELETE", "/v1/devices/" + percent_encode(options_.id) + query_of({{"by", options_.by}}), {}, {}});
    if (!answer) return not_there(answer.error());
    return finish(*answer, [](const json::Value& told) {
        return "unpaired " + std::string(told.string_at("unpaired")) + "; it is not let in any more\n";
    });
}

}  // namespace nightferry::command
