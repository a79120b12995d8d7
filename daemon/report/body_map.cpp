#include "daemon/report/body_map.hpp"

#include <algorithm>
#include <cmath>

#include "daemon/report/body_shape.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

const ZoneShape* shape_of(const json::Value& zone) {
    const auto shapes = zone_shapes();
    const auto found = std::ranges::find_if(shapes, [&](const ZoneShape& shape) {
        return shape.region == zone.string_at("region") && shape.side == zone.string_at("side");
    });
    return found == shapes.end() ? nullptr : &*found;
}

struct Point {
    double x = 0;
    double y = 0;
};

class BodyMap {
 public:
    BodyMap(Sheet& sheet, const json::Value& sites, const std::vector<RecentInjection>& recent)
        : sheet_(sheet), sites_(sites), recent_(recent) {}

    void put() {
        const auto figure = sheet_.html.in("figure", {{"class", "body"}});
        for (const View view : {View::front, View::back}) {
            if (is_needed(view)) draw(view);
        }
        const auto caption = sheet_.html.in("figcaption");
        sheet_.html.put("p", sheet_.say(T::body_caption));
    }

 private:
    bool is_needed(View view) const {
        if (view == View::front) return true;
        const auto zones = sites_.items_at("zones");
        return std::any_of(zones.begin(), zones.end(), [&](const json::Value& zone) {
            const ZoneShape* shape = shape_of(zone);
            return shape != nullptr && shape->view == view;
        });
    }

    void draw(View view) {
        Html& html = sheet_.html;
        const bool is_front = view == View::front;
        const std::string id = is_front ? "front" : "back";
        const auto svg = html.in(
            "svg", {{"role", "img"},
                    {"aria-labelledby", id + "-t " + id + "-d"},
                    {"viewBox", px(body_left) + " 0 " + px(body_right - body_left) + " " + px(body_height)},
                    {"width", px(body_right - body_left)},
                    {"height", px(body_height)}});
        html.put("title", {{"id", id + "-t"}}, sheet_.say(is_front ? T::body_front : T::body_back));
        html.put("desc", {{"id", id + "-d"}}, sheet_.say(T::body_desc));
        hatching(id);
        const BodyShape& body = body_shape(view);
        for (const std::string_view outline : body.outlines)
            html.put("path", {{"class", "outline"}, {"d", std::string(outline)}});
        for (const ZoneShape& shape : zone_shapes()) {
            if (shape.view == view) draw_zone(shape, id);
        }
        if (!body.navel.empty()) html.put("path", {{"class", "navel"}, {"d", std::string(body.navel)}});
        lesions(view);
        std::vector<Point> taken;
        // The newest last, so that it lies on top.
        for (auto one = recent_.rbegin(); one != recent_.rend(); ++one) {
            const ZoneShape* shape = shape_of(*one->zone);
            if (shape != nullptr && shape->view == view) draw_injection(*one, *shape, taken);
        }
    }

    void hatching(const std::string& id) {
        Html& html = sheet_.html;
        const auto definitions = html.in("defs");
        const auto pattern = html.in("pattern", {{"id", id + "-rests"},
                                                 {"width", "6"},
                                                 {"height", "6"},
                                                 {"patternUnits", "userSpaceOnUse"},
                                                 {"patternTransform", "rotate(45)"}});
        html.put("path", {{"class", "hatch"}, {"d", "M 0 0 V 6"}});
    }

    void draw_zone(const ZoneShape& shape, const std::string& id) {
        Html& html = sheet_.html;
        const json::Value* used = nullptr;
        for (const json::Value& zone : sites_.items_at("zones"))
            used = shape_of(zone) == &shape ? &zone : used;
        const bool rests = used != nullptr && flag_at(*used, "rests");
        html.put("path",
                 {{"class", used == nullptr ? "zone unused" : "zone"}, {"d", std::string(shape.outline)}});
        if (rests)
            html.put(
                "path",
                {{"class", "rests"}, {"d", std::string(shape.outline)}, {"fill", "url(#" + id + "-rests)"}});
        if (used == nullptr) return;
        const auto line = [&](double down, const std::string& words, const char* kind) {
            html.put("text",
                     {{"class", kind},
                      {"x", px(shape.label_x)},
                      {"y", px(shape.label_y + down)},
                      {"text-anchor", shape.label_ends_there ? "end" : "start"}},
                     words);
        };
        line(0, sheet_.zone(*used), "body-label strong");
        const std::string unused = sheet_.span(*used, "unused_for_min");
        line(15, unused.empty() ? sheet_.say(T::unused) : sheet_.say(T::unused_for, {unused}), "body-label");
        if (rests) line(30, sheet_.say(T::rests), "body-label");
    }

