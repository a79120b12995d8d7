#include "daemon/mapping/read_administration.hpp"

#include <algorithm>

#include "daemon/core/words.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "daemon/mapping/administration.hpp"
#include "daemon/mapping/codes.hpp"
#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::mapping {

namespace json = fhir::json;
using entry::Action;
using fhir::resource::CodeableConcept;
using fhir::resource::Coding;
using fhir::resource::Reference;

namespace {

// Everything a hub records happened at home.
void read_category(Element& resource) {
    for (Element& category : resource.items("category")) {
        for (const Coding& one : fhir::resource::concept_in(category.value()).coding) {
            if (one.code == "community") continue;
            resource.refuse(
                "category",
                "what this hub records was given at home, category community; record elsewhere what "
                "was given elsewhere");
            return;
        }
    }
}

// R4 and R4B choose between a concept and a reference, R5 has both in one object.
CodeableConcept medication(Incoming& incoming) {
    Element& resource = incoming.element;
    CodeableConcept found;
    Reference reference;
    if (const auto choice = resource.choice("medication")) {
        if (choice->type == "CodeableConcept") found = fhir::resource::concept_in(*choice->value);
        if (choice->type == "Reference") reference = fhir::resource::reference_in(*choice->value);
    } else if (const json::Value* both = resource.take("medication")) {
        found = fhir::resource::concept_of(*both, "concept");
        reference = fhir::resource::reference_of(*both, "reference");
    }
    const auto target = incoming.context.surroundings.target(reference.reference, incoming.source);
    if (found.coding.empty() && found.text.empty() && target)
        found = fhir::resource::concept_of(*target->resource, "code");
    return found;
}

struct Performers {
    std::optional<std::string> performer;
    std::optional<std::string> verifier;
};

Performers read_performers(Incoming& incoming) {
    Performers found;
    for (Element& one : incoming.element.items("performer")) {
        const CodeableConcept function = one.concept_at("function");
        std::string_view role = "performer";
        for (const Coding& coding : function.coding) {
            if (coding.system == perform_functions) role = coding.code;
        }
        const json::Value* actor = one.take("actor");
        const Reference reference =
            actor->find("reference") != nullptr && actor->find("reference")->is(json::Kind::object)
                ? fhir::resource::reference_of(*actor, "reference")
                : fhir::resource::reference_in(*actor);
        one.refuse_leftovers();
        const bool is_performer = role == "performer";
        auto& place = is_performer ? found.performer : found.verifier;
        if (!is_performer && role != "verifier") {
            one.refuse("function",
                       "an entry knows who gave it (performer) and who checked the syringe (verifier)");
        } else if (place) {
            one.refuse("actor", "an entry has one of these; name the others in note");
        } else {
            place = carer_at(incoming, one, "actor", reference, is_performer ? "by" : "checked_by");
        }
    }
    return found;
}

std::optional<entry::Amount> read_dose(Element& dosage) {
    const auto fields = {std::string_view("amount"), std::string_view("unit")};
    for (Element& dose : dosage.items("dose")) {
        const auto unit = dose.text("system") == fhir::resource::ucum ? unit_of_ucum(dose.text("code"))
                                                                      : std::optional<entry::Unit>();
        const auto value = Decimal::parse(dose.text("value"));
        dose.pass_over({"unit", "code"});
        dose.refuse_leftovers();
        if (!unit) {
            dose.refuse("code",
                        "an entry counts in UCUM mL, mg or [IU], system http://unitsofmeasure.org; write the "
                        "amount in one of them",
                        fields);
        } else if (!value) {
            dose.refuse(
                "value",
                "write it without an exponent, with at most nine digits before the point and six behind it",
                fields);
        } else {
            return entry::Amount{*value, *unit};
        }
        return std::nullopt;
    }
    dosage.refuse("dose", "is missing; an entry says how much was given", fields);
    return std::nullopt;
}

// The amount in the unit it was written in, where our own words tell it; and what only they tell.
void put_amount(Incoming& incoming, Element& dosage, const Product& product, entry::Amount amount,
                const std::optional<entry::Site>& site) {
    const std::string words = dosage.text("text");
    const auto ours =
        product.medicine != nullptr && site ? dose_of_words(words, *site, *product.medicine) : std::nullopt;
    const entry::Amount coded = amount;
    if (ours) {
        const auto worded = dose_quantity(ours->amount, *product.medicine);
        const auto value = Decimal::parse(worded.value);
        if (!value || *value != coded.value || worded.code != ucum_code(coded.unit)) {
            dosage.refuse("text", "says another amount than dose; make them agree", {"amount", "unit"});
            return;
        }
        amount = ours->amount;
        if (ours->vial) dosage.put("vial", *ours->vial, "text");
        if (ours->separate) dosage.put("separate", "yes", "text");
    } else {
        keep_words(incoming, "dosage", {{}, words}, {});
        if (amount.unit == entry::Unit::millilitre && product.medicine != nullptr &&
            !product.strength_is_said) {
            dosage.refuse(
                "dose",
                "a volume tells how much was given only with the strength; give the dose in mg or [IU], "
                "or the medication with the text '" +
                    product_words(*product.medicine) + "'",
                {"amount", "unit"});
            return;
        }
    }
    dosage.put("amount", amount.value.to_string(), "dose");
    dosage.put("unit", std::string(entry::word_for(amount.unit)), "dose");
}

void read_dosage(Incoming& incoming, const Product& product) {
    bool found = false;
    for (Element& dosage : incoming.element.items("dosage")) {
        found = true;
        const CodeableConcept route = dosage.concept_at("route");
        if (!shares_coding(route, subcutaneous_route()))
            dosage.refuse(
                "route", "an entry is an injection under the skin; give SNOMED CT 34206005 where it was one");
        keep_words(incoming, "route", route, subcutaneous_route().text);
        const CodeableConcept method = dosage.concept_at("method");
        if (!method.coding.empty() && !shares_coding(method, injection_method()))
            dosage.refuse("method", "an entry is an injection, SNOMED CT 422145002; leave others out");
        keep_words(incoming, "method", method, injection_method().text);
        const auto site = site_at(incoming, dosage, "site", dosage.concept_at("site"));
        const auto amount = read_dose(dosage);
        if (amount) put_amount(incoming, dosage, product, *amount, site);
        dosage.take("text");
        dosage.refuse_leftovers();
    }
    if (!found)
        incoming.element.refuse("dosage", "is missing; an entry says how much was given and where",
                                {"amount", "unit", "region", "side"});
}

void read_why(Incoming& incoming) {
    Element& resource = incoming.element;
    const auto reasons = resource.items("statusReason");
    if (reasons.size() != 1) {
        return resource.refuse("statusReason", "an entry has one reason why a dose was not given; give one",
                               {"why"});
    }
    const CodeableConcept reason = fhir::resource::concept_in(reasons.front().value());
    const auto meaning = why_of(reason);
    const bool other = std::find(meaning.values.begin(), meaning.values.end(), entry::WhyNotGiven::other) !=
                       meaning.values.end();
    if (!meaning.is_one() && (reason.text.empty() || (meaning.known ? !other : !reason.coding.empty()))) {
        const auto words = entry::choices<entry::WhyNotGiven>();
        return resource.refuse("statusReason",
                               "these codes do not tell which reason of an entry this is; give a code of " +
                                   std::string(local_codes) + ": " + any_of(words),
                               {"why"});
    }
    const entry::WhyNotGiven why = meaning.is_one() ? meaning.values.front() : entry::WhyNotGiven::other;
    resource.put("why", std::string(entry::word_for(why)), "statusReason");
    const std::string ours = why_not_given(why, false).text;
    const std::string before_name = ours + std::string(said_by);
    if (why == entry::WhyNotGiven::clinic_hold && reason.text.starts_with(before_name)) {
        resource.put("instructed_by", reason.text.substr(before_name.size()), "statusReason");
    } else {
        keep_words(incoming, "reason", reason, ours);
    }
}

}  // namespace

