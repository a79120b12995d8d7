// The requests: what is put to the clinic, in the manner that it takes.
#include "daemon/sync/jobs.hpp"

#include <algorithm>

#include "daemon/core/overloaded.hpp"
#include "fhir/check/validator.hpp"
#include "fhir/exchange/etag.hpp"
#include "fhir/exchange/query.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::sync {

namespace exchange = fhir::exchange;
namespace json = fhir::json;
using mapping::Mapper;

namespace {

HttpHeaders fhir_headers(bool with_body) {
    HttpHeaders headers{{"Accept", "application/fhir+json"}};
    if (with_body) headers.emplace_back("Content-Type", "application/fhir+json");
    return headers;
}

HttpRequest get(std::string target) {
    return {"GET", std::move(target), fhir_headers(false), {}};
}

std::string type_of(const Load& load) {
    return std::string(Mapper::resource_type(load.parcel.wanted.content));
}

std::string provenance_id(const Load& load) {
    return Mapper::provenance_id(load.parcel.id, load.parcel.wanted.revision);
}

exchange::BundleKind kind_of(Carrier carrier) {
    return carrier == Carrier::transaction ? exchange::BundleKind::transaction : exchange::BundleKind::batch;
}

}  // namespace

const Load* checked_load(const Job& job) {
    const auto of = [](const auto& look) { return look.is_check ? &look.load : nullptr; };
    if (const auto* read = std::get_if<ReadJob>(&job)) return of(*read);
    const auto* lookup = std::get_if<LookupJob>(&job);
    return lookup == nullptr ? nullptr : of(*lookup);
}

Job JobBuilder::job_for(logbook::Parcel parcel) const {
    Load load;
    load.parcel = std::move(parcel);
    const bool in_doubt = load.parcel.outcome_unknown || load.parcel.receipt;
    const bool by_condition = manner_.creating == Creating::on_condition;
    if (may_be_under_our_id(load)) return ReadJob{under_our_id(std::move(load))};
    if (!manner_.searches) {
        if (load.parcel.receipt) return ReadJob{std::move(load)};
        return WriteJob{{std::move(load)}, manner_.carrier};
    }
    // Where nothing is known of an entry, the condition alone keeps it from being there twice.
    if (by_condition && !in_doubt) return WriteJob{{std::move(load)}, manner_.carrier};
    return LookupJob{std::move(load)};
}

bool JobBuilder::may_be_under_our_id(const Load& load) const {
    const bool may_be_there = load.parcel.outcome_unknown || load.was_written;
    return may_be_there && !load.our_id_read && !load.seen && !load.parcel.receipt &&
           creating_of(load) == Creating::under_our_id;
}

Load JobBuilder::under_our_id(Load load) {
    load.our_id_read = true;
    load.seen = exchange::Location{
        std::string(Mapper::resource_type(load.parcel.wanted.content)), load.parcel.id.to_string(), {}};
    return load;
}

bool JobBuilder::is_unguarded(const WriteJob& job) const {
    return std::any_of(job.loads.begin(), job.loads.end(), [&](const Load& load) {
        if (load.replace) return !manner_.checks_versions || load.replace->version.empty();
        return creating_of(load) != Creating::on_condition;
    });
}

Way JobBuilder::way_of(const WriteJob& job, const Load& load) const {
    return {job.carrier, with_provenance(job), creating_of(load)};
}

