#include "fhir/check/rules.hpp"

namespace nightferry::fhir::check {

std::string_view word_for(Severity severity) {
    return severity == Severity::error ? "error" : "warning";
}

}  // namespace nightferry::fhir::check
