#include "fhir/exchange/same_content.hpp"

#include <algorithm>
#include <string>

namespace nightferry::fhir::exchange {

namespace {

using json::Kind;
using json::Value;

// The decimal's digits without sign of precision: "0.180" and "18E-2" both become {"18", -2}.
struct PlainDecimal {
    bool negative = false;
    std::string digits;
    long exponent = 0;
    bool operator==(const PlainDecimal&) const = default;
};

PlainDecimal plain(std::string_view lexeme) {
    PlainDecimal result;
    const auto mark = lexeme.find_first_of("eE");
    if (mark != std::string_view::npos) {
        const std::string exponent(lexeme.substr(mark + 1, 8));
        result.exponent = std::strtol(exponent.c_str(), nullptr, 10);
        lexeme = lexeme.substr(0, mark);
    }
    bool behind_point = false;
    for (const char c : lexeme) {
        if (c == '-') {
            result.negative = true;
        } else if (c == '.') {
            behind_point = true;
        } else {
            result.digits += c;
            if (behind_point) --result.exponent;
        }
    }
    result.digits.erase(0, std::min(result.digits.find_first_not_of('0'), result.digits.size()));
    while (result.digits.ends_with('0')) {
        result.digits.pop_back();
        ++result.exponent;
    }
    if (result.digits.empty()) return {};
    return result;
}

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
            return plain(ours.text()) == plain(theirs.text());
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
