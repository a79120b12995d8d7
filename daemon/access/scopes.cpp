#include "daemon/access/scopes.hpp"

#include <algorithm>

#include "daemon/core/words.hpp"

namespace nightferry::access {

namespace {

constexpr std::string_view all_letters = "cruds";

// One granted scope. What is none of FHIR's, like "openid", has no letters.
struct Grant {
    std::string_view type;  // "*" for all.
    std::string_view letters;
};

Grant read_grant(std::string_view scope) {
    const auto slash = scope.find('/');
    if (slash == std::string_view::npos || scope.find('?') != std::string_view::npos) return {};
    const std::string_view context = scope.substr(0, slash);
    if (context != "system" && context != "user" && context != "patient") return {};
    const std::string_view rest = scope.substr(slash + 1);
    const auto dot = rest.find('.');
    if (dot == std::string_view::npos) return {};
    const std::string_view what = rest.substr(dot + 1);
    if (what == "read") return {rest.substr(0, dot), "rs"};
    if (what == "write") return {rest.substr(0, dot), "cud"};
    if (what == "*") return {rest.substr(0, dot), all_letters};
    return {rest.substr(0, dot), what};
}

std::vector<Grant> read_grants(std::string_view granted) {
    std::vector<Grant> grants;
    std::size_t at = 0;
    while (at < granted.size()) {
        const auto end = std::min(granted.find(' ', at), granted.size());
        grants.push_back(read_grant(granted.substr(at, end - at)));
        at = end + 1;
    }
    return grants;
}

std::string_view verb(char letter) {
    switch (letter) {
        case 'c':
            return "create";
        case 'r':
            return "read";
        case 'u':
            return "update";
        case 'd':
            return "delete";
        default:
            return "search for";
    }
}

}  // namespace

const std::vector<Need>& usual_needs() {
    static const std::vector<Need> needs{{"MedicationAdministration", "crus"},
                                         {"Observation", "crus"},
                                         {"Provenance", "cu"},
                                         {"Patient", "rs"}};
    return needs;
}

const std::vector<Need>& order_needs() {
    static const std::vector<Need> needs{{"MedicationRequest", "rs"}, {"Medication", "r"}};
    return needs;
}

std::string scopes_for(const std::vector<Need>& needs, ScopeForm form) {
    std::string scopes;
    const auto add = [&](std::string_view type, std::string_view what) {
        scopes += (scopes.empty() ? "" : " ") + std::string("system/") + std::string(type) + "." +
                  std::string(what);
    };
    for (const Need& need : needs) {
        if (form == ScopeForm::v2) {
            add(need.type, need.letters);
            continue;
        }
        if (need.letters.find_first_of("rs") != std::string_view::npos) add(need.type, "read");
        if (need.letters.find_first_of("cud") != std::string_view::npos) add(need.type, "write");
    }
    return scopes;
}

bool names_resources(std::string_view granted) {
    const auto grants = read_grants(granted);
    return std::any_of(grants.begin(), grants.end(), [](const Grant& one) { return !one.letters.empty(); });
}

std::vector<Missing> missing_from(std::string_view granted, const std::vector<Need>& needs) {
    const std::vector<Grant> grants = read_grants(granted);
    std::vector<Missing> all;
    for (const Need& need : needs) {
        Missing missing{std::string(need.type), {}};
        for (const char letter : need.letters) {
            const bool is_granted = std::any_of(grants.begin(), grants.end(), [&](const Grant& grant) {
                return (grant.type == "*" || grant.type == need.type) &&
                       grant.letters.find(letter) != std::string_view::npos;
            });
            if (!is_granted) missing.letters += letter;
        }
        if (!missing.letters.empty()) all.push_back(std::move(missing));
    }
    return all;
}

std::string in_words(const Missing& missing) {
    std::vector<std::string_view> verbs;
    for (const char letter : missing.letters)
        verbs.push_back(verb(letter));
    return all_of(verbs) + " " + missing.type;
}

}  // namespace nightferry::access