    static Point place_of(const json::Value& at, const ZoneShape& shape) {
        if (at.find("x_cm") == nullptr) return {shape.middle_x, shape.y};
        const double turned = shape.view == View::front ? 1 : -1;
        // What lies far outside of the drawing is drawn at its edge; the table tells where it is.
        return {std::clamp(shape.x + turned * cm * measure_at(at, "x_cm"), body_left + 12, body_right - 12),
                std::clamp(shape.y - cm * measure_at(at, "y_cm"), 12.0, body_height - 12)};
    }

    // Lesions that are still there, as large as they were at the last look.
    void lesions(View view) {
        for (const json::Value& lesion : sheet_.review.items_at("lesions")) {
            const ZoneShape* shape = shape_of(lesion);
            if (shape == nullptr || shape->view != view || lesion.find("resolved") != nullptr) continue;
            const Point at = place_of(lesion, *shape);
            double length = 0;
            double width = 0;
            for (const json::Value& look : lesion.items_at("looks")) {
                length = measure_at(look, "length_cm");
                width = measure_at(look, "width_cm");
            }
            const double across = std::max(cm * length / 2, 5.0);
            sheet_.html.put("ellipse", {{"class", "lesion"},
                                        {"cx", px(at.x)},
                                        {"cy", px(at.y)},
                                        {"rx", px(across)},
                                        {"ry", px(width > 0 ? std::max(cm * width / 2, 4.0) : across)}});
        }
    }

    // Beside its place, with a line to it, where another mark lies there already.
    static Point free_place(Point wanted, const std::vector<Point>& taken) {
        constexpr double apart = 15.5;
        const auto is_free = [&](Point at) {
            return std::ranges::none_of(
                taken, [&](Point other) { return std::hypot(at.x - other.x, at.y - other.y) < apart; });
        };
        constexpr int most_rings = 6;
        constexpr int directions = 8;
        for (int ring = 0; ring <= most_rings; ++ring) {
            for (int direction = 0; direction < (ring == 0 ? 1 : directions); ++direction) {
                const double angle = direction * 2 * 3.14159265 / directions;
                const Point at{wanted.x + ring * apart * std::cos(angle),
                               wanted.y + ring * apart * std::sin(angle)};
                if (is_free(at)) return at;
            }
        }
        return wanted;
    }

    void draw_injection(const RecentInjection& one, const ZoneShape& shape, std::vector<Point>& taken) {
        Html& html = sheet_.html;
        const Point wanted = place_of(*one.injection, shape);
        const Point at = free_place(wanted, taken);
        taken.push_back(at);
        const auto group = html.in("g", {{"class", !one.notes.empty() ? "injection noted" : "injection"}});
        html.put("title", place_words(one));
        if (at.x != wanted.x || at.y != wanted.y) {
            html.put("path",
                     {{"class", "to-place"},
                      {"d", "M " + px(wanted.x) + " " + px(wanted.y) + " L " + px(at.x) + " " + px(at.y)}});
            html.put("circle", {{"class", "place"}, {"cx", px(wanted.x)}, {"cy", px(wanted.y)}, {"r", "2"}});
        }
        html.put("circle", {{"class", "spot"}, {"cx", px(at.x)}, {"cy", px(at.y)}, {"r", "7.5"}});
        if (!one.notes.empty())
            html.put("circle", {{"class", "ring"}, {"cx", px(at.x)}, {"cy", px(at.y)}, {"r", "9.8"}});
        html.put("text", {{"class", "spot-number"}, {"x", px(at.x)}, {"y", px(at.y + 3.4)}},
                 std::to_string(one.number));
    }

    std::string place_words(const RecentInjection& one) const {
        return std::to_string(one.number) + ": " + sheet_.when(*one.injection, "given") + ", " +
               sheet_.zone(*one.zone) + ", " + spot_words(sheet_, *one.injection);
    }

    Sheet& sheet_;
    const json::Value& sites_;
    const std::vector<RecentInjection>& recent_;
};

}  // namespace

std::string spot_words(const Sheet& sheet, const json::Value& injection) {
    const std::string x = sheet.number(injection, "x_cm");
    return x.empty() ? sheet.say(T::no_coordinates) : x + " | " + sheet.number(injection, "y_cm") + " cm";
}

void draw_body(Sheet& sheet, const json::Value& sites, const std::vector<RecentInjection>& recent) {
    BodyMap(sheet, sites, recent).put();
}

}  // namespace nightferry::report
