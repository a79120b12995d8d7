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
    // A word that is no type is content, and content is not told.
    const std::string_view type = resource.string_at("resourceType");
    const bool known = spec::tables_of(release).find_resource(type) != spec::none;
    const Place place{nullptr, &resource, known ? type : std::string_view("Resource")};
    Walker(release, findings).resource(resource, place);
    // What an object lacks is found after its members have been looked at.
    std::ranges::stable_sort(report.issues, {}, &Issue::offset);
    return report;
}

}  // namespace nightferry::fhir::check
