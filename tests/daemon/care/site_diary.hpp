// Injections and looks at the body in few words: "AL 6,0" is the abdomen's left, 6 cm from the navel, "TR"
// the right thigh, "U", "B" and "W" upper arm, buttock and lower back.
#pragma once

#include <map>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/care/sites.hpp"
#include "tests/daemon/care/fortnight.hpp"

namespace nightferry::test {

inline entry::Site site(const std::string& text) {
    const std::map<char, entry::Region> regions{{'A', entry::Region::abdomen},
                                                {'T', entry::Region::thigh},
                                                {'U', entry::Region::upper_arm},
                                                {'B', entry::Region::buttock},
                                                {'W', entry::Region::lower_back}};
    entry::Site site{
        regions.at(text.at(0)), text.at(1) == 'L' ? entry::Side::left : entry::Side::right, {}, {}};
    if (text.size() == 2) return site;
    const auto comma = text.find(',');
    site.x_cm = Decimal::parse(text.substr(3, comma - 3));
    site.y_cm = Decimal::parse(text.substr(comma + 1));
    EXPECT_TRUE(site.x_cm && site.y_cm) << text;
    return site;
}

inline std::string told(const care::BodyZone& zone) {
    return {"ATUBW"[static_cast<int>(zone.region)], zone.side == entry::Side::left ? 'L' : 'R'};
}

struct SiteDiary {
    std::vector<care::GivenDose> doses;
    std::vector<care::Look> looks;
    care::SiteRules rules;
    std::string home = "Europe/Dublin";

    // Doses and looks are named by their numbers, counted from 1: "#2" and "look 1".
    SiteDiary& given(Instant at, const entry::Site& where) {
        care::GivenDose dose;
        dose.id = name("#" + std::to_string(doses.size() + 1));
        dose.at = at;
        dose.site = where;
        doses.push_back(dose);
        return *this;
    }
    SiteDiary& given(std::string_view at, const std::string& where) {
        return given(instant(at), site(where));
    }

    // Gone when the length is "gone", unmeasured when it is empty.
    SiteDiary& seen(Instant at, entry::FindingKind what, const entry::Site& where,
                    std::string_view length = "", std::string_view label = "") {
        entry::Finding finding;
        finding.what = what;
        finding.present = length != "gone";
        finding.site = where;
        finding.length_cm = Decimal::parse(length);
        if (!label.empty()) finding.lesion = label;
        looks.push_back({name("look " + std::to_string(looks.size() + 1)), at, finding});
        return *this;
    }
    SiteDiary& seen(std::string_view at, entry::FindingKind what, const std::string& where,
                    std::string_view length = "", std::string_view label = "") {
        return seen(instant(at), what, site(where), length, label);
    }

    // "#2 close_to_recent 1.414 < 2.5 #1"
    std::vector<std::string> notes() const {
        std::vector<std::string> all;
        for (const care::SiteNote& note : care::check_sites(doses, looks, rules, zone(home)))
            all.push_back(told(note));
        return all;
    }

    std::string told(const care::SiteNote& note) const {
        constexpr const char* concerns[] = {"near_navel",   "close_to_recent", "same_side",
                                            "in_bruise",    "resting",         "excluded",
                                            "other_region", "not_assessable"};
        std::ostringstream text;
        text << names.at(note.dose) << ' ' << concerns[static_cast<int>(note.concern)];
        if (note.distance_cm)
            text << ' ' << note.distance_cm->to_string() << " < " << note.limit_cm->to_string();
        if (note.other) text << ' ' << names.at(*note.other);
        if (!note.why.empty()) text << " (" << note.why << ')';
        EXPECT_EQ(note.distance_cm.has_value(), note.limit_cm.has_value()) << text.str();
        EXPECT_EQ(note.other_at, note.other ? std::optional(time_of(*note.other)) : std::nullopt)
            << text.str();
        return text.str();
    }

 private:
    EntryId name(const std::string& text) {
        const EntryId id = NameSpace("diary").id_for(text);
        names[id] = text;
        return id;
    }

    Instant time_of(const EntryId& id) const {
        for (const care::GivenDose& dose : doses) {
            if (dose.id == id) return dose.at;
        }
        for (const care::Look& look : looks) {
            if (look.id == id) return look.at;
        }
        return {};
    }

    std::map<EntryId, std::string> names;
};

// The demo's fortnight with all that is known of it in the end.
inline SiteDiary fortnight_diary() {
    SiteDiary diary;
    const care::Known known = fortnight_known(long_after);
    for (const care::GivenDose& dose : known.doses)
        diary.given(dose.at, dose.site);
    for (const care::Look& look : known.looks) {
        diary.seen(look.at, look.finding.what, {});
        diary.looks.back().finding = look.finding;
    }
    return diary;
}

inline const std::string morning = "2026-10-12T07:00Z";
inline const std::string evening = "2026-10-12T19:00Z";
inline const std::string next_morning = "2026-10-13T07:00Z";

// Nothing but what a test switches on.
inline SiteDiary lenient() {
    SiteDiary diary;
    diary.rules.navel_margin_cm = diary.rules.spacing_cm = diary.rules.bruise_margin_cm = Decimal();
    diary.rules.alternate_sides = false;
    return diary;
}

inline SiteDiary bruise_margin() {
    SiteDiary diary = lenient();
    diary.rules.bruise_margin_cm = Decimal(1, 0);
    return diary;
}

}  // namespace nightferry::test