void read_administration(Incoming& incoming) {
    Element& resource = incoming.element;
    const std::string status = resource.text("status");
    const bool given = status == "completed";
    if (!given && status != "not-done" && status != "entered-in-error") {
        return resource.refuse(
            "status",
            "an entry is completed, not-done or entered-in-error; hand it in when it is one of "
            "these");
    }
    const bool amends = incoming.authorship != nullptr && incoming.authorship->action == Action::amend;
    const Action action = status == "entered-in-error" ? Action::retract
                          : amends                     ? Action::amend
                                                       : Action::record;
    read_frame(incoming, action);
    const Performers performers = read_performers(incoming);
    read_authors(incoming, action, "recorded", performers.performer);
    if (action == Action::retract) return;
    resource.put("type", given ? "dose_given" : "dose_not_given", "status");
    read_category(resource);
    read_time(incoming, resource.value().find("medication") != nullptr ? "occurence" : "effective");
    const Product product = medicine_at(incoming, "medication", medication(incoming));
    if (product.medicine != nullptr) resource.put("medicine", product.medicine->key, "medication");
    if (performers.verifier) resource.put("checked_by", *performers.verifier, "performer");
    if (given) {
        read_dosage(incoming, product);
    } else {
        read_why(incoming);
    }
    read_note(incoming);
    resource.refuse_leftovers();
}

}  // namespace nightferry::mapping
