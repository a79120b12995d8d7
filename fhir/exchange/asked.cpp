#include "fhir/exchange/asked.hpp"

#include "fhir/exchange/location.hpp"

namespace nightferry::fhir::exchange {

namespace {

Asked asked_by(const json::Value& request) {
    const std::string_view url = request.string_at("url");
    Asked asked{std::string(request.string_at("method")), {}, {}};
    std::string_view path = url.substr(0, url.find('?'));
    // "ValueSet/$lookup" answers with whatever the operation returns.
    if (path.find('$') != std::string_view::npos) return asked;
    if (auto location = parse_location(path)) {
        asked.type = std::move(location->type);
        asked.id = std::move(location->id);
        return asked;
    }
    // "Patient" and "Patient?…" are about one Patient, unless they search.
    if (const auto slash = path.rfind('/'); slash != std::string_view::npos) path.remove_prefix(slash + 1);
    const bool searches = asked.method == "GET" || asked.method == "HEAD";
    if (!searches && is_type_name(path)) asked.type = path;
    return asked;
}

}  // namespace

std::vector<Asked> asked_in(const json::Value& bundle) {
    std::vector<Asked> all;
    for (const json::Value& entry : bundle.items_at("entry")) {
        const json::Value* request = entry.find("request");
        all.push_back(request == nullptr ? Asked() : asked_by(*request));
    }
    return all;
}

}  // namespace nightferry::fhir::exchange
