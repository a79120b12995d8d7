#include "fhir/resource/capability_statement.hpp"

#include <algorithm>

#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::fhir::resource {

namespace {

bool contains(const std::vector<std::string>& list, std::string_view wanted) {
    return std::find(list.begin(), list.end(), wanted) != list.end();
}

// One member of each object in a list: the codes of interactions, the names of operations.
std::vector<std::string> members_of_items(const json::Value& object, std::string_view list,
                                          std::string_view member) {
    std::vector<std::string> found;
    for (const json::Value& item : object.items_at(list)) {
        if (std::string text = text_of(item, member); !text.empty()) found.push_back(std::move(text));
    }
    return found;
}

CapabilityStatement::Type type_in(const json::Value& value) {
    CapabilityStatement::Type type;
    type.name = text_of(value, "type");
    type.interactions = members_of_items(value, "interaction", "code");
    type.versioning = text_of(value, "versioning");
    type.update_create = boolean_of(value, "updateCreate");
    type.conditional_create = boolean_of(value, "conditionalCreate");
    type.conditional_update = boolean_of(value, "conditionalUpdate");
    for (const json::Value& parameter : value.items_at("searchParam")) {
        if (std::string name = text_of(parameter, "name"); !name.empty())
            type.search_parameters.push_back({std::move(name), text_of(parameter, "type")});
    }
    type.operations = members_of_items(value, "operation", "name");
    return type;
}

void read_security(CapabilityStatement& statement, const json::Value& rest) {
    const json::Value* security = rest.find("security");
    if (security == nullptr) return;
    for (const json::Value& service : security->items_at("service")) {
        const std::size_t before = statement.security_services.size();
        for (std::string& code : members_of_items(service, "coding", "code"))
            statement.security_services.push_back(std::move(code));
        std::string words = text_of(service, "text");
        if (statement.security_services.size() == before && !words.empty())
            statement.security_services.push_back(std::move(words));
    }
}

void read_rest(CapabilityStatement& statement, const json::Value& rest) {
    if (const std::string mode = text_of(rest, "mode"); !mode.empty() && mode != "server") return;
    for (std::string& code : members_of_items(rest, "interaction", "code"))
        statement.interactions.push_back(std::move(code));
    for (std::string& name : members_of_items(rest, "operation", "name"))
        statement.operations.push_back(std::move(name));
    read_security(statement, rest);
    for (const json::Value& resource : rest.items_at("resource")) {
        if (auto type = type_in(resource); !type.name.empty()) statement.types.push_back(std::move(type));
    }
}

}  // namespace

bool CapabilityStatement::Type::can(std::string_view interaction) const {
    return contains(interactions, interaction);
}

bool CapabilityStatement::Type::can_search_by(std::string_view parameter) const {
    return std::any_of(search_parameters.begin(), search_parameters.end(),
                       [&](const SearchParameter& one) { return one.name == parameter; });
}

bool CapabilityStatement::can(std::string_view interaction) const {
    return contains(interactions, interaction);
}

const CapabilityStatement::Type* CapabilityStatement::type(std::string_view name) const {
    const auto found =
        std::find_if(types.begin(), types.end(), [&](const Type& one) { return one.name == name; });
    return found == types.end() ? nullptr : &*found;
}

bool CapabilityStatement::speaks_json() const {
    return formats.empty() || std::any_of(formats.begin(), formats.end(), [](const std::string& format) {
               return format.find("json") != std::string::npos;
           });
}

std::optional<CapabilityStatement> read_capability_statement(const json::Value& value) {
    if (value.string_at("resourceType") != "CapabilityStatement") return std::nullopt;
    CapabilityStatement statement;
    statement.fhir_version = text_of(value, "fhirVersion");
    statement.release = spec::release_of_version(statement.fhir_version);
    if (const json::Value* software = value.find("software")) {
        statement.software_name = text_of(*software, "name");
        statement.software_version = text_of(*software, "version");
    }
    statement.formats = texts_of(value, "format");
    for (const json::Value& rest : value.items_at("rest"))
        read_rest(statement, rest);
    return statement;
}

}  // namespace nightferry::fhir::resource
