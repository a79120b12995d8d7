#include "daemon/intake/orders_api.hpp"

#include "daemon/care/order_proposal.hpp"
#include "daemon/care/orders_json.hpp"
#include "daemon/core/words.hpp"
#include "daemon/intake/api_json.hpp"

namespace nightferry::intake {

namespace json = fhir::json;

namespace {

// Whose orders are meant; null when that is not clear.
const entry::Person* person_of(const HttpRequest& request, const entry::Household& household) {
    const auto name = query_value(request.target, "person");
    if (name) return household.person(*name);
    return household.persons.size() == 1 ? &household.persons.front() : nullptr;
}

HttpAnswer no_such_person(const HttpRequest& request, const entry::Household& household) {
    const auto name = query_value(request.target, "person");
    if (!name) return error_answer(400, "person is missing; the settings have several");
    std::vector<std::string_view> known;
    for (const entry::Person& one : household.persons)
        known.push_back(one.key);
    return error_answer(404,
                        "no [[person]] has the key " + in_quotes(*name) + "." + did_you_mean(*name, known));
}

}  // namespace

Result<HttpAnswer> answer_orders(const HttpRequest& request, const entry::Household& household,
                                 upkeep::Upkeep& upkeep, const Clock& clock) {
    if (request.method != "GET") return error_answer(404, "orders can only be read here");
    const entry::Person* person = person_of(request, household);
    if (person == nullptr) return no_such_person(request, household);
    const Instant now = clock.now();
    const auto read = upkeep.orders(person->key, now);
    if (!read) return read.error();
    if (read->empty()) {
        return error_answer(409, "no clinic is asked for what it has ordered for " + in_quotes(person->key) +
                                     "; orders = \"yes\" under its [[clinic]] in the settings does that");
    }
    const care::Plan* plan = upkeep.plan_of(person->key);
    json::Document document;
    json::Value& root = document.root();
    root.add_string("person", person->key);
    root.add_string("zone", household.zone.name());
    if (query_value(request.target, "propose") == "yes") {
        root.add_string("proposal", care::proposed_regimen(person->key, *read, household, plan != nullptr));
        return json_answer(200, document);
    }
    root.add_boolean("has_regimen", plan != nullptr);
    json::Value& clinics = root.add_array("clinics");
    for (const care::OrdersRead& one : *read) {
        const care::OrdersCompared compared =
            care::compare_orders(one, plan == nullptr ? care::Regimen() : plan->regimen, household,
                                 plan == nullptr ? care::OrderLimits() : plan->order, now);
        care::put_orders(clinics.push_object(), one, compared);
    }
    return json_answer(200, document);
}

}  // namespace nightferry::intake
