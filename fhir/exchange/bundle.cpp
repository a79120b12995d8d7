#include "fhir/exchange/bundle.hpp"

#include "fhir/exchange/etag.hpp"
#include "fhir/json/writer.hpp"
#include "fhir/resource/datatypes.hpp"

namespace nightferry::fhir::exchange {

Transaction::Transaction(BundleKind kind) {
    document_.root().add_string("resourceType", "Bundle");
    document_.root().add_string("type", kind == BundleKind::transaction ? "transaction" : "batch");
    entries_ = &document_.root().add_array("entry");
}

json::Value& Transaction::add(std::string_view full_url) {
    json::Value& entry = entries_->push_object();
    resource::put(entry, "fullUrl", full_url);
    return entry;
}

json::Value& Transaction::create(std::string_view type, std::string_view full_url,
                                 std::string_view if_none_exist) {
    json::Value& entry = add(full_url);
    json::Value& resource = entry.add_object("resource");
    json::Value& request = entry.add_object("request");
    request.add_string("method", "POST");
    request.add_string("url", type);
    resource::put(request, "ifNoneExist", if_none_exist);
    return resource;
}

json::Value& Transaction::update(std::string_view type, std::string_view id, std::string_view full_url,
                                 std::string_view if_match) {
    json::Value& entry = add(full_url);
    json::Value& resource = entry.add_object("resource");
    json::Value& request = entry.add_object("request");
    request.add_string("method", "PUT");
    request.add_string("url", std::string(type) + "/" + std::string(id));
    if (!if_match.empty()) request.add_string("ifMatch", etag_for(if_match));
    return resource;
}

std::string Transaction::text() const {
    return json::write(document_.root());
}

}  // namespace nightferry::fhir::exchange
