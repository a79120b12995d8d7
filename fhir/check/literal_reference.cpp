#include "fhir/check/literal_reference.hpp"

#include <algorithm>

namespace nightferry::fhir::check {

std::string_view type_in_reference(std::string_view reference) {
    const auto question = reference.find('?');
    const bool absolute = reference.substr(0, question).find("://") != std::string_view::npos;
    const bool conditional = question != std::string_view::npos;
    if (absolute && conditional) return {};
    reference = reference.substr(0, std::min(question, reference.find('#')));
    if (const auto version = reference.find("/_history/"); version != std::string_view::npos)
        reference = reference.substr(0, version);
    if (!conditional) {
        const auto slash = reference.rfind('/');
        if (slash == std::string_view::npos) return {};
        // Somewhere on the web "manual.html" is no id but a page.
        if (absolute && reference.substr(slash).find('.') != std::string_view::npos) return {};
        reference = reference.substr(0, slash);
    }
    const auto before = reference.rfind('/');
    return before == std::string_view::npos ? reference : reference.substr(before + 1);
}

}  // namespace nightferry::fhir::check
