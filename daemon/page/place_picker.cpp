// Choosing a place: a list on both sides of a drawing of the body. Without the drawing, and without the
// script that makes its shapes answer to a tap, the list does it all.
#include <algorithm>

#include "daemon/entry/vocabulary.hpp"
#include "daemon/page/views.hpp"
#include "daemon/report/body_shape.hpp"

namespace nightferry::page {

namespace {

using report::View;

std::string value_of(const report::ZoneShape& shape) {
    return std::string(shape.region) + " " + std::string(shape.side);
}

// "thigh-left", by which the style sheet and the script find it.
std::string class_of(const report::ZoneShape& shape) {
    return std::string(shape.region) + "-" + std::string(shape.side);
}

care::BodyZone zone_of(const report::ZoneShape& shape) {
    return {*entry::meaning_of<entry::Region>(shape.region), *entry::meaning_of<entry::Side>(shape.side)};
}

// The regions that the clinic named come first; where it named none, all are alike.
bool is_named(const Facts& facts, const report::ZoneShape& shape) {
    if (facts.plan == nullptr || facts.plan->sites.regions.empty()) return true;
    return std::ranges::find(facts.plan->sites.regions, zone_of(shape).region) !=
           facts.plan->sites.regions.end();
}

std::string fact_of(const Leaf& leaf, const Facts& facts, const report::ZoneShape& shape) {
    if (!facts.review) return {};
    const auto used = std::ranges::find(facts.review->zones, zone_of(shape), &care::ZoneUse::zone);
    if (used == facts.review->zones.end() || (!used->last && !used->rests)) return {};
    std::string words = used->last ? leaf.ago(*used->last) : std::string();
    if (used->rests)
        words += (words.empty() ? "" : "; ") + leaf.say(T::column_rests) + " " + rest_words(leaf, *used);
    return words;
}

void put_drawing(Leaf& leaf, View view) {
    Html& html = leaf.html;
    const auto svg =
        html.in("svg", {{"viewBox", "96 0 328 420"}, {"aria-hidden", "true"}, {"focusable", "false"}});
    for (const std::string_view outline : report::body_shape(view).outlines)
        html.put("path", {{"class", "outline"}, {"d", std::string(outline)}});
    for (const report::ZoneShape& shape : report::zone_shapes()) {
        if (shape.view != view) continue;
        html.put("path", {{"class", "zone " + class_of(shape)},
                          {"data-place", value_of(shape)},
                          {"d", std::string(shape.outline)}});
    }
}

void put_choice(Leaf& leaf, const Form& form, const Facts& facts, const report::ZoneShape& shape,
                bool needed) {
    const auto label = leaf.html.in("label", {{"class", "choice place"}});
    std::vector<Html::Attribute> attributes{{"type", "radio"}, {"name", "place"}, {"value", value_of(shape)}};
    if (form.typed().value("place") == value_of(shape)) attributes.push_back({"checked", ""});
    if (needed) attributes.push_back({"required", ""});
    leaf.html.put("input", attributes);
    leaf.html.put("span", leaf.place(zone_of(shape)));
    if (const std::string fact = fact_of(leaf, facts, shape); !fact.empty()) leaf.html.put("small", fact);
}

// A person's right is on the left of whoever looks at them.
void put_side(Leaf& leaf, const Form& form, const Facts& facts, View view, bool on_the_left, bool needed) {
    const auto side = leaf.html.in("div", {{"class", "side"}});
    for (const report::ZoneShape& shape : report::zone_shapes()) {
        if (shape.view == view && shape.label_ends_there == on_the_left)
            put_choice(leaf, form, facts, shape, needed);
    }
}

void put_view(Leaf& leaf, const Form& form, const Facts& facts, View view, bool needed) {
    const auto body = leaf.html.in("div", {{"class", "body"}});
    put_side(leaf, form, facts, view, true, needed);
    put_drawing(leaf, view);
    put_side(leaf, form, facts, view, false, needed);
}

bool has_named(const Facts& facts, View view) {
    return std::ranges::any_of(report::zone_shapes(), [&](const report::ZoneShape& shape) {
        return shape.view == view && is_named(facts, shape);
    });
}

}  // namespace

void put_place_picker(Leaf& leaf, Form& form, const Facts& facts, bool needed) {
    const auto group = leaf.html.in("fieldset", {{"class", "places"}});
    leaf.html.put("legend", leaf.say(T::where));
    if (!needed) {
        const auto label = leaf.html.in("label", {{"class", "choice"}});
        std::vector<Html::Attribute> attributes{{"type", "radio"}, {"name", "place"}, {"value", ""}};
        if (!form.typed().has("place")) attributes.push_back({"checked", ""});
        leaf.html.put("input", attributes);
        leaf.html.put("span", leaf.say(T::not_on_the_body));
    }
    put_view(leaf, form, facts, View::front, needed);
    // What the clinic did not name is there as well, for what was given all the same, but out of the way.
    if (has_named(facts, View::back)) {
        put_view(leaf, form, facts, View::back, needed);
    } else {
        const auto details = leaf.html.in("details");
        leaf.html.put("summary", leaf.say(T::back));
        put_view(leaf, form, facts, View::back, needed);
    }
    leaf.html.put("p", {{"class", "hint"}}, leaf.say(T::facts_only));
    const auto details = leaf.html.in("details");
    leaf.html.put("summary", leaf.say(T::spot));
    leaf.html.put("p", {{"class", "hint"}}, leaf.say(T::spot_hint));
    form.line({"x_cm", T::across_cm, "text", "decimal"});
    form.line({"y_cm", T::up_cm, "text", "decimal"});
}

}  // namespace nightferry::page
