#include "tests/sim/dialect.hpp"

namespace nightferry::sim {

namespace {

Dialect honest(std::string name, Does does) {
    Claims claims = honest_claims(does);
    return {std::move(name), std::move(does), std::move(claims)};
}

}  // namespace

Claims honest_claims(const Does& does) {
    Claims claims;
    claims.transaction = does.transactions;
    claims.batch = does.batches;
    claims.create = does.creates;
    claims.update = does.updates;
    claims.versioning = does.requires_versions ? "versioned-update"
                        : does.checks_versions ? "versioned"
                                               : "no-version";
    claims.update_create = does.update_create;
    claims.conditional_create = does.conditional_create == Support::honoured;
    claims.search_by_identifier = does.identifier_search == IdentifierSearch::honoured;
    claims.provenance = does.keeps_provenance;
    claims.types = does.types;
    return claims;
}

Dialect thorough() {
    return honest("thorough", {});
}

Dialect no_conditional_create() {
    Does does;
    does.conditional_create = Support::ignored;
    return honest("no_conditional_create", does);
}

Dialect rejects_conditional_create() {
    Does does;
    does.conditional_create = Support::rejected;
    does.condition_status = 412;
    return honest("rejects_conditional_create", does);
}

Dialect no_transactions() {
    Does does;
    does.transactions = false;
    return honest("no_transactions", does);
}

Dialect batch_only() {
    Does does;
    does.transactions = false;
    does.creates = false;
    does.updates = false;
    return honest("batch_only", does);
}

Dialect single_only() {
    Does does;
    does.transactions = false;
    does.batches = false;
    does.no_bundle_status = 404;
    return honest("single_only", does);
}

Dialect liar_about_transactions() {
    Dialect dialect = no_transactions();
    dialect.name = "liar_about_transactions";
    dialect.does.no_bundle_status = 404;
    dialect.claims.transaction = true;
    return dialect;
}

Dialect modest_about_transactions() {
    Dialect dialect = thorough();
    dialect.name = "modest_about_transactions";
    dialect.claims.transaction = false;
    dialect.claims.batch = false;
    dialect.claims.says_conditions = false;
    return dialect;
}

Dialect liar_about_conditional_create() {
    Dialect dialect = no_conditional_create();
    dialect.name = "liar_about_conditional_create";
    dialect.claims.conditional_create = true;
    return dialect;
}

Dialect liar_about_versions() {
    Dialect dialect = thorough();
    dialect.name = "liar_about_versions";
    dialect.does.checks_versions = false;
    dialect.claims.versioning = "versioned-update";
    return dialect;
}

Dialect small_bundles(std::size_t entries) {
    Does does;
    does.max_entries = entries;
    return honest("small_bundles(" + std::to_string(entries) + ")", does);
}

Dialect silent() {
    Does does;
    does.gives_location = false;
    does.gives_etag = false;
    does.shows_versions = false;
    return honest("silent", does);
}

Dialect no_update_create() {
    Does does;
    does.update_create = false;
    does.no_update_create_status = 405;
    return honest("no_update_create", does);
}

Dialect no_provenance() {
    Does does;
    does.keeps_provenance = false;
    return honest("no_provenance", does);
}

Dialect no_update_create_no_provenance() {
    Does does;
    does.update_create = false;
    does.keeps_provenance = false;
    does.unsupported_status = 422;
    return honest("no_update_create_no_provenance", does);
}

Dialect not_atomic() {
    Does does;
    does.atomicity = Atomicity::stops;
    return honest("not_atomic", does);
}

Dialect mixed_transactions() {
    Does does;
    does.atomicity = Atomicity::carries_on;
    return honest("mixed_transactions", does);
}

Dialect no_references() {
    Does does;
    does.resolves_references = false;
    return honest("no_references", does);
}

Dialect no_metadata() {
    Dialect dialect = thorough();
    dialect.name = "no_metadata";
    dialect.claims.metadata = Metadata::absent;
    return dialect;
}

Dialect unreadable_metadata() {
    Dialect dialect = thorough();
    dialect.name = "unreadable_metadata";
    dialect.claims.metadata = Metadata::truncated;
    return dialect;
}

Dialect blind_search() {
    Does does;
    does.identifier_search = IdentifierSearch::ignored;
    return honest("blind_search", does);
}

Dialect empty_search() {
    Does does;
    does.identifier_search = IdentifierSearch::finds_nothing;
    return honest("empty_search", does);
}

Dialect paging(std::size_t page_size) {
    Does does;
    does.page_size = page_size;
    does.gives_total = false;
    does.addresses = Addresses::absolute;
    return honest("paging(" + std::to_string(page_size) + ")", does);
}

Dialect asynchronous() {
    Does does;
    does.asynchronous = true;
    return honest("asynchronous", does);
}

Dialect odd_headers() {
    Does does;
    does.quotes_etag = false;
    does.addresses = Addresses::odd;
    does.version_in_location = false;
    does.create_by_put_status = 200;
    return honest("odd_headers", does);
}

Dialect decorating() {
    Does does;
    does.decorates = true;
    does.trims_decimals = true;
    does.opaque_versions = true;
    does.returns_representation = true;
    return honest("decorating", does);
}

std::vector<Dialect> named_dialects() {
    return {thorough(),
            no_conditional_create(),
            rejects_conditional_create(),
            no_transactions(),
            batch_only(),
            single_only(),
            liar_about_transactions(),
            modest_about_transactions(),
            liar_about_conditional_create(),
            liar_about_versions(),
            small_bundles(8),
            silent(),
            no_update_create(),
            no_provenance(),
            no_update_create_no_provenance(),
            not_atomic(),
            mixed_transactions(),
            no_references(),
            no_metadata(),
            unreadable_metadata(),
            blind_search(),
            empty_search(),
            paging(1),
            asynchronous(),
            odd_headers(),
            decorating()};
}

}  // namespace nightferry::sim
