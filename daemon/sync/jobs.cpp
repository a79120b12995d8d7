#include "daemon/sync/jobs.hpp"

#include <algorithm>
#include <iterator>

#include "fhir/check/validator.hpp"
#include "fhir/exchange/bundle_answer.hpp"
#include "fhir/exchange/query.hpp"
#include "fhir/exchange/same_content.hpp"
#include "fhir/exchange/search.hpp"

namespace nightferry::sync {

namespace exchange = fhir::exchange;
namespace json = fhir::json;
using mapping::Mapper;

namespace {

constexpr std::size_t entries_per_load = 2;  // The resource and its Provenance.

HttpHeaders fhir_headers(bool with_body) {
    HttpHeaders headers{{"Accept", "application/fhir+json"}};
    if (with_body) headers.emplace_back("Content-Type", "application/fhir+json");
    return headers;
}

LoadAnswer look_it_up(std::string words) {
    return {Fate::look, 0, std::nullopt, std::move(words)};
}

}  // namespace

Job JobBuilder::job_for(logbook::Parcel parcel) const {
    Load load{std::move(parcel), std::nullopt, 0};
    const bool is_first = load.parcel.wanted.revision == 1 && load.parcel.earlier.empty();
    // A first revision may be tried without a look: if it is there already, nothing is changed by trying.
    if (is_first) return BundleJob{{std::move(load)}};
    const auto& receipt = load.parcel.receipt;
    if (receipt && !receipt->version_id.empty() && !load.parcel.outcome_unknown) {
        load.replace = Replace{receipt->resource_id, receipt->version_id};
        return BundleJob{{std::move(load)}};
    }
    if (!receipt && load.parcel.attempts == 1) return BundleJob{{std::move(load)}};
    return LookupJob{std::move(load)};
}

Result<void> JobBuilder::can_send(const logbook::Parcel& parcel) const {
    BundleJob alone{{Load{parcel, std::nullopt, 0}}};
    exchange::Transaction transaction;
    if (auto added = add_load(transaction, alone.loads.front(), alone); !added) return added;
    fhir::check::Options errors_only;
    errors_only.issues_max = 1;
    errors_only.warnings = false;
    const auto report = fhir::check::validate(transaction.root(), mapper_.release(), errors_only);
    if (report.valid()) return {};
    const fhir::check::Issue& issue = report.issues.front();
    // A wrong type or a malformed URI comes from the settings, and nothing else could.
    const bool from_settings =
        issue.rule == fhir::check::rule::target || issue.rule == fhir::check::rule::value;
    return Error{Errc::setup,
                 "what would be sent breaks the rule " + std::string(issue.rule.key) + " of FHIR " +
                     std::string(fhir::spec::name_of(mapper_.release())) + " at " + issue.expression + ": " +
                     issue.text +
                     (from_settings ? "; check the references and identifiers in the settings" : "")};
}

std::string JobBuilder::dose_reference(const Load& load, const BundleJob& job) const {
    const auto* finding = std::get_if<entry::Finding>(&load.parcel.wanted.content.what);
    if (finding == nullptr || !finding->dose) return {};
    constexpr std::string_view dose_type = "MedicationAdministration";
    if (const auto& receipt = load.parcel.dose_receipt; receipt && receipt->resource_type == dose_type) {
        return receipt->resource_type + "/" + receipt->resource_id;
    }
    const bool travels_along = std::any_of(job.loads.begin(), job.loads.end(), [&](const Load& other) {
        return other.parcel.id == *finding->dose && !other.replace &&
               Mapper::resource_type(other.parcel.wanted.content) == dose_type;
    });
    return travels_along ? Mapper::full_url(*finding->dose) : std::string();
}

Result<void> JobBuilder::add_load(exchange::Transaction& transaction, const Load& load,
                                  const BundleJob& job) const {
    const logbook::Parcel& parcel = load.parcel;
    const std::string type(Mapper::resource_type(parcel.wanted.content));
    const std::string full_url = Mapper::full_url(parcel.id);
    const std::string provenance = Mapper::provenance_id(parcel.id, parcel.wanted.revision);
    mapping::Links links{{}, dose_reference(load, job)};
    std::string target = full_url;
    json::Value* place = nullptr;
    if (load.replace) {
        links.id = load.replace->resource_id;
        target = type + "/" + links.id;
        place = &transaction.update(type, links.id, full_url, load.replace->version_id);
    } else {
        const auto identifier = mapper_.identifier(parcel.id);
        place = &transaction.create(type, full_url,
                                    exchange::identifier_query(identifier.system, identifier.value));
    }
    auto mapped = mapper_.put_resource(*place, parcel.wanted, links);
    if (!mapped) return mapped;
    json::Value& beside = transaction.update("Provenance", provenance, "urn:uuid:" + provenance, {});
    mapper_.put_provenance(beside, parcel.wanted, target);
    return {};
}

exchange::Transaction JobBuilder::transaction(const BundleJob& job) const {
    exchange::Transaction transaction;
    // can_send() has let every load through.
    for (const Load& load : job.loads)
        (void)add_load(transaction, load, job);
    return transaction;
}

HttpRequest JobBuilder::request(const BundleJob& job) const {
    return {"POST", "", fhir_headers(true), transaction(job).text()};
}

HttpRequest JobBuilder::request(const LookupJob& job) const {
    const auto identifier = mapper_.identifier(job.load.parcel.id);
    const std::string type(Mapper::resource_type(job.load.parcel.wanted.content));
    return {"GET",
            "/" + type + "?" + exchange::identifier_query(identifier.system, identifier.value),
            fhir_headers(false),
            {}};
}

HttpRequest JobBuilder::patient_request(const std::string& system, const std::string& value) const {
    return {"GET", "/Patient?" + exchange::identifier_query(system, value), fhir_headers(false), {}};
}

Purpose JobBuilder::purpose(const BundleJob& job) {
    const bool updates = std::any_of(job.loads.begin(), job.loads.end(),
                                     [](const Load& load) { return load.replace.has_value(); });
    return updates ? Purpose::update : Purpose::create;
}

std::vector<LoadAnswer> JobBuilder::read(const BundleJob& job, const HttpAnswer& answer) const {
    const auto bundle = exchange::read_bundle_answer(answer.body);
    const auto all = [&job](const std::string& words) {
        return std::vector<LoadAnswer>(job.loads.size(), look_it_up(words));
    };
    if (!bundle) return all("the clinic's answer does not match what was sent");
    // The answers are matched by their order and what they are about. A server that answers a transaction in
    // the name of a batch has still said what became of each entry.
    if (const auto mismatch = exchange::find_mismatch(bundle->kind, transaction(job).asked(), *bundle))
        return all("the clinic's answer does not match what was sent: " + mismatch->words);
    std::vector<LoadAnswer> answers;
    for (std::size_t i = 0; i < job.loads.size(); ++i) {
        const Load& load = job.loads[i];
        const exchange::EntryAnswer& main = bundle->entries[i * entries_per_load];
        const exchange::EntryAnswer& provenance = bundle->entries[i * entries_per_load + 1];
        LoadAnswer read{fate_of_status(main.status, load.replace ? Purpose::update : Purpose::create),
                        main.status, main.location, main.words};
        const bool right_type =
            main.location && main.location->type == Mapper::resource_type(load.parcel.wanted.content);
        if (read.fate == Fate::done && !right_type)
            read = look_it_up("the clinic did not say where it put the resource");
        // It was there already: in an older revision, or changed by somebody at the clinic since.
        if (read.fate == Fate::done && !load.replace && main.status == 200) read.fate = Fate::look;
        if (main.status == 0) read = look_it_up("the clinic gave no status");
        if (read.fate == Fate::done) {
            read.words.clear();
            if (fate_of_status(provenance.status, Purpose::create) != Fate::done) {
                read.words = "the clinic took the record but not its Provenance: " +
                             words_for(provenance.status, provenance.words);
            }
        }
        answers.push_back(std::move(read));
    }
    return answers;
}

bool JobBuilder::holds(const json::Value& theirs, const entry::Version& version) const {
    // The dose may have been referred to in any of three ways when this was sent.
    mapping::Links links{{}, "urn:uuid:any"};
    json::Document ours;
    if (!mapper_.put_resource(ours.root(), version, links)) return false;
    return exchange::same_content(ours.root(), theirs);
}

Holding JobBuilder::read(const LookupJob& job, const HttpAnswer& answer) const {
    const auto found = exchange::read_search_answer(answer.body);
    if (!found) return {};
    Holding holding;
    const std::vector<exchange::Found>& matches = found->matches;
    // A server that does not know the search parameter may answer with anything.
    const auto identifier = mapper_.identifier(job.load.parcel.id);
    std::vector<exchange::Found> ours;
    std::copy_if(matches.begin(), matches.end(), std::back_inserter(ours), [&](const exchange::Found& one) {
        return exchange::bears_identifier(*one.resource, identifier.system, identifier.value);
    });
    holding.matches = ours.size();
    if (ours.empty()) {
        holding.kind = !matches.empty()       ? Holding::Kind::not_ours
                       : found->is_complete() ? Holding::Kind::absent
                                              : Holding::Kind::hidden;
        return holding;
    }
    if (ours.size() > 1 || found->total.value_or(0) > matches.size()) {
        holding.kind = ours.size() > 1 ? Holding::Kind::several : Holding::Kind::hidden;
        return holding;
    }
    const exchange::Found& one = ours.front();
    const logbook::Parcel& parcel = job.load.parcel;
    holding.location = one.location;
    if (holds(*one.resource, parcel.wanted)) {
        holding.kind = Holding::Kind::up_to_date;
    } else if (std::any_of(parcel.earlier.begin(), parcel.earlier.end(),
                           [&](const entry::Version& version) { return holds(*one.resource, version); })) {
        holding.kind = Holding::Kind::ours_older;
    } else {
        holding.kind = Holding::Kind::changed;
    }
    return holding;
}

}  // namespace nightferry::sync
