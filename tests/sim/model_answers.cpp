#include "tests/sim/model_answers.hpp"

#include <algorithm>

#include "fhir/exchange/etag.hpp"
#include "tests/sim/model_text.hpp"

namespace nightferry::sim {

namespace {

std::string_view phrase(int status) {
    switch (status) {
        case 200:
            return "200 OK";
        case 201:
            return "201 Created";
        case 400:
            return "400 Bad Request";
        case 404:
            return "404 Not Found";
        case 405:
            return "405 Method Not Allowed";
        case 410:
            return "410 Gone";
        case 412:
            return "412 Precondition Failed";
        case 422:
            return "422 Unprocessable Entity";
        default:
            return {};
    }
}

std::string etag_of(const Does& does, const StoredResource& resource) {
    const std::string& version = resource.newest().version;
    return does.quotes_etag ? fhir::exchange::etag_for(version) : version;
}

std::string address_prefix(const Does& does) {
    if (does.addresses == Addresses::absolute) return does.base_url + "/";
    return does.addresses == Addresses::odd ? "4_0_1/" : "";
}

std::string location_of(const Does& does, const StoredResource& resource, Misbehaviour misbehaviour) {
    std::string_view type = resource.type;
    std::string id = resource.id;
    if (misbehaviour == Misbehaviour::other_type)
        type = type == "Observation" ? "MedicationAdministration" : "Observation";
    if (misbehaviour == Misbehaviour::other_id) id = id == "n1" ? "n2" : "n1";
    std::string location = address_prefix(does);
    location.append(type).append("/").append(id);
    if (does.version_in_location) location.append("/_history/").append(resource.newest().version);
    return location;
}

void append_status(std::string& out, int status, Misbehaviour misbehaviour) {
    if (misbehaviour == Misbehaviour::no_statuses) return;
    out += R"("status":)";
    if (misbehaviour == Misbehaviour::garbage_statuses) {
        out += R"("done, thank you")";
    } else if (const auto text = phrase(status); !text.empty()) {
        append_quoted(out, text);
    } else {
        append_quoted(out, std::to_string(status));
    }
    out += ',';
}

void append_entry(std::string& out, const Does& does, const Outcome& outcome, Misbehaviour misbehaviour) {
    out += '{';
    if (!outcome.body.empty()) {
        out.append(R"("resource":)").append(outcome.body).append(1, ',');
    } else if (outcome.resource != nullptr && does.returns_representation) {
        out.append(R"("resource":)").append(outcome.resource->text()).append(1, ',');
    }
    out += R"("response":{)";
    append_status(out, outcome.status, misbehaviour);
    if (outcome.resource != nullptr) {
        if (does.gives_location && misbehaviour != Misbehaviour::no_locations) {
            out += R"("location":)";
            append_quoted(out, location_of(does, *outcome.resource, misbehaviour));
            out += ',';
        }
        if (does.gives_etag) {
            out += R"("etag":)";
            append_quoted(out, etag_of(does, *outcome.resource));
            out += ',';
        }
    } else if (!outcome.succeeded()) {
        out.append(R"("outcome":)").append(outcome_text(outcome.code, outcome.words)).append(1, ',');
    }
    if (out.back() == ',') out.pop_back();
    out += "}}";
}

// The outcomes in the order and number in which they are to be told.
std::vector<const Outcome*> as_told(const std::vector<Outcome>& outcomes, Misbehaviour misbehaviour) {
    std::vector<const Outcome*> told;
    for (const Outcome& outcome : outcomes)
        told.push_back(&outcome);
    if (told.empty()) return told;
    if (misbehaviour == Misbehaviour::fewer_entries) told.pop_back();
    if (misbehaviour == Misbehaviour::more_entries) told.push_back(told.back());
    if (misbehaviour == Misbehaviour::other_order) std::reverse(told.begin(), told.end());
    return told;
}

bool is_about_one_location(Misbehaviour misbehaviour) {
    return misbehaviour == Misbehaviour::other_type || misbehaviour == Misbehaviour::other_id;
}

}  // namespace

HttpAnswer fhir_answer(int status, std::string body) {
    return {status, {{"Content-Type", "application/fhir+json"}}, std::move(body)};
}

HttpAnswer refusal(int status, std::string_view code, std::string_view words, std::string_view expression) {
    return fhir_answer(status, outcome_text(code, words, expression));
}

HttpAnswer single_answer(const Does& does, const Outcome& outcome, Misbehaviour misbehaviour) {
    if (outcome.resource == nullptr) return refusal(outcome.status, outcome.code, outcome.words);
    HttpAnswer answer =
        fhir_answer(outcome.status, does.returns_representation ? outcome.resource->text() : std::string());
    if (does.gives_etag) answer.headers.emplace_back("ETag", etag_of(does, *outcome.resource));
    if (does.gives_location && misbehaviour != Misbehaviour::no_locations)
        answer.headers.emplace_back("Location", location_of(does, *outcome.resource, misbehaviour));
    return answer;
}

HttpAnswer read_answer(const Does& does, const StoredVersion& version) {
    HttpAnswer answer = fhir_answer(200, *version.text);
    if (does.gives_etag) {
        answer.headers.emplace_back(
            "ETag", does.quotes_etag ? fhir::exchange::etag_for(version.version) : version.version);
    }
    return answer;
}

HttpAnswer bundle_answer(const Does& does, bool is_transaction, const std::vector<Outcome>& outcomes,
                         Misbehaviour misbehaviour) {
    const bool says_transaction = is_transaction != (misbehaviour == Misbehaviour::other_kind);
    std::string out = R"({"resourceType":"Bundle","type":)";
    out += says_transaction ? R"("transaction-response")" : R"("batch-response")";
    out.reserve(out.size() + 200 * outcomes.size());
    const std::vector<const Outcome*> told = as_told(outcomes, misbehaviour);
    bool has_lied = false;
    for (std::size_t i = 0; i < told.size(); ++i) {
        out += i == 0 ? R"(,"entry":[)" : ",";
        Misbehaviour here = misbehaviour;
        if (is_about_one_location(misbehaviour)) {
            if (has_lied) here = Misbehaviour::none;
            has_lied |= told[i]->resource != nullptr;
        }
        append_entry(out, does, *told[i], here);
    }
    out += told.empty() ? "}" : "]}";
    return fhir_answer(200, std::move(out));
}

std::string searchset(const Does& does, const Page& page, Misbehaviour misbehaviour) {
    const bool finds_nothing = misbehaviour == Misbehaviour::stale_search;
    const std::size_t total = finds_nothing ? 0 : page.matches.size();
    const std::size_t from = std::min(page.offset, total);
    const std::size_t to = std::min(from + std::max<std::size_t>(does.page_size, 1), total);
    std::vector<const StoredResource*> told(page.matches.begin() + static_cast<std::ptrdiff_t>(from),
                                            page.matches.begin() + static_cast<std::ptrdiff_t>(to));
    if (!told.empty() && misbehaviour == Misbehaviour::fewer_entries) told.pop_back();
    if (!told.empty() && misbehaviour == Misbehaviour::more_entries) told.push_back(told.back());
    if (misbehaviour == Misbehaviour::other_order) std::reverse(told.begin(), told.end());
    std::string out = R"({"resourceType":"Bundle","type":"searchset")";
    if (does.gives_total) out.append(R"(,"total":)").append(std::to_string(total));
    if (to < total) {
        std::string next = does.addresses == Addresses::absolute ? does.base_url + "/" : std::string();
        next.append(page.type).append("?").append(page.query).append(page.query.empty() ? "" : "&");
        next.append("_offset=").append(std::to_string(to));
        out.append(R"(,"link":[{"relation":"next","url":)").append(in_quotes(next)).append("}]");
    }
    for (std::size_t i = 0; i < told.size(); ++i) {
        out += i == 0 ? R"(,"entry":[{"fullUrl":)" : R"(,{"fullUrl":)";
        append_quoted(out, does.base_url + "/" + told[i]->place());
        out.append(R"(,"resource":)").append(told[i]->text()).append(R"(,"search":{"mode":"match"}})");
    }
    out += told.empty() ? "}" : "]}";
    return out;
}

}  // namespace nightferry::sim
