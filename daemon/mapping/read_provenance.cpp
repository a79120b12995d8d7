#include "daemon/mapping/read_provenance.hpp"

#include "daemon/mapping/codes.hpp"
#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::mapping {

using entry::Action;
using fhir::resource::CodeableConcept;
using fhir::resource::Coding;

namespace {

// The code that the concept has in this system; empty for none.
std::string code_in(const CodeableConcept& concept_, std::string_view system) {
    for (const Coding& one : concept_.coding) {
        if (one.system == system) return one.code;
    }
    return {};
}

void read_agent(Incoming& incoming, Element& agent, Authorship& said) {
    const std::string role = code_in(agent.concept_at("type"), participant_types);
    const auto who = agent.reference_at("who");
    agent.refuse_leftovers();
    // The programs on the way are no carers.
    if (role == "assembler" || role == "transmitter" || role == "custodian") return;
    if (!role.empty() && role != "author" && role != "performer" && role != "enterer") {
        agent.refuse("type", "a revision has an author and perhaps an enterer; name others in reason");
        return;
    }
    auto& place = role == "enterer" ? said.enterer : said.author;
    if (!place.empty()) {
        agent.refuse("who", "a revision has one author and one enterer; name the others in reason",
                     {"recorded_by"});
        return;
    }
    const auto carer = carer_at(incoming, agent, "who", who, "recorded_by");
    if (!carer) agent.draft().unreadable.push_back("by");
    place = carer.value_or("");
}

}  // namespace

Authorship read_provenance(Incoming& incoming) {
    Element& provenance = incoming.element;
    Authorship said;
    said.path = provenance.path();
    provenance.pass_over({"resourceType", "id", "meta", "text", "language", "contained", "target"});
    provenance.choice("occurred");
    said.recorded = provenance.text("recorded");
    const std::string activity = code_in(provenance.concept_at("activity"), data_operations);
    if (activity == "UPDATE") said.action = Action::amend;
    if (activity == "NULLIFY") said.action = Action::retract;
    for (Element& agent : provenance.items("agent"))
        read_agent(incoming, agent, said);
    // R4 gives the reason as concepts, R5 as authorization, which has the concept one level deeper.
    for (const std::string_view name : {"reason", "authorization"}) {
        for (const Element& one : provenance.items(name)) {
            const CodeableConcept reason = name == "reason"
                                               ? fhir::resource::concept_in(one.value())
                                               : fhir::resource::concept_of(one.value(), "concept");
            const std::string& words =
                reason.text.empty() && !reason.coding.empty() ? reason.coding.front().display : reason.text;
            said.reason += (said.reason.empty() || words.empty() ? "" : "; ") + words;
        }
    }
    provenance.refuse_leftovers();
    return said;
}

}  // namespace nightferry::mapping
