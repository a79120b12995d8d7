// The part of read_frame.hpp on what several kinds of entry name by codes: medicines and places.
#include <algorithm>

#include "daemon/core/words.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "daemon/mapping/codes.hpp"
#include "daemon/mapping/read_frame.hpp"

namespace nightferry::mapping {

using fhir::resource::CodeableConcept;

Product medicine_at(Incoming& incoming, std::string_view name, const CodeableConcept& concept_) {
    const auto& medicines = incoming.context.household.medicines;
    const auto substance = substance_of(concept_);
    std::vector<const entry::Medicine*> candidates;
    std::vector<std::string> choices;
    const bool said = std::any_of(medicines.begin(), medicines.end(), [&](const entry::Medicine& one) {
        return product_words(one) == concept_.text;
    });
    for (const entry::Medicine& one : medicines) {
        choices.push_back(product_words(one));
        const bool has_substance = std::find(substance.values.begin(), substance.values.end(),
                                             one.substance) != substance.values.end();
        if ((substance.known && !has_substance) || (said && product_words(one) != concept_.text)) continue;
        if (substance.known || said) candidates.push_back(&one);
    }
    if (candidates.size() == 1) {
        keep_words(incoming, "medicine", concept_, product_words(*candidates.front()));
        return {candidates.front(), said};
    }
    const std::vector<std::string_view> views(choices.begin(), choices.end());
    incoming.element.refuse(
        name,
        candidates.empty()
            ? "this is no medicine in this hub's settings; give the ATC or SNOMED CT code of its "
              "substance, or as text " +
                  any_of(views)
            : "the settings have several medicines of this substance; say as text which: " + any_of(views),
        {"medicine"});
    return {};
}

std::optional<entry::Site> site_at(Incoming& incoming, Element& at, std::string_view name,
                                   const CodeableConcept& concept_) {
    auto site = site_of_words(concept_.text);
    const auto coded = site_of(concept_);
    if (!site && coded.is_one()) {
        site = coded.values.front();
        keep_words(incoming, "site", concept_, site_words(*site));
    } else if (!site || !can_be_at(concept_, *site)) {
        at.refuse(
            name,
            site ? "its text and its codes name different places; make them agree"
                 : "this names no place that an entry knows; give a code of v3-ActSite or SNOMED CT for one "
                   "side of the abdomen, a thigh or an upper arm, or as text words like 'left buttock'",
            {"region", "side"});
        return std::nullopt;
    }
    at.put("region", std::string(entry::word_for(site->region)), name);
    at.put("side", std::string(entry::word_for(site->side)), name);
    if (site->level) at.put("level", std::string(entry::word_for(*site->level)), name);
    if (site->x_cm) at.put("x_cm", site->x_cm->to_string(), name);
    if (site->y_cm) at.put("y_cm", site->y_cm->to_string(), name);
    return site;
}

}  // namespace nightferry::mapping
