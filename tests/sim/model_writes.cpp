// What a model clinic does to its store when one resource is written.
#include "fhir/exchange/etag.hpp"
#include "fhir/exchange/location.hpp"
#include "fhir/exchange/query.hpp"
#include "tests/sim/model_clinic.hpp"
#include "tests/sim/model_text.hpp"

namespace nightferry::sim {

namespace json = fhir::json;

namespace {

// Eight digits that do not tell their order; different for every number below 2^32.
std::string opaque(std::uint64_t number) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::uint32_t mixed = static_cast<std::uint32_t>(number) * 2'654'435'761U;
    std::string text(8, '0');
    for (char& digit : text) {
        digit = digits[mixed & 15];
        mixed >>= 4;
    }
    return text;
}

bool names_identifier(std::string_view query) {
    const auto parameters = fhir::exchange::read_query(query);
    return parameters.size() == 1 && parameters.front().name == "identifier" &&
           !parameters.front().text.empty();
}

}  // namespace

std::string ModelClinic::new_id(std::string_view type) {
    std::string id;
    do {
        id = "n" + std::to_string(next_id_++);
    } while (store_.find(type, id) != nullptr);
    return id;
}

std::string ModelClinic::next_version(const StoredResource* there) {
    if (dialect_.does.opaque_versions) return opaque(next_version_++);
    return std::to_string(there == nullptr ? 1 : there->history.size() + 1);
}

const StoredResource& ModelClinic::write(const json::Value& resource, std::string_view type,
                                         std::string_view id, Writer writer) {
    const StoredResource* there = store_.find(type, id);
    StoredVersion version;
    version.version = next_version(there);
    version.text =
        std::make_shared<const std::string>(stored_text(resource, id, version.version, dialect_.does));
    version.writer = writer;
    version.identifiers = identifiers_of(resource);
    const bool is_new = there == nullptr || there->is_deleted();
    events_.push_back({is_new ? Event::What::created : Event::What::updated, writer, std::string(type),
                       std::string(id), version.version});
    return store_.add(type, id, std::move(version));
}

// Whatever is wrong with content, and has nothing to do with what is there already.
std::optional<Outcome> ModelClinic::objection(const json::Value& resource, std::string_view type) const {
    if (!fhir::exchange::is_type_name(type) || !keeps(type)) {
        return Outcome{dialect_.does.unsupported_status,  nullptr, "not-supported",
                       "no such resources are kept here", {},      false};
    }
    if (resource.string_at("resourceType") != type) {
        return Outcome{400, nullptr, "invalid", "the resource is of another type than its address",
                       {},  false};
    }
    if (breaks_on_ && breaks_on_(resource))
        return Outcome{500, nullptr, "exception", "something broke", {}, true};
    if (refuses_ && refuses_(resource))
        return Outcome{422, nullptr, "business-rule", "the record breaks the rule " + rule_, {}, false};
    return std::nullopt;
}

Outcome ModelClinic::create(const json::Value& resource, std::string_view type,
                            const Conditions& conditions) {
    const Does& does = dialect_.does;
    if (auto objected = objection(resource, type)) return *std::move(objected);
    if (!conditions.if_none_exist.empty() && does.conditional_create == Support::rejected) {
        return {does.condition_status, nullptr, "not-supported", "conditions are not supported", {}, false};
    }
    if (!conditions.if_none_exist.empty() && does.conditional_create == Support::honoured) {
        if (!names_identifier(conditions.if_none_exist)) {
            return {400, nullptr, "not-supported", "only a condition on identifier is understood", {}, false};
        }
        const auto matches = matching(type, conditions.if_none_exist);
        if (matches.size() > 1)
            return {412, nullptr, "multiple-matches", "several resources match the condition", {}, false};
        if (matches.size() == 1) return {200, matches.front(), {}, {}, {}, false};
    }
    return {201, &write(resource, type, new_id(type), Writer::us), {}, {}, {}, false};
}

std::optional<Outcome> ModelClinic::unmet(const Conditions& conditions, const StoredResource* there) const {
    const Does& does = dialect_.does;
    const bool is_there = there != nullptr && !there->is_deleted();
    if (is_there && does.if_none_match_star && conditions.if_none_match == "*")
        return Outcome{412, nullptr, "conflict", "the resource is there already", {}, false};
    const std::string expected = fhir::exchange::version_in_etag(conditions.if_match);
    if (does.checks_versions && !expected.empty() && (!is_there || there->newest().version != expected))
        return Outcome{412, nullptr, "conflict", "the resource has another version by now", {}, false};
    if (is_there && does.requires_versions && expected.empty())
        return Outcome{412, nullptr, "required", "the version to be replaced must be named", {}, false};
    if (is_there || does.update_create) return std::nullopt;
    if (there != nullptr && does.answers_410_for_deleted)
        return Outcome{410, nullptr, "deleted", "there is no such resource any more", {}, false};
    return Outcome{does.no_update_create_status, nullptr, "not-found",
                   "there is no such resource",  {},      false};
}

Outcome ModelClinic::update(const json::Value& resource, std::string_view type, std::string_view id,
                            const Conditions& conditions) {
    if (auto objected = objection(resource, type)) return *std::move(objected);
    if (!fhir::exchange::is_id(id) || resource.string_at("id") != id)
        return {400, nullptr, "invalid", "the resource has another id than its address", {}, false};
    const StoredResource* there = store_.find(type, id);
    if (auto refused = unmet(conditions, there)) return *std::move(refused);
    const bool is_there = there != nullptr && !there->is_deleted();
    const int status = is_there ? 200 : dialect_.does.create_by_put_status;
    return {status, &write(resource, type, id, Writer::us), {}, {}, {}, false};
}

}  // namespace nightferry::sim
