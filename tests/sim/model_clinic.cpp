#include "tests/sim/model_clinic.hpp"

#include <algorithm>
#include <charconv>

#include "fhir/exchange/location.hpp"
#include "fhir/exchange/query.hpp"
#include "fhir/json/reader.hpp"
#include "tests/sim/model_text.hpp"

namespace nightferry::sim {

namespace exchange = fhir::exchange;
namespace json = fhir::json;

namespace {

constexpr std::string_view offset_name = "_offset";

struct Target {
    std::string_view path;
    std::string_view query;
};

Target target_in(std::string_view target) {
    const auto mark = target.find('?');
    std::string_view path = target.substr(0, mark);
    while (path.starts_with('/'))
        path.remove_prefix(1);
    return {path, mark == std::string_view::npos ? std::string_view() : target.substr(mark + 1)};
}

std::pair<std::string_view, std::string_view> split(std::string_view text, char at) {
    const auto place = text.find(at);
    if (place == std::string_view::npos) return {text, {}};
    return {text.substr(0, place), text.substr(place + 1)};
}

bool writes(const HttpRequest& request) {
    return request.method == "POST" || request.method == "PUT";
}

}  // namespace

ModelClinic::ModelClinic(Dialect dialect) {
    become(std::move(dialect));
}

void ModelClinic::become(Dialect dialect) {
    dialect_ = std::move(dialect);
    metadata_ = metadata_text(dialect_);
}

std::span<const Event> ModelClinic::events_since(std::size_t mark) const {
    return std::span(events_).subspan(std::min(mark, events_.size()));
}

HttpAnswer ModelClinic::answer(const HttpRequest& request, Misbehaviour misbehaviour) {
    ++requests_;
    if (!carries_out(misbehaviour)) return error_answer(misbehaviour, retry_date_, requests_);
    HttpAnswer answer;
    if (dialect_.does.asynchronous && writes(request)) {
        pending_.push_back(request);
        answer = {202, {}, {}};
    } else {
        answer = carry_out(request, misbehaviour);
    }
    if (misbehaviour == Misbehaviour::none) return answer;
    if (misbehaviour < Misbehaviour::empty_body) return error_answer(misbehaviour, retry_date_, requests_);
    return spoiled(std::move(answer), misbehaviour);
}

std::size_t ModelClinic::apply_pending() {
    const std::vector<HttpRequest> now = std::exchange(pending_, {});
    for (const HttpRequest& request : now)
        (void)carry_out(request, Misbehaviour::none);
    return now.size();
}

HttpAnswer ModelClinic::carry_out(const HttpRequest& request, Misbehaviour misbehaviour) {
    const Does& does = dialect_.does;
    const auto [path, query] = target_in(request.target);
    if (request.method == "GET") return get(path, query, misbehaviour);
    if (!writes(request)) return refusal(405, "not-supported", "this clinic does not do that");
    if (does.max_bytes != 0 && request.body.size() > does.max_bytes)
        return refusal(does.too_large_status, "too-costly", "the body is too large");
    const auto document = json::read(request.body);
    if (!document) return refusal(400, "structure", "the body is not valid JSON");
    const json::Value& root = document->root();
    const auto [type, id] = split(path, '/');
    const Conditions conditions{header(request.headers, "If-None-Exist"), header(request.headers, "If-Match"),
                                header(request.headers, "If-None-Match")};
    if (path.empty() && request.method == "POST") return bundle(root, misbehaviour);
    if (request.method == "POST" && id.empty() && does.creates)
        return single_answer(does, create(root, type, conditions), misbehaviour);
    if (request.method == "PUT" && !id.empty() && does.updates)
        return single_answer(does, update(root, type, id, conditions), misbehaviour);
    return refusal(does.not_allowed_status, "not-supported", "this clinic does not do that");
}

HttpAnswer ModelClinic::get(std::string_view path, std::string_view query, Misbehaviour misbehaviour) const {
    if (path == "metadata") {
        HttpAnswer answer = fhir_answer(metadata_status(dialect_.claims.metadata), metadata_);
        if (dialect_.claims.metadata == Metadata::web_page) answer.headers = {{"Content-Type", "text/html"}};
        return answer;
    }
    const auto [type, rest] = split(path, '/');
    if (!exchange::is_type_name(type) || !keeps(type))
        return refusal(dialect_.does.unsupported_status, "not-supported", "no such resources are kept here");
    return rest.empty() ? search(type, query, misbehaviour) : read(type, rest);
}

HttpAnswer ModelClinic::read(std::string_view type, std::string_view rest) const {
    const auto [id, behind] = split(rest, '/');
    const StoredResource* resource = store_.find(type, id);
    if (resource == nullptr) return refusal(404, "not-found", "there is no such resource");
    constexpr std::string_view history = "_history/";
    if (behind.starts_with(history)) {
        for (const StoredVersion& version : resource->history) {
            if (version.version == behind.substr(history.size()) && !version.deleted)
                return read_answer(dialect_.does, version);
        }
        return refusal(404, "not-found", "there is no such version");
    }
    if (resource->is_deleted()) {
        return refusal(dialect_.does.answers_410_for_deleted ? 410 : 404, "deleted",
                       "there is no such resource any more");
    }
    return read_answer(dialect_.does, resource->newest());
}

HttpAnswer ModelClinic::search(std::string_view type, std::string_view query,
                               Misbehaviour misbehaviour) const {
    std::size_t offset = 0;
    bool asks_for_identifier = false;
    for (const exchange::QueryParameter& parameter : exchange::read_query(query)) {
        if (parameter.name == offset_name) {
            const std::string& text = parameter.text;
            std::from_chars(text.data(), text.data() + text.size(), offset);
        }
        asks_for_identifier |= parameter.name == "identifier";
    }
    const IdentifierSearch does = dialect_.does.identifier_search;
    std::vector<const StoredResource*> matches;
    if (!asks_for_identifier || does == IdentifierSearch::ignored) {
        matches = store_.all(type);
    } else if (does == IdentifierSearch::honoured) {
        matches = matching(type, query);
    } else if (does == IdentifierSearch::rejected) {
        return refusal(400, "not-supported", "there is no search by identifier");
    }
    const std::string_view plain = query.substr(0, query.find("&_offset="));
    return fhir_answer(200, searchset(dialect_.does, {type, plain, matches, offset}, misbehaviour));
}

bool ModelClinic::keeps(std::string_view type) const {
    const Does& does = dialect_.does;
    if (type == "Provenance" && !does.keeps_provenance) return false;
    return does.types.empty() || std::find(does.types.begin(), does.types.end(), type) != does.types.end();
}

std::vector<const StoredResource*> ModelClinic::matching(std::string_view type,
                                                         std::string_view query) const {
    for (const exchange::QueryParameter& parameter : exchange::read_query(query)) {
        if (parameter.name != "identifier") continue;
        const exchange::Token token = parameter.token();
        if (token.system) return store_.bearing(type, *token.system, token.value);
        std::vector<const StoredResource*> found = store_.all(type);
        std::erase_if(found, [&](const StoredResource* one) {
            const auto& all = one->newest().identifiers;
            return std::none_of(all.begin(), all.end(),
                                [&](const Identifier& its) { return its.value == token.value; });
        });
        return found;
    }
    return {};
}

}  // namespace nightferry::sim
