#include "daemon/mapping/administration.hpp"

#include "daemon/entry/vocabulary.hpp"
#include "daemon/mapping/codes.hpp"
#include "fhir/resource/medication_administration.hpp"

namespace nightferry::mapping {

using fhir::resource::CodeableConcept;
using fhir::resource::MedicationAdministration;
using fhir::resource::Quantity;
using fhir::resource::Reference;

namespace {

Quantity quantity(const Decimal& value, entry::Unit unit) {
    return {value.to_string(), std::string(entry::word_for(unit)), std::string(ucum_code(unit))};
}

MedicationAdministration::Performer performer(std::string_view code, std::string_view display,
                                              const Reference& who) {
    return {{{{std::string(perform_functions), std::string(code), std::string(display)}}, {}}, who};
}

constexpr std::string_view from_vial = ", from vial ";
constexpr std::string_view of_its_own = "; the family made sure that it was an injection of its own";

MedicationAdministration::Dosage dosage(const entry::DoseGiven& dose, const entry::Medicine& medicine) {
    return {dosage_words(dose, medicine), site(dose.site), subcutaneous_route(), injection_method(),
            dose_quantity(dose.amount, medicine)};
}

std::string status_of(const entry::Version& version) {
    if (version.action() == entry::Action::retract) return "entered-in-error";
    return version.content.kind() == entry::Kind::dose_given ? "completed" : "not-done";
}

}  // namespace

// The dose in the unit the medicine is ordered in. A volume is multiplied by the strength exactly; an amount
// given in that unit stays as it was written. Never from milligrams to units or back.
Quantity dose_quantity(const entry::Amount& amount, const entry::Medicine& medicine) {
    if (amount.unit != entry::Unit::millilitre) return quantity(amount.value, amount.unit);
    const auto product = multiply(amount.value, medicine.strength);
    if (!product) return quantity(amount.value, amount.unit);
    return quantity(*product, medicine.strength_unit);
}

std::string dosage_words(const entry::DoseGiven& dose, const entry::Medicine& medicine) {
    const Quantity amount = dose_quantity(dose.amount, medicine);
    std::string words = dose.amount.value.to_string() + " " + std::string(entry::word_for(dose.amount.unit));
    if (dose.amount.unit == entry::Unit::millilitre) words += " (" + amount.value + " " + amount.unit + ")";
    words += " of " + product_words(medicine) + " under the skin, " + site_words(dose.site);
    if (dose.vial) words += std::string(from_vial) + *dose.vial;
    if (dose.separate) words += of_its_own;
    return words;
}

std::optional<entry::DoseGiven> dose_of_words(const std::string& words, const entry::Site& site,
                                              const entry::Medicine& medicine) {
    std::string_view rest = words;
    entry::DoseGiven dose;
    dose.medicine = medicine.key;
    dose.site = site;
    dose.separate = rest.ends_with(of_its_own);
    if (dose.separate) rest.remove_suffix(of_its_own.size());
    if (const auto at = rest.find(from_vial); at != std::string_view::npos)
        dose.vial = rest.substr(at + from_vial.size());
    const auto blank = rest.find(' ');
    const auto value = Decimal::parse(rest.substr(0, blank));
    if (!value || blank == std::string_view::npos) return std::nullopt;
    rest.remove_prefix(blank + 1);
    const auto unit = entry::meaning_of<entry::Unit>(rest.substr(0, rest.find(' ')));
    if (!unit) return std::nullopt;
    dose.amount = {*value, *unit};
    if (dosage_words(dose, medicine) != words) return std::nullopt;
    return dose;
}

Result<void> put_administration(fhir::json::Value& into, const entry::Version& version,
                                const entry::Household& household, const Frame& frame,
                                fhir::spec::Release release) {
    const auto* given = std::get_if<entry::DoseGiven>(&version.content.what);
    const auto* not_given = std::get_if<entry::DoseNotGiven>(&version.content.what);
    const entry::Medicine* medicine =
        household.medicine(given != nullptr ? given->medicine : not_given->medicine);
    if (medicine == nullptr)
        return Error{Errc::setup, "the settings no longer name the medicine of this entry"};
    MedicationAdministration administration;
    administration.id = frame.id;
    administration.security = frame.security;
    administration.identifier = frame.identifiers;
    administration.status = status_of(version);
    administration.category = {"community", "Community"};
    administration.medication = substance(medicine->substance, product_words(*medicine));
    administration.subject = frame.subject;
    administration.effective = to_text(version.content.time);
    administration.recorded = to_text(version.recorded());
    if (frame.order) administration.request = *frame.order;
    administration.note = version.content.note.value_or("");
    if (given != nullptr) {
        // Who is contained has to be referred to, and FHIR has no place for who did not give a dose.
        administration.contained = frame.contained;
        administration.performer.push_back(performer("performer", "Performer", frame.by));
        if (frame.checker)
            administration.performer.push_back(performer("verifier", "Verifier", *frame.checker));
        administration.dosage = dosage(*given, *medicine);
    } else {
        const entry::Carer* carer = household.carer(version.content.by);
        const bool by_the_patient = carer != nullptr && carer->same_as == version.content.person;
        administration.status_reason = why_not_given(not_given->why, by_the_patient);
        if (not_given->instructed_by)
            administration.status_reason.text += std::string(said_by) + *not_given->instructed_by;
    }
    fhir::resource::put_resource(into, administration, release);
    return {};
}

}  // namespace nightferry::mapping
