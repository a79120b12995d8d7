#include "fhir/check/validator.hpp"

#include <algorithm>

#include "fhir/check/findings.hpp"
#include "fhir/check/walker.hpp"

namespace nightferry::fhir::check {

bool Report::valid() const {
    return std::none_of(issues.begin(), issues.end(),
                        [](const Issue& issue) { return issue.rule.severity == Severity::error; });
}

Report validate(const json::Value& resource, spec::Release release, const Options& options) {
    Report report;
    Findings findings(report, options);
    const std::string_view type = resource.string_at("resourceType");
    const Place place{nullptr, &resource, type.empty() ? std::string_view("Resource") : type};
    Walker(release, findings).resource(resource, place);
    return report;
}

}  // namespace nightferry::fhir::check
