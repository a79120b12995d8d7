// Invariants of the data types, https://hl7.org/fhir/R4/datatypes.html and the like of R4B and R5.
#include <algorithm>

#include "fhir/check/access.hpp"
#include "fhir/check/date_times.hpp"
#include "fhir/check/invariant_lists.hpp"
#include "fhir/json/ascii.hpp"
#include "fhir/json/decimal.hpp"

namespace nightferry::fhir::check {

namespace {

using json::Value;
using spec::Release;

constexpr std::string_view ucum = "http://unitsofmeasure.org";

bool is_number(const Value* value) {
    return value != nullptr && value->is(json::Kind::number);
}

// At most, as far as the two can be compared. R5 gives numbers the benefit of what their precision leaves
// open.
bool in_order(const Value* low, const Value* high, Release release) {
    if (!is_number(low) || !is_number(high)) return true;
    if (json::compare_numbers(low->text(), high->text()) <= 0) return true;
    return release == Release::r5 &&
           json::compare_numbers(json::low_boundary(low->text()), json::high_boundary(high->text())) <= 0;
}

void quantity(const Value& object, const Place& place, const Scope& scope) {
    demand(!present(object, "code") || present(object, "system"), "qty-3", place, scope,
           "a coded unit needs the system that the code is from");
}

bool system_is_ucum_if_there(const Value& object) {
    return !present(object, "system") || object.string_at("system") == ucum;
}

bool code_if_value(const Value& object) {
    return present(object, "code") || !present(object, "value");
}

void age(const Value& object, const Place& place, const Scope& scope) {
    quantity(object, place, scope);
    const Value* value = object.find("value");
    const bool positive = !is_number(value) || json::compare_numbers(value->text(), "0") > 0;
    demand(code_if_value(object) && system_is_ucum_if_there(object) && positive, "age-1", place, scope,
           "an age is positive, and has a code of UCUM for its unit");
}

void count(const Value& object, const Place& place, const Scope& scope) {
    quantity(object, place, scope);
    const Value* value = object.find("value");
    const bool whole = !is_number(value) || value->text().find('.') == std::string_view::npos;
    const bool unity = !present(object, "code") || object.string_at("code") == "1";
    demand(code_if_value(object) && system_is_ucum_if_there(object) && unity && whole, "cnt-3", place, scope,
           "a count is whole, and its unit is the code 1 of UCUM");
}

void distance(const Value& object, const Place& place, const Scope& scope) {
    quantity(object, place, scope);
    demand(code_if_value(object) && system_is_ucum_if_there(object), "dis-1", place, scope,
           "a distance has a code of UCUM for its unit");
}

void duration(const Value& object, const Place& place, const Scope& scope) {
    quantity(object, place, scope);
    const bool of_ucum = object.string_at("system") == ucum;
    // R4B swapped the two sides of the rule.
    const bool holds = scope.release == Release::r4b
                           ? !present(object, "value") || (of_ucum && present(object, "code"))
                           : !present(object, "code") || (of_ucum && present(object, "value"));
    demand(holds, "drt-1", place, scope, "a duration has a value and a code of UCUM for its unit");
}

void range(const Value& object, const Place& place, const Scope& scope) {
    const Value* low = object.find("low");
    const Value* high = object.find("high");
    if (low == nullptr || high == nullptr || low->string_at("code") != high->string_at("code") ||
        low->string_at("unit") != high->string_at("unit"))
        return;
    demand(in_order(low->find("value"), high->find("value"), scope.release), "rng-2", place, scope,
           "the low end of a range is not above its high end");
}

void ratio(const Value& object, const Place& place, const Scope& scope) {
    const bool numerator = present(object, "numerator");
    const bool holds =
        numerator == present(object, "denominator") && (numerator || present(object, "extension"));
    demand(holds, "rat-1", place, scope,
           "a ratio has both numerator and denominator, or an extension instead");
}

void ratio_range(const Value& object, const Place& place, const Scope& scope) {
    const bool some = present(object, "lowNumerator") || present(object, "highNumerator");
    const bool holds = some == present(object, "denominator") && (some || present(object, "extension"));
    const bool r5 = scope.release == Release::r5;
    demand(holds, r5 ? "ratrng-1" : "inv-1", place, scope,
           "a range of ratios has a numerator and the denominator, or an extension instead");
    const Value* low = object.find("lowNumerator");
    const Value* high = object.find("highNumerator");
    if (low == nullptr || high == nullptr || low->string_at("code") != high->string_at("code")) return;
    demand(in_order(low->find("value"), high->find("value"), scope.release), r5 ? "ratrng-2" : "inv-2", place,
           scope, "the low numerator is not above the high one");
}

void period(const Value& object, const Place& place, const Scope& scope) {
    Stretch start;
    Stretch end;
    const DateTimeForm any;
    if (!read_date_time(object.string_at("start"), any, &start) ||
        !read_date_time(object.string_at("end"), any, &end))
        return;
    demand(!start.surely_after(end), "per-1", place, scope, "a period does not end before it starts");
}

void attachment(const Value& object, const Place& place, const Scope& scope) {
    demand(!present(object, "data") || present(object, "contentType"), "att-1", place, scope,
           "data need the contentType that says how to read them");
}

void contact_point(const Value& object, const Place& place, const Scope& scope) {
    demand(!present(object, "value") || present(object, "system"), "cpt-2", place, scope,
           "a contact's value needs the system that says what it is");
}

void coding(const Value& object, const Place& place, const Scope& scope) {
    if (scope.release != Release::r5) return;
    advise(present(object, "code") || !present(object, "display"), "cod-1", place, scope,
           "a coding with a display should have a code");
}

void identifier(const Value& object, const Place& place, const Scope& scope) {
    if (scope.release != Release::r5) return;
    advise(present(object, "value"), "ident-1", place, scope, "an identifier should have a value");
}

void reference(const Value& object, const Place& place, const Scope& scope) {
    const std::string_view text = object.string_at("reference");
    if (text.starts_with('#')) {
        const std::string_view id = text.substr(1);
        const bool leads = id.empty() ? scope.in_contained() : scope.contained->knows(id);
        demand(leads, "ref-1", place, scope, "a reference that starts with # leads to a contained resource");
    }
    if (scope.release != Release::r5) return;
    demand(present(object, "reference") || present(object, "identifier") || present(object, "display") ||
               present(object, "extension"),
           "ref-2", place, scope, "a reference has a reference, an identifier, a display or an extension");
}

void extension(const Value& object, const Place& place, const Scope& scope) {
    demand(present(object, "extension") != choice_present(object, "value"), "ext-1", place, scope,
           "an extension has either a value or extensions, and not both");
}

bool is_variable_name(std::string_view name) {
    return name.size() <= 64 && ascii::is_letter(name.front()) &&
           std::all_of(name.begin(), name.end(),
                       [](char c) { return ascii::is_letter_or_digit(c) || c == '_'; });
}

void expression(const Value& object, const Place& place, const Scope& scope) {
    demand(present(object, "expression") || present(object, "reference"), "exp-1", place, scope,
           "an expression is given or referred to");
    if (scope.release != Release::r5) return;
    const std::string_view name = object.string_at("name");
    demand(name.empty() || is_variable_name(name), "exp-2", place, scope,
           "the name of an expression is a letter with letters, digits and _ behind it, 64 at most");
}

void sampled_data(const Value& object, const Place& place, const Scope& scope) {
    if (scope.release != Release::r5) return;
    demand(present(object, "interval") != present(object, "offsets"), "sdd-1", place, scope,
           "sampled data have either an interval or offsets");
}

constexpr NamedInvariant list[] = {
    {"Quantity", quantity},
    {"MoneyQuantity", quantity},
    {"Age", age},
    {"Count", count},
    {"Distance", distance},
    {"Duration", duration},
    {"Range", range},
    {"Ratio", ratio},
    {"RatioRange", ratio_range},
    {"Period", period},
    {"Attachment", attachment},
    {"ContactPoint", contact_point},
    {"Coding", coding},
    {"Identifier", identifier},
    {"Reference", reference},
    {"Extension", extension},
    {"Expression", expression},
    {"SampledData", sampled_data},
};

}  // namespace

std::span<const NamedInvariant> datatype_invariants() {
    return list;
}

}  // namespace nightferry::fhir::check
