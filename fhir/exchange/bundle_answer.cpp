#include "fhir/exchange/bundle_answer.hpp"

#include "fhir/exchange/told_location.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::fhir::exchange {

namespace {

bool is_outcome(const json::Value* resource) {
    return resource != nullptr && resource->string_at("resourceType") == "OperationOutcome";
}

EntryAnswer answer_in(const json::Value& entry) {
    EntryAnswer answer;
    const json::Value* response = entry.find("response");
    if (response == nullptr) return answer;
    const json::Value* resource = entry.find("resource");
    // The standard says text; a number is seen too.
    answer.status = status_in(resource::text_of(*response, "status"));
    answer.location = location_told(response->string_at("location"), response->string_at("etag"), resource);
    const json::Value* outcome = response->find("outcome");
    if (outcome == nullptr && is_outcome(resource)) outcome = resource;
    if (outcome != nullptr) {
        answer.issues = outcome_issues(*outcome);
        answer.words = outcome_words(*outcome);
    }
    return answer;
}

std::optional<Mismatch> mismatch_in(std::size_t entry, const Asked& asked, const EntryAnswer& answer) {
    const bool succeeded = answer.status >= 200 && answer.status < 400;
    if (!succeeded || !answer.location || asked.type.empty()) return std::nullopt;
    const Location& given = *answer.location;
    const std::string begin = "entry " + std::to_string(entry + 1) + " of the answer is about ";
    if (given.type != asked.type)
        return Mismatch{Mismatch::What::resource_type, entry, begin + given.type + ", not " + asked.type};
    if (!asked.id.empty() && given.id != asked.id) {
        return Mismatch{Mismatch::What::resource_id, entry,
                        begin + given.reference() + ", not " + asked.type + "/" + asked.id};
    }
    return std::nullopt;
}

}  // namespace

int status_in(std::string_view text) {
    while (text.starts_with(' '))
        text.remove_prefix(1);
    const auto digits = std::min(text.find_first_not_of("0123456789"), text.size());
    if (digits != 3) return 0;
    const int status = (text[0] - '0') * 100 + (text[1] - '0') * 10 + (text[2] - '0');
    return status >= 100 && status < 600 ? status : 0;
}

std::optional<BundleAnswer> read_bundle_answer(std::string_view text) {
    const auto document = json::read(text);
    if (!document) return std::nullopt;
    const json::Value& root = document->root();
    const auto type = root.string_at("type");
    if (root.string_at("resourceType") != "Bundle" ||
        (type != "transaction-response" && type != "batch-response")) {
        return std::nullopt;
    }
    BundleAnswer answer{type == "batch-response" ? BundleKind::batch : BundleKind::transaction, {}};
    for (const json::Value& entry : root.items_at("entry"))
        answer.entries.push_back(answer_in(entry));
    return answer;
}

std::optional<Mismatch> find_mismatch(BundleKind kind, const std::vector<Asked>& asked,
                                      const BundleAnswer& answer) {
    if (answer.kind != kind) {
        return Mismatch{Mismatch::What::kind, 0,
                        kind == BundleKind::transaction ? "a transaction was answered as a batch"
                                                        : "a batch was answered as a transaction"};
    }
    if (answer.entries.size() != asked.size()) {
        return Mismatch{Mismatch::What::count, 0,
                        "the answer has " + std::to_string(answer.entries.size()) + " entries for " +
                            std::to_string(asked.size()) + " that were sent"};
    }
    for (std::size_t i = 0; i < asked.size(); ++i) {
        if (auto mismatch = mismatch_in(i, asked[i], answer.entries[i])) return mismatch;
    }
    return std::nullopt;
}

}  // namespace nightferry::fhir::exchange
