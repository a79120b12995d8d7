// What the codings of a CodeableConcept mean by one of our tables of codes.
#pragma once

#include <algorithm>
#include <vector>

#include "fhir/resource/datatypes.hpp"

namespace nightferry::mapping {

// The codings of one concept say the same in different code systems
// (https://hl7.org/fhir/R4/datatypes.html#CodeableConcept), so codes that no table has are passed over where
// another is known.
template <class T>
struct Meaning {
    bool known = false;     // Some coding is in the table.
    std::vector<T> values;  // What all known codings leave possible; none when they contradict each other.

    bool is_one() const { return values.size() == 1; }
};

// `matches` says whether a coding stands for a row, `value` what the row means.
template <class Rows, class Matches, class Value>
auto meaning_in(const Rows& rows, const fhir::resource::CodeableConcept& concept_, Matches matches,
                Value value) {
    using T = decltype(value(*rows.begin()));
    Meaning<T> meaning;
    for (const fhir::resource::Coding& coding : concept_.coding) {
        std::vector<T> possible;
        for (const auto& row : rows) {
            if (matches(row, coding)) possible.push_back(value(row));
        }
        if (possible.empty()) continue;
        if (meaning.known) {
            std::erase_if(possible, [&](const T& one) {
                return std::find(meaning.values.begin(), meaning.values.end(), one) == meaning.values.end();
            });
        }
        meaning.known = true;
        meaning.values = std::move(possible);
    }
    return meaning;
}

}  // namespace nightferry::mapping
