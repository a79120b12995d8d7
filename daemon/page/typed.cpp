#include "daemon/page/typed.hpp"

#include <algorithm>
#include <array>
#include <boost/url/encoding_opts.hpp>
#include <boost/url/parse_query.hpp>

#include "daemon/core/words.hpp"
#include "fhir/json/document.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::page {

namespace json = fhir::json;

namespace {

constexpr std::size_t fields_max = 64;

// The fields of each form that are fields of the entry format under the same name.
struct FormFields {
    std::string_view kind;
    std::vector<std::string_view> names;
};

const std::vector<FormFields>& forms() {
    static const std::vector<FormFields> all{
        {"dose_given",
         {"medicine", "amount", "region", "side", "level", "x_cm", "y_cm", "vial", "checked_by", "separate"}},
        {"dose_not_given", {"medicine", "why", "instructed_by"}},
        {"finding",
         {"finding", "region", "side", "level", "x_cm", "y_cm", "present", "length_cm", "width_cm", "pain",
          "minutes", "lesion", "dose"}},
        {"vial_opened", {"medicine", "vial", "volume_ml", "lot", "expires"}},
    };
    return all;
}

void put(json::Value& into, const Typed& typed, std::string_view name) {
    if (typed.has(name)) into.add_string(name, typed.value(name));
}

// A place is chosen as one thing: "thigh left".
Typed with_place(const Typed& typed) {
    Typed whole = typed;
    const std::string place = typed.value("place");
    const auto blank = place.find(' ');
    if (blank == std::string::npos) return whole;
    whole.set("region", place.substr(0, blank));
    whole.set("side", place.substr(blank + 1));
    return whole;
}

// The ordered amount, or another one that was written in its place.
Typed with_amount(const Typed& typed) {
    Typed whole = typed;
    if (typed.value("amount_is") == "ordered") whole.set("amount", typed.value("ordered_amount"));
    if (typed.value("amount_is") == "other") whole.set("amount", typed.value("other_amount"));
    return whole;
}

std::string time_of(const Typed& typed, const std::string& now) {
    return typed.value("when") == "now" ? now : typed.value("time");
}

}  // namespace

std::optional<Typed> Typed::read(std::string_view body) {
    const bool is_ascii = std::ranges::all_of(body, [](char c) {
        return static_cast<unsigned char>(c) > 0x20 && static_cast<unsigned char>(c) < 0x7F;
    });
    if (!is_ascii) return std::nullopt;
    const auto read = boost::urls::parse_query(body);
    if (!read || read->size() > fields_max) return std::nullopt;
    boost::urls::encoding_opts plus_is_blank;
    plus_is_blank.space_as_plus = true;
    Typed typed;
    for (const auto& one : *read) {
        typed.fields_.push_back({boost::urls::pct_string_view(one.key).decode(plus_is_blank),
                                 boost::urls::pct_string_view(one.value).decode(plus_is_blank)});
    }
    return typed;
}

std::string Typed::value(std::string_view name) const {
    const auto found = std::ranges::find(fields_, name, &Field::name);
    return found == fields_.end() ? std::string() : std::string(trimmed(found->value));
}

void Typed::set(std::string name, std::string value) {
    std::erase_if(fields_, [&](const Field& one) { return one.name == name; });
    fields_.push_back({std::move(name), std::move(value)});
}

namespace {

void put_fields(json::Value& entry, const Typed& typed, std::string_view kind, const Hand& hand) {
    const Typed whole = with_amount(with_place(typed));
    entry.add_string("type", kind);
    put(entry, whole, "person");
    // What is missing the check of the entry misses.
    if (const std::string time = time_of(whole, hand.now); !time.empty()) entry.add_string("time", time);
    entry.add_string("by", whole.has("by") ? whole.value("by") : hand.carer);
    put(entry, whole, "note");
    put(entry, whole, "identifiers");
    const auto form = std::ranges::find(forms(), kind, &FormFields::kind);
    if (form == forms().end()) return;
    for (const std::string_view name : form->names)
        put(entry, whole, name);
}

void put_correction(json::Value& entry, const Typed& typed, std::string_view action, const Hand& hand) {
    entry.add_string("action", action);
    put(entry, typed, "id");
    entry.add_string("recorded", hand.now);
    entry.add_string("recorded_by", hand.carer);
    put(entry, typed, "reason");
}

}  // namespace

std::string entry_of(const Typed& typed, std::string_view kind, const Hand& hand) {
    json::Document document;
    put(document.root(), typed, "id");
    document.root().add_string("recorded_by", hand.carer);
    put_fields(document.root(), typed, kind, hand);
    return json::write(document.root());
}

std::string amendment_of(const Typed& typed, std::string_view kind, const Hand& hand) {
    json::Document document;
    put_correction(document.root(), typed, "amend", hand);
    put_fields(document.root(), typed, kind, hand);
    return json::write(document.root());
}

std::string retraction_of(const Typed& typed, const Hand& hand) {
    json::Document document;
    put_correction(document.root(), typed, "retract", hand);
    return json::write(document.root());
}

}  // namespace nightferry::page
