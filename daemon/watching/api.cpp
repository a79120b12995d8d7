#include "daemon/watching/api.hpp"

#include "daemon/watching/metrics.hpp"
#include "daemon/watching/readiness.hpp"
#include "fhir/json/document.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::watching {

namespace json = fhir::json;

namespace {

constexpr std::string_view health_path = "/v1/health";
constexpr std::string_view ready_path = "/v1/ready";
constexpr std::string_view metrics_path = "/metrics";

HttpAnswer json_answer(int status, const json::Document& document) {
    return {status,
            {{"Content-Type", "application/json"}, {"Cache-Control", "no-store"}},
            json::write(document.root()) + "\n"};
}

HttpAnswer error_answer(int status, std::string_view words) {
    json::Document document;
    document.root().add_string("error", words);
    return json_answer(status, document);
}

HttpAnswer health() {
    json::Document document;
    document.root().add_boolean("alive", true);
    return json_answer(200, document);
}

}  // namespace

bool Api::is_for(std::string_view path) {
    return path == health_path || path == ready_path || path == metrics_path;
}

HttpAnswer Api::answer(const HttpRequest& request) {
    const std::string_view path = path_of(request.target);
    if (!is_for(path))
        return error_answer(404, "there is nothing here but /metrics, /v1/health and /v1/ready");
    if (request.method != "GET" && request.method != "HEAD") {
        HttpAnswer refusal = error_answer(405, "this can only be read; ask with GET");
        refusal.headers.emplace_back("Allow", "GET, HEAD");
        return refusal;
    }
    if (path == health_path) return health();
    return path == ready_path ? ready() : metrics();
}

HttpAnswer Api::ready() const {
    const auto reasons = not_ready_because(hub_.condition());
    json::Document document;
    document.root().add_boolean("ready", reasons.empty());
    if (!reasons.empty()) {
        json::Value& list = document.root().add_array("because");
        for (const std::string& reason : reasons)
            list.push_string(reason);
    }
    return json_answer(reasons.empty() ? 200 : 503, document);
}

HttpAnswer Api::metrics() {
    const auto reading = hub_.read();
    if (!reading) {
        failed_ = reading.error();
        return error_answer(500, reading.error().detail);
    }
    return {200, {{"Content-Type", std::string(open_metrics_type)}}, to_open_metrics(metrics_of(*reading))};
}

}  // namespace nightferry::watching
