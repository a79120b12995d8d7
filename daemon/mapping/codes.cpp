#include "daemon/mapping/codes.hpp"

#include <algorithm>
#include <array>

#include "daemon/entry/vocabulary.hpp"

namespace nightferry::mapping {

using fhir::resource::CodeableConcept;
using fhir::resource::Coding;
using fhir::resource::snomed;

namespace {

constexpr std::string_view atc = "http://www.whocc.no/atc";
constexpr std::string_view act_site = "http://terminology.hl7.org/CodeSystem/v3-ActSite";

struct Substance {
    std::string_view name;
    std::string_view atc_code;
    std::string_view snomed_code;
    std::string_view snomed_display;
};

// ATC and SNOMED CT: codes published in HL7 and national FHIR value sets of antithrombotic agents.
constexpr std::array substances{
    Substance{"enoxaparin", "B01AB05", "372562003", "Enoxaparin"},
    Substance{"dalteparin", "B01AB04", "372563008", "Dalteparin"},
    Substance{"tinzaparin", "B01AB10", "412608008", "Tinzaparin"},
    Substance{"nadroparin", "B01AB06", "699946002", "Nadroparin"},
    Substance{"certoparin", "B01AB13", "395961003", "Certoparin"},
    Substance{"fondaparinux", "B01AX05", "708189008", "Fondaparinux"},
    Substance{"heparin", "B01AB01", "372877000", "Heparin"},
};

enum class Height { any, upper, lower };

struct SiteCode {
    entry::Region region;
    entry::Side side;
    Height height;
    std::string_view act_site_code;
    std::string_view act_site_display;
    std::string_view snomed_code;
    std::string_view snomed_display;
};

// v3-ActSite: HL7 terminology 3.0.0. SNOMED CT: Global Patient Set and the R4 example value sets.
constexpr std::array site_codes{
    SiteCode{entry::Region::abdomen, entry::Side::left, Height::upper, "LUAQ", "left upper abd quadrant",
             "86367003", "Structure of left upper quadrant of abdomen"},
    SiteCode{entry::Region::abdomen, entry::Side::right, Height::upper, "RUAQ", "right upper abd quadrant",
             "50519007", "Structure of right upper quadrant of abdomen"},
    SiteCode{entry::Region::abdomen, entry::Side::left, Height::lower, "LLAQ", "left lower abd quadrant",
             "68505006", "Structure of left lower quadrant of abdomen"},
    SiteCode{entry::Region::abdomen, entry::Side::right, Height::lower, "RLAQ", "right lower abd quadrant",
             "48544008", "Structure of right lower quadrant of abdomen"},
    // At the height of the navel, or height unknown: the wall as a whole, the side in words.
    SiteCode{entry::Region::abdomen, entry::Side::left, Height::any, "", "", "42972002",
             "Subcutaneous tissue structure of anterior abdominal wall"},
    SiteCode{entry::Region::abdomen, entry::Side::right, Height::any, "", "", "42972002",
             "Subcutaneous tissue structure of anterior abdominal wall"},
    SiteCode{entry::Region::thigh, entry::Side::left, Height::any, "LT", "left thigh", "61396006",
             "Structure of left thigh"},
    SiteCode{entry::Region::thigh, entry::Side::right, Height::any, "RT", "right thigh", "11207009",
             "Structure of right thigh"},
    SiteCode{entry::Region::upper_arm, entry::Side::left, Height::any, "LUA", "left upper arm", "368208006",
             "Left upper arm structure"},
    SiteCode{entry::Region::upper_arm, entry::Side::right, Height::any, "RUA", "right upper arm", "368209003",
             "Right upper arm structure"},
    SiteCode{entry::Region::buttock, entry::Side::left, Height::any, "BU", "buttock", "", ""},
    SiteCode{entry::Region::buttock, entry::Side::right, Height::any, "BU", "buttock", "", ""},
};

Height height_of(const entry::Site& site) {
    if (site.region != entry::Region::abdomen) return Height::any;
    if (site.level) return *site.level == entry::Level::upper ? Height::upper : Height::lower;
    if (!site.y_cm || site.y_cm->is_zero()) return Height::any;
    return *site.y_cm > Decimal() ? Height::upper : Height::lower;
}

}  // namespace

Coding coding(std::string_view system, std::string_view code, std::string_view display) {
    return {std::string(system), std::string(code), std::string(display)};
}

Coding local(std::string_view code, std::string_view display) {
    return coding(local_codes, code, display);
}

CodeableConcept local_concept(std::string_view code, std::string_view text) {
    return {{local(code, text)}, std::string(text)};
}

CodeableConcept substance(const std::string& name, const std::string& text) {
    CodeableConcept result;
    result.text = text;
    const auto it = std::find_if(substances.begin(), substances.end(),
                                 [&](const Substance& one) { return one.name == name; });
    if (it == substances.end()) return result;
    result.coding = {coding(atc, it->atc_code, it->name),
                     coding(snomed, it->snomed_code, it->snomed_display)};
    return result;
}

Meaning<std::string> substance_of(const CodeableConcept& concept_) {
    return meaning_in(
        substances, concept_,
        [](const Substance& row, const Coding& one) {
            return (one.system == atc && one.code == row.atc_code) ||
                   (one.system == snomed && one.code == row.snomed_code);
        },
        [](const Substance& row) { return std::string(row.name); });
}

std::string product_words(const entry::Medicine& medicine) {
    return medicine.substance + " " + medicine.strength.to_string() + " " +
           std::string(entry::word_for(medicine.strength_unit)) + "/mL";
}

std::string site_words(const entry::Site& site) {
    std::string region(entry::word_for(site.region));
    std::replace(region.begin(), region.end(), '_', ' ');
    std::string words(entry::word_for(site.side));
    if (site.level) words += " " + std::string(entry::word_for(*site.level));
    words += " " + region;
    if (site.x_cm && site.y_cm) {
        words += ", x " + site.x_cm->to_string() + " cm, y " + site.y_cm->to_string() + " cm";
        if (site.region == entry::Region::abdomen) words += " from the navel (x to the person's left, y up)";
    }
    return words;
}

CodeableConcept site(const entry::Site& site) {
    CodeableConcept result;
    result.text = site_words(site);
    for (const SiteCode& one : site_codes) {
        if (one.region != site.region || one.side != site.side || one.height != height_of(site)) continue;
        if (!one.act_site_code.empty())
            result.coding.push_back(coding(act_site, one.act_site_code, one.act_site_display));
        if (!one.snomed_code.empty())
            result.coding.push_back(coding(snomed, one.snomed_code, one.snomed_display));
    }
    return result;
}

Meaning<entry::Site> site_of(const CodeableConcept& concept_) {
    return meaning_in(
        site_codes, concept_,
        [](const SiteCode& row, const Coding& one) {
            return !one.code.empty() && ((one.system == act_site && one.code == row.act_site_code) ||
                                         (one.system == snomed && one.code == row.snomed_code));
        },
        [](const SiteCode& row) {
            entry::Site site{row.region, row.side, {}, {}};
            if (row.height != Height::any)
                site.level = row.height == Height::upper ? entry::Level::upper : entry::Level::lower;
            return site;
        });
}

bool can_be_at(const CodeableConcept& concept_, const entry::Site& site) {
    const auto meaning = site_of(concept_);
    return !meaning.known ||
           std::any_of(meaning.values.begin(), meaning.values.end(), [&](const entry::Site& one) {
               return one.region == site.region && one.side == site.side &&
                      (!one.level || height_of(one) == height_of(site));
           });
}

namespace {

// "x -6 cm, y 2.5 cm" behind the name of a place.
void read_coordinates(std::string_view words, entry::Site& site) {
    const auto between = [&](std::string_view before) -> std::optional<Decimal> {
        const auto start = words.find(before);
        if (start == std::string_view::npos) return std::nullopt;
        const std::string_view rest = words.substr(start + before.size());
        return Decimal::parse(rest.substr(0, rest.find(" cm")));
    };
    site.x_cm = between(", x ");
    site.y_cm = between(", y ");
}

}  // namespace

std::optional<entry::Site> site_of_words(std::string_view words) {
    for (const auto& region : entry::Vocabulary<entry::Region>::words) {
        for (const entry::Side side : {entry::Side::left, entry::Side::right}) {
            for (const std::optional<entry::Level> level :
                 {std::optional<entry::Level>(), std::optional(entry::Level::upper),
                  std::optional(entry::Level::lower)}) {
                entry::Site site{region.value, side, {}, {}, level};
                read_coordinates(words, site);
                if (site_words(site) == words) return site;
            }
        }
    }
    return std::nullopt;
}

CodeableConcept subcutaneous_route() {
    return {{coding(snomed, "34206005", "Subcutaneous route"),
             coding("http://terminology.hl7.org/CodeSystem/v3-RouteOfAdministration", "SQ",
                    "Injection, subcutaneous")},
            "under the skin"};
}

CodeableConcept injection_method() {
    return {{coding(snomed, "422145002", "Inject - dosing instruction imperative")}, "injection"};
}

std::string_view ucum_code(entry::Unit unit) {
    switch (unit) {
        case entry::Unit::millilitre:
            return "mL";
        case entry::Unit::milligram:
            return "mg";
        case entry::Unit::international_unit:
            return "[IU]";
    }
    return {};
}

std::optional<entry::Unit> unit_of_ucum(std::string_view code) {
    code = code.substr(0, code.find('{'));
    if (code == "ml") return entry::Unit::millilitre;
    if (code == "[iU]") return entry::Unit::international_unit;
    for (const entry::Unit unit :
         {entry::Unit::millilitre, entry::Unit::milligram, entry::Unit::international_unit}) {
        if (ucum_code(unit) == code) return unit;
    }
    return std::nullopt;
}

bool shares_coding(const CodeableConcept& concept_, const CodeableConcept& ours) {
    return std::any_of(concept_.coding.begin(), concept_.coding.end(), [&](const Coding& one) {
        return std::any_of(ours.coding.begin(), ours.coding.end(), [&](const Coding& other) {
            return one.system == other.system && one.code == other.code;
        });
    });
}

}  // namespace nightferry::mapping
