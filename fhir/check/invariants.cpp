#include "fhir/check/invariants.hpp"

namespace nightferry::fhir::check {

const json::Value* Scope::resolve(const json::Value& reference) const {
    const std::string_view text = reference.string_at("reference");
    if (text.starts_with('#')) return text.size() == 1 ? root : contained->find(text.substr(1));
    return text.empty() ? nullptr : entries->find(text);
}

}  // namespace nightferry::fhir::check
