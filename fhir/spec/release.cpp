#include "fhir/spec/release.hpp"

namespace nightferry::fhir::spec {

std::string_view name_of(Release release) {
    switch (release) {
        case Release::r4:
            return "R4";
        case Release::r4b:
            return "R4B";
        case Release::r5:
            return "R5";
    }
    return {};
}

std::string_view version_of(Release release) {
    switch (release) {
        case Release::r4:
            return "4.0.1";
        case Release::r4b:
            return "4.3.0";
        case Release::r5:
            return "5.0.0";
    }
    return {};
}

// https://hl7.org/fhir/R5/versioning.html: major.minor is what tells releases apart; 4.1 was the first of
// R4B, 4.2 to 4.6 other than 4.3 were previews of R5.
std::optional<Release> release_of_version(std::string_view version) {
    const auto begins_with = [version](std::string_view start) {
        return version.starts_with(start) && (version.size() == start.size() ||
                                              version[start.size()] == '.' || version[start.size()] == '-');
    };
    if (begins_with("4.0")) return Release::r4;
    if (begins_with("4.1") || begins_with("4.3")) return Release::r4b;
    if (begins_with("5.0")) return Release::r5;
    return std::nullopt;
}

}  // namespace nightferry::fhir::spec
