#include "fhir/spec/tables.hpp"

#include <algorithm>

namespace nightferry::fhir::spec {

extern const Tables r4_tables;
extern const Tables r4b_tables;
extern const Tables r5_tables;

const Tables& tables_of(Release release) {
    switch (release) {
        case Release::r4:
            return r4_tables;
        case Release::r4b:
            return r4b_tables;
        case Release::r5:
            return r5_tables;
    }
    return r4_tables;
}

std::uint16_t Tables::find_resource(std::string_view type) const {
    const auto name = [this](std::uint16_t index) { return name_of(structures[index]); };
    const auto at = std::ranges::lower_bound(resources, type, {}, name);
    return at != resources.end() && name(*at) == type ? *at : none;
}

std::uint16_t Tables::find_structure(std::string_view name) const {
    const auto at =
        std::ranges::find(structures, name, [this](const Structure& one) { return name_of(one); });
    return at == structures.end() ? none : static_cast<std::uint16_t>(at - structures.begin());
}

bool Tables::holds(const ValueSet& value_set, std::string_view code,
                   std::optional<std::string_view> system) const {
    const auto own = codes.subspan(value_set.first_code, value_set.code_count);
    const auto word = [this](const Code& one) { return std::string_view(text + one.code); };
    for (auto at = std::ranges::lower_bound(own, code, {}, word); at != own.end() && word(*at) == code;
         ++at) {
        if (!system || std::string_view(text + at->system) == *system) return true;
    }
    return false;
}

}  // namespace nightferry::fhir::spec
