#include <array>

#include "tests/sim/dialect.hpp"

namespace nightferry::sim {

namespace {

bool chance(Random& random, unsigned percent) {
    return random.below(100) < percent;
}

template <typename T, std::size_t N>
T one_of(Random& random, const std::array<T, N>& choices) {
    return choices[random.below(N)];
}

void mix_bundles(Does& does, Random& random) {
    does.transactions = chance(random, 80);
    does.batches = chance(random, 75);
    does.no_bundle_status = one_of(random, std::array{400, 404, 405, 422, 501});
    if (chance(random, 25)) does.atomicity = chance(random, 50) ? Atomicity::stops : Atomicity::carries_on;
    if (chance(random, 30)) does.transaction_failure_status = one_of(random, std::array{400, 422});
    does.names_failing_entry = chance(random, 70);
    does.resolves_references = chance(random, 92);
    does.resolves_in_batches = chance(random, 20);
    does.batches_survive = chance(random, 50);
    if (chance(random, 30)) does.max_entries = 2 + random.below(chance(random, 50) ? 10 : 99);
    if (chance(random, 15)) does.max_bytes = 4'000 + random.below(200'000);
    does.too_large_status = one_of(random, std::array{413, 400});
}

void mix_writing(Does& does, Random& random) {
    const bool does_bundles = does.transactions || does.batches;
    // A server that did nothing at all would not be a clinic's.
    does.creates = !does_bundles || chance(random, 90);
    does.updates = !does_bundles || chance(random, 90);
    does.not_allowed_status = one_of(random, std::array{405, 404, 403});
    if (chance(random, 30))
        does.conditional_create = chance(random, 65) ? Support::ignored : Support::rejected;
    does.condition_status = one_of(random, std::array{400, 412, 501});
    does.update_create = chance(random, 75);
    does.no_update_create_status = one_of(random, std::array{404, 405, 400});
    does.create_by_put_status = chance(random, 80) ? 201 : 200;
    does.checks_versions = chance(random, 80);
    does.requires_versions = does.checks_versions && chance(random, 5);
    does.if_none_match_star = chance(random, 50);
    does.keeps_provenance = chance(random, 85);
    does.unsupported_status = one_of(random, std::array{404, 422, 400});
    does.answers_410_for_deleted = chance(random, 60);
}

void mix_answers(Does& does, Random& random) {
    does.gives_location = chance(random, 85);
    does.gives_etag = chance(random, 75);
    does.quotes_etag = chance(random, 85);
    does.version_in_location = chance(random, 75);
    does.shows_versions = chance(random, 90);
    does.returns_representation = chance(random, 30);
    if (chance(random, 40)) does.addresses = chance(random, 75) ? Addresses::absolute : Addresses::odd;
    if (chance(random, 12)) {
        does.identifier_search =
            one_of(random, std::array{IdentifierSearch::ignored, IdentifierSearch::finds_nothing,
                                      IdentifierSearch::rejected});
    }
    if (chance(random, 25)) does.page_size = 1 + random.below(10);
    does.gives_total = chance(random, 75);
    does.asynchronous = chance(random, 3);
    does.reuses_ids = chance(random, 30);
    does.opaque_versions = chance(random, 30);
    does.decorates = chance(random, 40);
    does.trims_decimals = chance(random, 30);
}

void mix_claims(Claims& claims, Random& random) {
    if (chance(random, 15)) {
        claims.metadata = one_of(random, std::array{Metadata::absent, Metadata::broken, Metadata::truncated});
    }
    const auto lie = [&](bool& claim) {
        if (chance(random, 8)) claim = !claim;
    };
    lie(claims.transaction);
    lie(claims.batch);
    lie(claims.create);
    lie(claims.update);
    lie(claims.update_create);
    lie(claims.conditional_create);
    lie(claims.search_by_identifier);
    lie(claims.provenance);
    claims.says_conditions = chance(random, 90);
    if (chance(random, 15)) {
        claims.versioning =
            one_of(random, std::array<const char*, 4>{"", "no-version", "versioned", "versioned-update"});
    }
}

}  // namespace

Dialect random_dialect(Random& random) {
    Dialect dialect;
    dialect.name = "random";
    mix_bundles(dialect.does, random);
    mix_writing(dialect.does, random);
    mix_answers(dialect.does, random);
    dialect.claims = honest_claims(dialect.does);
    mix_claims(dialect.claims, random);
    return dialect;
}

}  // namespace nightferry::sim