Result<void> JobBuilder::can_send(const logbook::Parcel& parcel) const {
    WriteJob alone;
    alone.loads.emplace_back().parcel = parcel;
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

std::string JobBuilder::dose_reference(const Load& load, const WriteJob& job) const {
    const auto* finding = std::get_if<entry::Finding>(&load.parcel.wanted.content.what);
    if (finding == nullptr || !finding->dose) return {};
    constexpr std::string_view dose_type = "MedicationAdministration";
    if (const auto& receipt = load.parcel.dose_receipt; receipt && receipt->resource_type == dose_type) {
        return receipt->resource_type + "/" + receipt->resource_id;
    }
    // Only inside a transaction may one entry refer to another that has no place yet.
    if (job.carrier != Carrier::transaction) return {};
    const bool travels_along = std::any_of(job.loads.begin(), job.loads.end(), [&](const Load& other) {
        return other.parcel.id == *finding->dose && !other.replace &&
               Mapper::resource_type(other.parcel.wanted.content) == dose_type;
    });
    return travels_along ? Mapper::full_url(*finding->dose) : std::string();
}

mapping::Links JobBuilder::links_for(const Load& load, const WriteJob& job) const {
    mapping::Links links{{}, dose_reference(load, job), mapper_.order_of(load.parcel.wanted.content)};
    if (load.replace) {
        links.id = load.replace->id;
    } else if (creating_of(load) == Creating::under_our_id) {
        links.id = load.parcel.id.to_string();
    }
    return links;
}

bool JobBuilder::with_provenance(const WriteJob& job) const {
    const Load& first = job.loads.front();
    return job.carrier == Carrier::transaction && manner_.takes_provenance &&
           (!first.way || first.way->with_provenance);
}

Result<void> JobBuilder::add_load(exchange::Transaction& transaction, const Load& load,
                                  const WriteJob& job) const {
    const std::string type = type_of(load);
    const std::string full_url = Mapper::full_url(load.parcel.id);
    const mapping::Links links = links_for(load, job);
    json::Value* place = nullptr;
    if (!links.id.empty()) {
        const bool under_version = load.replace && manner_.checks_versions;
        place = &transaction.update(type, links.id, full_url,
                                    under_version ? load.replace->version : std::string());
    } else {
        const auto identifier = mapper_.identifier(load.parcel.id);
        place = &transaction.create(type, full_url,
                                    creating_of(load) == Creating::on_condition
                                        ? exchange::identifier_query(identifier.system, identifier.value)
                                        : std::string());
    }
    const entry::Version version = outgoing(load);
    auto mapped = mapper_.put_resource(*place, version, links);
    if (!mapped || !with_provenance(job)) return mapped;
    const std::string provenance = provenance_id(load);
    json::Value& beside = transaction.update("Provenance", provenance, "urn:uuid:" + provenance, {});
    mapper_.put_provenance(beside, version, links.id.empty() ? full_url : type + "/" + links.id);
    return {};
}

exchange::Transaction JobBuilder::bundle(const WriteJob& job) const {
    exchange::Transaction bundle(kind_of(job.carrier));
    // can_send() has let every load through.
    for (const Load& load : job.loads)
        (void)add_load(bundle, load, job);
    return bundle;
}

void JobBuilder::put_provenance(json::Value& into, const Load& load) const {
    mapper_.put_provenance(into, outgoing(load), load.place->reference());
}

exchange::Transaction JobBuilder::bundle(const ProvenanceJob& job) const {
    exchange::Transaction bundle(exchange::BundleKind::batch);
    for (const Load& load : job.loads) {
        const std::string id = provenance_id(load);
        put_provenance(bundle.update("Provenance", id, "urn:uuid:" + id, {}), load);
    }
    return bundle;
}

HttpRequest JobBuilder::write_request(const WriteJob& job) const {
    if (job.carrier == Carrier::single) return single_write(job.loads.front());
    return {"POST", "", fhir_headers(true), bundle(job).text()};
}

HttpRequest JobBuilder::single_write(const Load& load) const {
    const WriteJob alone{{}, Carrier::single};
    const mapping::Links links = links_for(load, alone);
    json::Document resource;
    (void)mapper_.put_resource(resource.root(), outgoing(load), links);
    HttpRequest request{"POST", "/" + type_of(load), fhir_headers(true), json::write(resource.root())};
    if (!links.id.empty()) {
        request.method = "PUT";
        request.target += "/" + links.id;
        if (load.replace && manner_.checks_versions && !load.replace->version.empty())
            request.headers.emplace_back("If-Match", exchange::etag_for(load.replace->version));
    } else if (creating_of(load) == Creating::on_condition) {
        const auto identifier = mapper_.identifier(load.parcel.id);
        request.headers.emplace_back("If-None-Exist",
                                     exchange::identifier_query(identifier.system, identifier.value));
    }
    return request;
}

HttpRequest JobBuilder::provenance_request(const ProvenanceJob& job) const {
    if (job.carrier != Carrier::single) return {"POST", "", fhir_headers(true), bundle(job).text()};
    const Load& load = job.loads.front();
    json::Document resource;
    put_provenance(resource.root(), load);
    return {"PUT", "/Provenance/" + provenance_id(load), fhir_headers(true), json::write(resource.root())};
}

HttpRequest JobBuilder::lookup_request(const Load& load) const {
    const auto identifier = mapper_.identifier(load.parcel.id);
    return get("/" + type_of(load) + "?" + exchange::identifier_query(identifier.system, identifier.value));
}

HttpRequest JobBuilder::request(const Job& job) const {
    return std::visit(
        Overloaded{
            [&](const WriteJob& write) { return write_request(write); },
            [&](const ProvenanceJob& beside) { return provenance_request(beside); },
            [&](const LookupJob& lookup) { return lookup_request(lookup.load); },
            [&](const ReadJob& read) { return get("/" + place_to_read(read.load).reference()); },
        },
        job);
}

HttpRequest JobBuilder::statement_request() {
    return get("/metadata");
}

}  // namespace nightferry::sync
