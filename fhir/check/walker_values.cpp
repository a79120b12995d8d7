// What a member's value must be: how often, of which JSON kind and form, with which codes, leading where.
#include <algorithm>
#include <string>

#include "fhir/check/access.hpp"
#include "fhir/check/literal_reference.hpp"
#include "fhir/check/narrative.hpp"
#include "fhir/check/primitives.hpp"
#include "fhir/check/walker.hpp"

namespace nightferry::fhir::check {

using json::Value;
using spec::Form;

namespace {

constexpr Rule narrative_markup{"txt-1", "invariant"};
constexpr Rule narrative_content{"txt-2", "invariant"};
constexpr Rule simple_quantity{"sqty-1", "invariant"};

json::Kind kind_of(Form form) {
    switch (form) {
        case Form::object:
        case Form::any_resource:
            return json::Kind::object;
        case Form::boolean:
            return json::Kind::boolean;
        case Form::decimal:
        case Form::integer:
        case Form::positive_int:
        case Form::unsigned_int:
            return json::Kind::number;
        default:
            return json::Kind::string;
    }
}

// The list of extensions beside a list of primitives, looked for at the first null and then walked along.
class ParallelList {
 public:
    ParallelList(const Value& holder, const Value& list, bool possible)
        : holder_(holder), list_(list), possible_(possible) {}

    // Whether a null at that index stands for an item of the other list. Indexes rise from call to call.
    bool pads(std::uint32_t index) {
        if (!possible_) return false;
        if (beside_ == nullptr) {
            beside_ = holder_.find('_' + std::string(list_.name()));
            possible_ = beside_ != nullptr && beside_->is(json::Kind::array);
            if (!possible_) return false;
            at_ = beside_->begin();
        }
        // Lists of different length are reported once for the whole list.
        if (beside_->size() != list_.size()) return true;
        for (; reached_ < index; ++reached_)
            ++at_;
        return !at_->is(json::Kind::null);
    }

 private:
    const Value& holder_;
    const Value& list_;
    bool possible_;
    const Value* beside_ = nullptr;
    Value::Iterator at_;
    std::uint32_t reached_ = 0;
};

// Characters that the specification says should not be there, or nothing else than white space.
bool is_odd(std::string_view text) {
    bool blank = true;
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        if (byte < 0x20 && c != '\t' && c != '\n' && c != '\r') return true;
        blank = blank && byte <= 0x20;
    }
    return blank;
}

// Where there is no code an extension may say why.
bool says_why_not(const Value& value) {
    return value.find("code") == nullptr && value.find("coding") == nullptr &&
           (value.find("extension") != nullptr || value.find("_code") != nullptr);
}

}  // namespace

bool Walker::is_primitive(const spec::TypeUse& use) const {
    return tables_.structures[use.structure].kind == spec::Kind::primitive;
}

void Walker::occurrences(const Value& value, const Match& match, const Place& place) {
    const bool is_array = value.is(json::Kind::array);
    if (is_array && value.size() == 0) {
        findings_.add(rule::empty, place, "a list is never empty; leave it out");
    } else if (is_array && !match.element->list()) {
        findings_.add(rule::list, place, "this element occurs at most once and is no list");
    } else if (is_array) {
        list(value, match, place);
    } else if (value.is(json::Kind::null)) {
        findings_.add(rule::null, place, "null is no value; leave the element out");
    } else if (match.element->list()) {
        findings_.add(rule::list, place, "this element may repeat and is a list even with one value");
    } else {
        one(value, match, place);
    }
}

void Walker::list(const Value& value, const Match& match, const Place& place) {
    ParallelList beside(*place.up->value, value, is_primitive(*match.use));
    std::uint32_t index = 0;
    for (const Value& item : value) {
        const Place at{place.up, &item, place.element, place.member, index};
        if (!item.is(json::Kind::null)) {
            one(item, match, at);
        } else if (!beside.pads(index)) {
            findings_.add(rule::null, at, "null may only stand where the list beside has an item");
        }
        if (findings_.full()) return;
        ++index;
    }
}

void Walker::extensions_beside(const Value& value, const Match& match, const Place& place) {
    const Value* plain = place.up->value->find(value.name().substr(1));
    if (value.is(json::Kind::array) != match.element->list()) {
        findings_.add(rule::list, place,
                      "the extensions beside an element form a list when the element does");
        return;
    }
    if (!match.element->list()) {
        extensions(value, place, plain != nullptr);
        return;
    }
    if (value.size() == 0) findings_.add(rule::empty, place, "a list is never empty; leave it out");
    const bool parallel = plain != nullptr && plain->is(json::Kind::array);
    if (parallel && plain->size() != value.size()) {
        findings_.add(rule::padding, place, "a list and the list of its extensions are of one length");
        return;
    }
    Value::Iterator other = parallel ? plain->begin() : Value::Iterator();
    std::uint32_t index = 0;
    for (const Value& item : value) {
        const bool padding = item.is(json::Kind::null) && parallel;
        const bool has_value = parallel && !other->is(json::Kind::null);
        if (!padding) extensions(item, {place.up, &item, place.element, place.member, index}, has_value);
        if (findings_.full()) return;
        if (parallel) ++other;
        ++index;
    }
}

