#include "daemon/sync/manner.hpp"

#include <algorithm>
#include <array>
#include <functional>

namespace nightferry::sync {

namespace {

using Type = fhir::resource::CapabilityStatement::Type;

// What entries become; see mapping::Mapper::resource_type().
constexpr std::array<std::string_view, 2> entry_types{"MedicationAdministration", "Observation"};

// A type that the server does not list has no say: what it refuses is set aside, each by itself.
bool every_listed(const fhir::resource::CapabilityStatement& statement,
                  const std::function<bool(const Type&)>& can) {
    return std::all_of(entry_types.begin(), entry_types.end(), [&](std::string_view name) {
        const Type* type = statement.type(name);
        return type == nullptr || can(*type);
    });
}

bool searches_by_identifier(const Type& type) {
    return type.can("search-type") && (type.search_parameters.empty() || type.can_search_by("identifier"));
}

}  // namespace

Manner manner_for(const fhir::resource::CapabilityStatement& statement) {
    Manner manner;
    if (statement.types.empty()) return manner;
    manner.is_claimed = true;
    manner.carrier = statement.can("transaction") ? Carrier::transaction
                     : statement.can("batch")     ? Carrier::batch
                                                  : Carrier::single;
    // Nothing at all is hardly meant.
    const bool takes_single_ones =
        every_listed(statement, [](const Type& type) { return type.can("create"); });
    if (manner.carrier == Carrier::single && !takes_single_ones) manner.carrier = Carrier::transaction;
    const auto conditional = [](const Type& type) { return type.conditional_create.value_or(false); };
    const auto takes_ids = [](const Type& type) {
        return type.can("update") && type.update_create.value_or(false);
    };
    manner.creating = every_listed(statement, conditional) ? Creating::on_condition
                      : every_listed(statement, takes_ids) ? Creating::under_our_id
                                                           : Creating::after_a_look;
    manner.checks_versions = every_listed(statement, [](const Type& type) {
        return !type.versioning.empty() && type.versioning != "no-version";
    });
    manner.searches = every_listed(statement, searches_by_identifier);
    const Type* provenance = statement.type("Provenance");
    manner.takes_provenance = provenance != nullptr && takes_ids(*provenance);
    return manner;
}

Way usual_way(const Manner& manner) {
    const bool along = manner.carrier == Carrier::transaction && manner.takes_provenance;
    return {manner.carrier, along, manner.creating};
}

std::optional<Way> next_way(const std::vector<Way>& tried, const Manner& manner, bool is_settled,
                            bool singles_refused) {
    std::vector<Creating> creatings{manner.creating};
    const bool may_create_otherwise =
        !is_settled && manner.searches && manner.creating != Creating::after_a_look;
    if (may_create_otherwise) creatings.push_back(Creating::after_a_look);
    for (const Creating creating : creatings) {
        const bool is_usual = creating == manner.creating;
        std::vector<Way> ways;
        // What is not offered is not offered after a look, either.
        if (is_usual || !singles_refused) ways.push_back({Carrier::single, false, creating});
        if (singles_refused) {
            // Whatever is said to be offered.
            if (manner.takes_provenance) ways.push_back({Carrier::transaction, true, creating});
            ways.push_back({Carrier::transaction, false, creating});
            ways.push_back({Carrier::batch, false, creating});
        }
        for (const Way& way : ways) {
            if (std::find(tried.begin(), tried.end(), way) == tried.end()) return way;
        }
    }
    return std::nullopt;
}

Carrier below(Carrier carrier) {
    return carrier == Carrier::transaction ? Carrier::batch : Carrier::single;
}

}  // namespace nightferry::sync
