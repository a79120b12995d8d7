// The answers: what they say became of each load.
#include <algorithm>
#include <iterator>

#include "daemon/core/overloaded.hpp"
#include "daemon/entry/free_texts.hpp"
#include "daemon/sync/jobs.hpp"
#include "fhir/exchange/bundle_answer.hpp"
#include "fhir/exchange/etag.hpp"
#include "fhir/exchange/outcome.hpp"
#include "fhir/exchange/same_content.hpp"
#include "fhir/exchange/search.hpp"
#include "fhir/exchange/told_location.hpp"
#include "fhir/json/reader.hpp"

namespace nightferry::sync {

namespace exchange = fhir::exchange;
namespace json = fhir::json;
using mapping::Mapper;

namespace {

std::vector<LoadAnswer> look_all_up(std::size_t loads, const std::string& words) {
    return std::vector<LoadAnswer>(loads, LoadAnswer{Fate::look, 0, std::nullopt, words, false});
}

constexpr char no_match[] = "the clinic's answer does not match what was sent";

std::string without_provenance(int status, const std::string& words) {
    return "the clinic took the record but not its Provenance: " + words_for(status, words);
}

// Of a gateway or a login, say, rather than of a FHIR server.
bool is_page(const HttpAnswer& answer, bool is_json) {
    return !answer.body.empty() && !is_json;
}

}  // namespace

Purpose JobBuilder::purpose(const Job& job) {
    const auto is_update = [](const Load& load) { return load.replace.has_value(); };
    return std::visit(Overloaded{
                          [&](const WriteJob& write) {
                              const bool updates =
                                  std::any_of(write.loads.begin(), write.loads.end(), is_update);
                              return updates ? Purpose::update : Purpose::create;
                          },
                          [](const ProvenanceJob&) { return Purpose::create; },
                          [](const LookupJob&) { return Purpose::search; },
                          [](const ReadJob&) { return Purpose::read; },
                      },
                      job);
}

// The answer for one load as the status has it, corrected by what it must say besides.
LoadAnswer JobBuilder::judged(const Load& load, LoadAnswer answer) const {
    if (answer.status == 0) return {Fate::look, 0, {}, "the clinic gave no status", false};
    answer.fate = fate_of_status(answer.status, load.replace ? Purpose::update : Purpose::create);
    if (answer.fate != Fate::done) return answer;
    const bool right_type =
        answer.location && answer.location->type == Mapper::resource_type(load.parcel.wanted.content);
    if (!right_type)
        return {Fate::look, answer.status, {}, "the clinic did not say where it put the resource", false};
    // It was there already: in an older revision, or changed by somebody at the clinic since.
    const bool found = !load.replace && answer.status == 200 && creating_of(load) == Creating::on_condition;
    if (found) answer.fate = Fate::look;
    answer.words.clear();
    return answer;
}

std::vector<LoadAnswer> JobBuilder::read(const WriteJob& job, const HttpAnswer& answer) const {
    if (job.carrier == Carrier::single) return read_single(job.loads.front(), answer);
    const auto told = exchange::read_bundle_answer(answer.body);
    if (!told) return look_all_up(job.loads.size(), no_match);
    // The answers are matched by their order and what they are about. A server that answers a transaction in
    // the name of a batch has still said what became of each entry.
    if (const auto mismatch = exchange::find_mismatch(told->kind, bundle(job).asked(), *told))
        return look_all_up(job.loads.size(), no_match + (": " + mismatch->words));
    const std::size_t entries_per_load = with_provenance(job) ? 2 : 1;
    std::vector<LoadAnswer> answers;
    for (std::size_t i = 0; i < job.loads.size(); ++i) {
        const exchange::EntryAnswer& main = told->entries[i * entries_per_load];
        LoadAnswer read = judged(job.loads[i], {Fate::look, main.status, main.location, main.words, false});
        if (read.fate == Fate::done && entries_per_load == 2) {
            const exchange::EntryAnswer& beside = told->entries[i * entries_per_load + 1];
            read.provenance_refused = fate_of_status(beside.status, Purpose::create) != Fate::done;
            if (read.provenance_refused) read.words = without_provenance(beside.status, beside.words);
        }
        answers.push_back(std::move(read));
    }
    return answers;
}

std::vector<LoadAnswer> JobBuilder::read_single(const Load& load, const HttpAnswer& answer) const {
    const auto document = json::read(answer.body);
    auto place = exchange::location_told(header(answer.headers, "Location"), header(answer.headers, "ETag"),
                                         document ? &document->root() : nullptr);
    if (load.replace) {
        // An update names its resource itself; the answer may be empty but for the version. Whoever shows
        // neither may be somebody on the way.
        const std::string version = exchange::version_in_etag(header(answer.headers, "ETag"));
        const bool shows_nothing = !place && (version.empty() || is_page(answer, document.has_value()));
        if (answer.status < 300 && shows_nothing) return look_all_up(1, no_match);
        if (!place) place = exchange::Location{load.replace->type, load.replace->id, version};
        if (place->reference() != load.replace->reference()) return look_all_up(1, no_match);
    }
    return {judged(load, {Fate::look, answer.status, std::move(place),
                          answer.status < 300 ? std::string() : exchange::server_words(answer.body), false})};
}

std::vector<LoadAnswer> JobBuilder::read(const ProvenanceJob& job, const HttpAnswer& answer) const {
    const auto all = [&](int status, const std::string& words) {
        const Fate fate = fate_of_status(status, Purpose::create);
        return std::vector<LoadAnswer>(
            job.loads.size(),
            LoadAnswer{fate, status, {}, fate == Fate::done ? "" : without_provenance(status, words), false});
    };
    if (answer.status < 300 && is_page(answer, json::read(answer.body).has_value())) {
        const std::string words =
            "the clinic took the record; what answered about its Provenance was no FHIR server";
        return std::vector<LoadAnswer>(job.loads.size(),
                                       LoadAnswer{Fate::retry, answer.status, {}, words, false});
    }
    if (job.carrier == Carrier::single) return all(answer.status, exchange::server_words(answer.body));
    if (answer.status >= 300) return all(answer.status, exchange::server_words(answer.body));
    const auto told = exchange::read_bundle_answer(answer.body);
    if (!told || exchange::find_mismatch(told->kind, bundle(job).asked(), *told))
        return look_all_up(job.loads.size(), "the clinic did not say whether it took the Provenance");
    std::vector<LoadAnswer> answers;
    for (const exchange::EntryAnswer& one : told->entries) {
        const Fate fate = one.status == 0 ? Fate::look : fate_of_status(one.status, Purpose::create);
        answers.push_back({fate,
                           one.status,
                           {},
                           fate == Fate::done ? "" : without_provenance(one.status, one.words),
                           false});
    }
    return answers;
}

exchange::Location JobBuilder::place_to_read(const Load& load) {
    if (load.seen) return *load.seen;
    const logbook::Receipt& receipt = *load.parcel.receipt;
    return {receipt.resource_type, receipt.resource_id, {}};
}

bool JobBuilder::holds(const json::Value& theirs, const logbook::Parcel& parcel,
                       const entry::Version& version) const {
    if (parcel.texts.ever_sent && reads_as(theirs, version)) return true;
    return parcel.texts.ever_left_out && reads_as(theirs, entry::without_free_texts(version));
}

bool JobBuilder::reads_as(const json::Value& theirs, const entry::Version& version) const {
    // The dose may have been referred to in any of three ways when this was sent, and an order, if it was a
    // dose, may have been named or not.
    for (const char* order : {"", "urn:uuid:any"}) {
        json::Document ours;
        if (!mapper_.put_resource(ours.root(), version, {{}, "urn:uuid:any", order})) return false;
        if (exchange::same_content(ours.root(), theirs)) return true;
    }
    return false;
}

Holding JobBuilder::compared(const Load& load, const exchange::Location& location,
                             const json::Value& theirs) const {
    const logbook::Parcel& parcel = load.parcel;
    Holding holding{Holding::Kind::changed, location, 1};
    const auto found = [&](Holding::Kind kind, std::int64_t revision) {
        holding.earliest = holding.revision == 0 ? revision : std::min(holding.earliest, revision);
        holding.revision = std::max(holding.revision, revision);
        holding.kind = kind;
    };
    for (const entry::Version& version : parcel.earlier) {
        if (holds(theirs, parcel, version)) found(Holding::Kind::ours_older, version.revision);
    }
    if (holds(theirs, parcel, parcel.wanted)) found(Holding::Kind::up_to_date, parcel.wanted.revision);
    return holding;
}

Holding JobBuilder::read(const LookupJob& job, const HttpAnswer& answer) const {
    const auto found = exchange::read_search_answer(answer.body);
    if (!found) return {};
    const std::vector<exchange::Found>& matches = found->matches;
    // A server that does not know the search parameter may answer with anything.
    const auto identifier = mapper_.identifier(job.load.parcel.id);
    std::vector<exchange::Found> ours;
    std::copy_if(matches.begin(), matches.end(), std::back_inserter(ours), [&](const exchange::Found& one) {
        return exchange::bears_identifier(*one.resource, identifier.system, identifier.value);
    });
    Holding holding;
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
    return compared(job.load, ours.front().location, *ours.front().resource);
}

Holding JobBuilder::read(const ReadJob& job, const HttpAnswer& answer) const {
    if (answer.status == 404) return {Holding::Kind::absent, std::nullopt, 0};
    if (answer.status == 410) return {Holding::Kind::deleted, std::nullopt, 0};
    const auto document = json::read(answer.body);
    const auto location = document
                              ? exchange::location_told({}, header(answer.headers, "ETag"), &document->root())
                              : std::nullopt;
    if (!location || location->reference() != place_to_read(job.load).reference()) return {};
    const auto identifier = mapper_.identifier(job.load.parcel.id);
    // A server that was put back to an older state may have given the id to something else since.
    if (!exchange::bears_identifier(document->root(), identifier.system, identifier.value))
        return {Holding::Kind::absent, std::nullopt, 0};
    return compared(job.load, *location, document->root());
}

}  // namespace nightferry::sync