void Walker::extensions(const Value& value, const Place& place, bool has_value) {
    if (value.is(json::Kind::object)) {
        object(value, rulebook_.element, place, has_value);
        return;
    }
    findings_.add(value.is(json::Kind::null) ? rule::null : rule::kind, place,
                  "an object with id or extension is expected beside a primitive value");
}

void Walker::one(const Value& value, const Match& match, const Place& place) {
    const spec::TypeUse& use = *match.use;
    const Form form = tables_.structures[use.structure].form;
    if (form == Form::any_resource) {
        if (place.element == "contained") {
            contained(value, place);
        } else {
            resource(value, place);
        }
        return;
    }
    if (value.kind() != kind_of(form)) {
        findings_.add(rule::kind, place,
                      std::string(words_for(kind_of(form))) + " is expected, and this is " +
                          std::string(words_for(value.kind())));
        return;
    }
    if (form != Form::object) {
        primitive(value, form, place);
    } else {
        object(value, use.structure, place);
        if (use.simple_quantity != 0 && present(value, "comparator"))
            findings_.add(simple_quantity, place, "a simple quantity has no comparator");
        if (use.first_target != spec::none) target(value, use, place);
    }
    if (match.element->value_set != spec::none) binding(value, *match.element, place);
}

void Walker::primitive(const Value& value, Form form, const Place& place) {
    if (form == Form::boolean) return;
    if (value.text().empty()) {
        findings_.add(rule::empty, place, "a text is never empty; leave it out");
    } else if (form == Form::xhtml) {
        const NarrativeFault fault = fault_in_narrative(value.text());
        if (fault == NarrativeFault::none) return;
        const bool nothing = fault == NarrativeFault::nothing_to_read;
        findings_.add(nothing ? narrative_content : narrative_markup, place, std::string(words_for(fault)));
    } else if (const auto expected = wrong_form(form, value.text(), scope_.release); !expected.empty()) {
        findings_.add(rule::value, place, std::string(expected));
    } else if (findings_.wants_warnings() && (form == Form::string || form == Form::markdown) &&
               is_odd(value.text())) {
        findings_.add(rule::odd_text, place,
                      "a text should have more than white space and no control characters");
    }
}

bool Walker::value_set_holds(const spec::ValueSet& value_set, const Value& value) const {
    if (value.is(json::Kind::string)) return tables_.holds(value_set, value.text());
    // A Coding or a Quantity; of a CodeableConcept one coding has to be from the value set.
    if (const Value* codings = value.find("coding")) {
        return std::any_of(codings->begin(), codings->end(),
                           [&](const Value& coding) { return value_set_holds(value_set, coding); });
    }
    return says_why_not(value) ||
           tables_.holds(value_set, value.string_at("code"), value.string_at("system"));
}

void Walker::binding(const Value& value, const spec::Element& element, const Place& place) {
    const spec::ValueSet& value_set = tables_.value_sets[element.value_set];
    // Empty ones have been reported.
    if (value.is(json::Kind::string) ? value.text().empty() : value.size() == 0) return;
    if (value_set_holds(value_set, value)) return;
    findings_.add(rule::binding, place,
                  "the code must be one of the value set " + std::string(tables_.url_of(value_set)));
}

std::string_view Walker::type_behind(const Value& reference) {
    const std::string_view text = reference.string_at("reference");
    if (text.empty()) {
        // A type alone says nothing (ref-2); one beside an identifier or a display says what is meant.
        const bool means_something = present(reference, "identifier") || present(reference, "display");
        return means_something ? reference.string_at("type") : std::string_view();
    }
    if (text.starts_with("urn:")) return bundle_.type_of(text);
    if (!text.starts_with('#')) return type_in_reference(text);
    return text.size() == 1 ? scope_.root->string_at("resourceType")
                            : scope_.contained->type_of(text.substr(1));
}

void Walker::target(const Value& value, const spec::TypeUse& use, const Place& place) {
    const Value* inner = value.find("reference");
    if (inner != nullptr && inner->is(json::Kind::object)) {
        // A CodeableReference.
        target(*inner, use, {&place, inner, "reference", "reference"});
        return;
    }
    const std::string_view type = type_behind(value);
    if (type.empty()) return;
    const auto targets = tables_.targets_of(use);
    const bool allowed = std::any_of(targets.begin(), targets.end(), [&](std::uint16_t index) {
        return tables_.name_of(tables_.structures[index]) == type;
    });
    // A path that names no type of this release need not be of a FHIR server.
    if (allowed || tables_.find_resource(type) == spec::none) return;
    findings_.add(rule::target, place, "a reference to " + std::string(type) + " is not allowed here");
}

}  // namespace nightferry::fhir::check
