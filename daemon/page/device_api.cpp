#include "daemon/page/device_api.hpp"

#include "daemon/core/words.hpp"
#include "daemon/intake/api_json.hpp"

namespace nightferry::page {

namespace json = fhir::json;
using intake::error_answer;
using intake::json_answer;

namespace {

constexpr std::string_view devices_path = "/v1/devices";
constexpr std::size_t name_characters_max = 60;

bool is_name(std::string_view text) {
    return !trimmed(text).empty() && is_plain_text(text, false) && characters_in(text) <= name_characters_max;
}

}  // namespace

bool DeviceApi::is_for(std::string_view path) {
    return path == devices_path || path.starts_with("/v1/devices/");
}

Result<HttpAnswer> DeviceApi::answer(const HttpRequest& request) {
    const std::string_view path = path_of(request.target);
    if (path == devices_path && request.method == "POST") return invite(request);
    if (path == devices_path && request.method == "GET") return list();
    if (path != devices_path && request.method == "DELETE")
        return revoke(percent_decode(path.substr(devices_path.size() + 1)), request);
    return error_answer(404, "there is nothing at " + request.method + " " + in_quotes(path));
}

HttpAnswer DeviceApi::invite(const HttpRequest& request) {
    const std::string carer = query_value(request.target, "carer").value_or("");
    const std::string name = query_value(request.target, "name").value_or("");
    if (household_.carer(carer) == nullptr)
        return error_answer(400,
                            "carer " + in_quotes(carer) + " is no carer's key; expected whose phone it is");
    if (!is_name(name))
        return error_answer(400, "name " + in_quotes(name) +
                                     " does not do; expected what people call the phone, on one line of at "
                                     "most 60 characters");
    const auto invitation = ports_.invite(carer, name);
    if (!invitation) return error_answer(409, invitation.error().detail);
    json::Document document;
    document.root().add_string("code", for_people(invitation->code.letters));
    intake::put_time(document.root(), "good_until", invitation->code.good_until, household_.zone);
    json::Value& addresses = document.root().add_array("addresses");
    for (const std::string& one : invitation->addresses)
        addresses.push_string(one);
    return json_answer(200, document);
}

Result<HttpAnswer> DeviceApi::list() {
    const auto devices = shelf_.list();
    if (!devices) return devices.error();
    json::Document document;
    json::Value& list = document.root().add_array("devices");
    for (const logbook::Device& one : *devices) {
        json::Value& device = list.push_object();
        device.add_string("id", one.id);
        device.add_string("name", one.name);
        device.add_string("carer", one.carer);
        device.add_boolean("carer_in_settings", household_.carer(one.carer) != nullptr);
        intake::put_time(device, "paired", one.paired, household_.zone);
        if (!one.seen_on.empty()) device.add_string("last_used", one.seen_on);
        if (one.revoked) intake::put_time(device, "unpaired", *one.revoked, household_.zone);
    }
    return json_answer(200, document);
}

Result<HttpAnswer> DeviceApi::revoke(const std::string& id, const HttpRequest& request) {
    const std::string by = query_value(request.target, "by").value_or("");
    if (household_.carer(by) == nullptr)
        return error_answer(400, "by " + in_quotes(by) + " is no carer's key; expected who decided it");
    const auto is_there = shelf_.revoke(id, by, clock_.now());
    if (!is_there) return is_there.error();
    if (!*is_there)
        return error_answer(404, "no phone has the id " + in_quotes(id) + "; nightferry devices lists them");
    ports_.on_revoked(id);
    json::Document document;
    document.root().add_string("unpaired", id);
    return json_answer(200, document);
}

}  // namespace nightferry::page
