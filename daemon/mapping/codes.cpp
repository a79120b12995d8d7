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
    if (site.region != entry::Region::abdomen || !site.y_cm || site.y_cm->is_zero()) return Height::any;
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

std::string site_words(const entry::Site& site) {
    std::string region(entry::word_for(site.region));
    std::replace(region.begin(), region.end(), '_', ' ');
    std::string words = std::string(entry::word_for(site.side)) + " " + region;
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

}  // namespace nightferry::mapping
