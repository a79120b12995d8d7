// Transactions and batches at a model clinic.
#include "tests/sim/model_clinic.hpp"
#include "tests/sim/model_text.hpp"

namespace nightferry::sim {

namespace json = fhir::json;

Outcome ModelClinic::entry(const json::Value& entry) {
    const json::Value* request = entry.find("request");
    const json::Value* resource = entry.find("resource");
    if (request == nullptr) return {400, nullptr, "required", "every entry needs a request", {}, false};
    const std::string_view method = request->string_at("method");
    const std::string_view url = request->string_at("url");
    if (method == "GET") {
        const auto mark = url.find('?');
        HttpAnswer found =
            get(url.substr(0, mark), mark == std::string_view::npos ? "" : url.substr(mark + 1),
                Misbehaviour::none);
        Outcome outcome{found.status, nullptr, "not-found", "nothing was found", {}, false};
        if (found.status == 200) outcome.body = std::move(found.body);
        return outcome;
    }
    if (resource == nullptr) return {400, nullptr, "required", "the entry needs a resource", {}, false};
    const Conditions conditions{request->string_at("ifNoneExist"), request->string_at("ifMatch"),
                                request->string_at("ifNoneMatch")};
    const auto slash = url.find('/');
    if (method == "POST" && slash == std::string_view::npos) return create(*resource, url, conditions);
    if (method == "PUT" && slash != std::string_view::npos)
        return update(*resource, url.substr(0, slash), url.substr(slash + 1), conditions);
    return {dialect_.does.not_allowed_status, nullptr, "not-supported",
            "this clinic does not do that",   {},      false};
}

// Entries may refer to later ones, so this waits until all have their places. Only what this bundle has
// written is touched: a resource that was found to be there keeps its text.
void ModelClinic::settle_references(const json::Value& bundle, const std::vector<Outcome>& outcomes) {
    Places places;
    std::size_t at = 0;
    for (const json::Value& entry : bundle.items_at("entry")) {
        if (at == outcomes.size()) break;
        const StoredResource* resource = outcomes[at++].resource;
        const std::string_view full_url = entry.string_at("fullUrl");
        if (resource != nullptr && full_url.starts_with("urn:uuid:"))
            places.emplace(full_url, resource->place());
    }
    at = 0;
    for (const json::Value& entry : bundle.items_at("entry")) {
        if (at == outcomes.size()) break;
        const Outcome& outcome = outcomes[at++];
        const json::Value* request = entry.find("request");
        const bool found_there =
            request != nullptr && request->string_at("method") == "POST" && outcome.status == 200;
        if (outcome.resource == nullptr || found_there) continue;
        bool changed = false;
        std::string text = with_places(outcome.resource->text(), places, changed);
        if (changed) store_.amend(outcome.resource->type, outcome.resource->id, std::move(text));
    }
}

void ModelClinic::undo_to(std::size_t mark, std::uint64_t next_id) {
    while (events_.size() > mark) {
        store_.take_back(events_.back().type, events_.back().id);
        events_.pop_back();
    }
    if (dialect_.does.reuses_ids) next_id_ = next_id;
}

HttpAnswer ModelClinic::bundle(const json::Value& bundle, Misbehaviour misbehaviour) {
    const Does& does = dialect_.does;
    const std::string_view kind = bundle.string_at("type");
    const bool is_transaction = kind == "transaction";
    if (bundle.string_at("resourceType") != "Bundle" || (!is_transaction && kind != "batch"))
        return refusal(400, "invalid", "a transaction or a batch is expected");
    if (!(is_transaction ? does.transactions : does.batches))
        return refusal(does.no_bundle_status, "not-supported", "this clinic does not do that");
    const json::Value* entries = bundle.find("entry");
    if (does.max_entries != 0 && entries != nullptr && entries->size() > does.max_entries)
        return refusal(does.too_large_status, "too-costly", "the Bundle has too many entries");
    const bool stops = is_transaction && does.atomicity != Atomicity::carries_on;
    const bool survives = !is_transaction && does.batches_survive;
    const std::size_t mark = events_.size();
    const std::uint64_t first_id = next_id_;
    std::vector<Outcome> outcomes;
    const Outcome* failed = nullptr;
    for (const json::Value& one : bundle.items_at("entry")) {
        outcomes.push_back(entry(one));
        if (!outcomes.back().succeeded() && (stops || (outcomes.back().fatal && !survives))) {
            failed = &outcomes.back();
            break;
        }
    }
    if (failed != nullptr && is_transaction && does.atomicity == Atomicity::atomic) {
        undo_to(mark, first_id);
    } else if (is_transaction ? does.resolves_references : does.resolves_in_batches) {
        settle_references(bundle, outcomes);
    }
    if (failed == nullptr) return bundle_answer(does, is_transaction, outcomes, misbehaviour);
    const bool has_own_status = does.transaction_failure_status == 0 || failed->fatal;
    const std::string which = "Bundle.entry[" + std::to_string(outcomes.size() - 1) + "]";
    return refusal(has_own_status ? failed->status : does.transaction_failure_status, failed->code,
                   failed->words, does.names_failing_entry && !failed->fatal ? which : std::string());
}

}  // namespace nightferry::sim
