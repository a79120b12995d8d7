#include "daemon/mapping/release_of.hpp"

#include <charconv>
#include <tuple>

#include "fhir/check/validator.hpp"

namespace nightferry::mapping {

namespace json = fhir::json;
using fhir::spec::Release;

namespace {

constexpr std::size_t issues_max = 5'000;

// "Bundle.entry[3].resource.code" is of entry 3.
std::optional<std::size_t> entry_in(std::string_view expression) {
    constexpr std::string_view start = "Bundle.entry[";
    if (!expression.starts_with(start)) return std::nullopt;
    expression.remove_prefix(start.size());
    std::size_t index = 0;
    const auto read = std::from_chars(expression.data(), expression.data() + expression.size(), index);
    return read.ec == std::errc() ? std::optional(index) : std::nullopt;
}

Validity judge(const json::Value& root, Release release) {
    const auto report = fhir::check::validate(root, release, {issues_max, false});
    Validity validity{release, {}, {}};
    for (const fhir::check::Issue& issue : report.issues) {
        entry::Problem problem{issue.expression, issue.text + " (" + std::string(issue.rule.key) + ", FHIR " +
                                                     std::string(fhir::spec::name_of(release)) + ")"};
        const auto index = entry_in(issue.expression);
        (index ? validity.of_entries[*index] : validity.of_whole).push_back(std::move(problem));
    }
    if (report.cut_short) {
        validity.of_whole.push_back(
            {"Bundle", "there are more mistakes than can be listed; correct these first"});
    }
    return validity;
}

std::tuple<std::size_t, std::size_t, std::size_t> badness(const Validity& validity) {
    std::size_t all = validity.of_whole.size();
    for (const auto& [index, problems] : validity.of_entries)
        all += problems.size();
    return {validity.of_whole.size(), validity.of_entries.size(), all};
}

// https://hl7.org/fhir/R4/references.html#canonical: the version of a canonical stands behind a bar. Those of
// the specification itself have the version of the release.
std::optional<Release> release_in_profiles(const json::Value& resource) {
    const json::Value* meta = resource.find("meta");
    if (meta == nullptr) return std::nullopt;
    for (const json::Value& profile : meta->items_at("profile")) {
        const std::string_view text = profile.text();
        const auto bar = text.find('|');
        if (bar == std::string_view::npos || !text.starts_with("http://hl7.org/fhir/StructureDefinition/"))
            continue;
        if (const auto release = fhir::spec::release_of_version(text.substr(bar + 1))) return release;
    }
    return std::nullopt;
}

std::optional<Release> release_in(const json::Value& root) {
    if (const auto found = release_in_profiles(root)) return found;
    for (const json::Value& entry : root.items_at("entry")) {
        const json::Value* resource = entry.find("resource");
        const auto found = resource == nullptr ? std::nullopt : release_in_profiles(*resource);
        if (found) return found;
    }
    return std::nullopt;
}

}  // namespace

Validity validity_of(const json::Value& root, std::optional<Release> stated) {
    if (!stated) stated = release_in(root);
    if (stated) return judge(root, *stated);
    std::optional<Validity> best;
    for (const Release release : fhir::spec::releases) {
        Validity one = judge(root, release);
        if (!best || badness(one) < badness(*best)) best = std::move(one);
        if (badness(*best) == std::tuple(std::size_t{0}, std::size_t{0}, std::size_t{0})) break;
    }
    return std::move(*best);
}

}  // namespace nightferry::mapping
