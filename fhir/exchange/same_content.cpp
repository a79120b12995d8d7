#include "fhir/exchange/same_content.hpp"

#include <algorithm>
#include <string_view>

#include "fhir/json/decimal.hpp"

namespace nightferry::fhir::exchange {

namespace {

using json::Kind;
using json::Value;

// Inside a bundle we refer to a resource that had no id yet; whatever stands there now, the server put it.
bool is_placeholder(const Value& value) {
    return value.string_at("reference").starts_with("urn:uuid:");
}

bool same_reference(std::string_view ours, std::string_view theirs) {
    return theirs == ours || (theirs.size() > ours.size() && theirs.ends_with(ours) &&
                              theirs[theirs.size() - ours.size() - 1] == '/');
}

bool same(const Value& ours, const Value& theirs);

bool same_members(const Value& ours, const Value& theirs, bool at_root) {
    for (const Value& member : ours) {
        if (member.name() == "display" || (at_root && (member.name() == "id" || member.name() == "meta")))
            continue;
        const Value* other = theirs.find(member.name());
        if (other == nullptr || !same(member, *other)) return false;
    }
    return std::all_of(theirs.begin(), theirs.end(), [&](const Value& member) {
        const bool servers_own =
            at_root && (member.name() == "id" || member.name() == "meta" || member.name() == "text");
        return servers_own || member.name() == "display" || ours.find(member.name()) != nullptr;
    });
}

bool same(const Value& ours, const Value& theirs) {
    if (ours.kind() != theirs.kind()) return false;
    switch (ours.kind()) {
        case Kind::null:
            return true;
        case Kind::boolean:
            return ours.boolean() == theirs.boolean();
        case Kind::number:
            // Servers drop trailing zeros.
            return json::compare_numbers(ours.text(), theirs.text()) == 0;
        case Kind::string:
            return ours.name() == "reference" ? same_reference(ours.text(), theirs.text())
                                              : ours.text() == theirs.text();
        case Kind::array:
            return ours.size() == theirs.size() && std::equal(ours.begin(), ours.end(), theirs.begin(), same);
        case Kind::object:
            return is_placeholder(ours) || same_members(ours, theirs, false);
    }
    return false;
}

}  // namespace

bool same_content(const Value& ours, const Value& theirs) {
    return ours.is(Kind::object) && theirs.is(Kind::object) && same_members(ours, theirs, true);
}

}  // namespace nightferry::fhir::exchange
