// How what was seen at sites changed: a small curve for each lesion, and the looks it is made of.
#include <algorithm>
#include <vector>

#include "daemon/report/sheet.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

constexpr double width = 330;
constexpr double height = 132;
constexpr double left = 74;
constexpr double right = 22;
constexpr double top = 20;
constexpr double bottom = 26;

struct Look {
    const json::Value* look = nullptr;
    LocalSecond at;
};

class Curve {
 public:
    Curve(Sheet& sheet, const json::Value& lesion, int number)
        : sheet_(sheet), lesion_(lesion), id_("lesion-" + std::to_string(number)) {
        bool any_area = false;
        for (const json::Value& look : lesion.items_at("looks"))
            any_area |= measure_at(look, "area_cm2") > 0;
        measure_ = any_area ? "area_cm2" : "length_cm";
        unit_ = any_area ? "cm\u00B2" : "cm";
        for (const json::Value& look : lesion.items_at("looks")) {
            const auto at = sheet.local(look, "at");
            if (!at) continue;
            first_ = looks_.empty() ? *at : first_;
            last_ = *at;
            const bool is_gone = text_at(look, "trend") == "resolved";
            if (!is_gone && look.find(measure_) == nullptr) continue;
            looks_.push_back({&look, *at});
            most_ = std::max(most_, measure_at(look, measure_));
        }
    }

    void put() {
        Html& html = sheet_.html;
        const auto figure = html.in("figure", {{"class", "lesion-figure"}});
        {
            const auto caption = html.in("figcaption");
            html.put("h3", lesion_words(sheet_, lesion_));
            html.put("p", life());
        }
        if (!looks_.empty() && most_ > 0) draw();
        table();
    }

 private:
    // "first seen ..., 9 h 35 min after the dose; gone ..., after 8 d 23 h 50 min"
    std::string life() const {
        std::string words = sheet_.say(T::first_seen, {sheet_.when(lesion_, "first_seen")});
        if (const std::string after = sheet_.span(lesion_, "seen_after_dose_min"); !after.empty()) {
            const bool stated = text_at(lesion_, "dose_is") == "stated";
            words += ", " + sheet_.say(stated ? T::after_its_dose : T::after_nearest_dose, {after});
        }
        if (lesion_.find("resolved") == nullptr) return words + "; " + sheet_.say(T::still_there);
        return words + "; " +
               sheet_.say(T::gone_after,
                          {sheet_.when(lesion_, "resolved"), sheet_.span(lesion_, "lasted_min")});
    }

    double x_of(LocalSecond at) const {
        const double whole = std::max(1.0, static_cast<double>((last_ - first_).count()));
        return left + (width - left - right) * static_cast<double>((at - first_).count()) / whole;
    }
    double y_of(double size) const { return height - bottom - (height - top - bottom) * size / most_; }

    void draw() {
        Html& html = sheet_.html;
        const auto svg = html.in("svg", {{"role", "img"},
                                         {"aria-labelledby", id_ + "-t " + id_ + "-d"},
                                         {"viewBox", "0 0 " + px(width) + " " + px(height)},
                                         {"width", px(width)},
                                         {"height", px(height)}});
        html.put("title", {{"id", id_ + "-t"}},
                 sheet_.say(T::curve_title, {lesion_words(sheet_, lesion_), unit_}));
        html.put("desc", {{"id", id_ + "-d"}}, sheet_.say(T::curve_desc));
        axes();
        std::string line;
        for (const Look& one : looks_)
            line += (line.empty() ? "M " : " L ") + px(x_of(one.at)) + " " +
                    px(y_of(measure_at(*one.look, measure_)));
        html.put("path", {{"class", "curve"}, {"d", line}});
        for (std::size_t i = 0; i < looks_.size(); ++i)
            point(i);
    }

    void axes() {
        Html& html = sheet_.html;
        html.put("path", {{"class", "axis"},
                          {"d", "M " + px(left - 38) + " " + px(top) + " V " + px(height - bottom) + " H " +
                                    px(width - right + 6)}});
        html.put("text", {{"class", "label"}, {"x", "0"}, {"y", "11"}}, unit_);
        html.put("text", {{"class", "tick"}, {"x", px(left - 42)}, {"y", px(height - bottom + 4)}}, "0");
        date_at(first_, "start");
        if (last_ != first_) date_at(last_, "end");
    }

    void date_at(LocalSecond at, const char* anchor) {
        const auto day = std::chrono::floor<std::chrono::days>(at);
        sheet_.html.put(
            "text", {{"class", "label"}, {"x", px(x_of(at))}, {"y", px(height - 6)}, {"text-anchor", anchor}},
            sheet_.speaker.day_and_month(std::chrono::year_month_day{day}));
    }

    // A ring; filled where it was large or kept growing; a cross where it had gone.
    void point(std::size_t index) {
        const Look& one = looks_[index];
        Html& html = sheet_.html;
        const double x = x_of(one.at);
        const double y = y_of(measure_at(*one.look, measure_));
        const bool is_gone = text_at(*one.look, "trend") == "resolved";
        const bool is_serious = flag_at(*one.look, "persistent_growth") || flag_at(*one.look, "large");
        if (is_gone) {
            html.put("path", {{"class", "look gone"},
                              {"d", "M " + px(x - 4) + " " + px(y - 4) + " l 8 8 M " + px(x - 4) + " " +
                                        px(y + 4) + " l 8 -8"}});
        } else {
            html.put("circle", {{"class", is_serious ? "look serious" : "look"},
                                {"cx", px(x)},
                                {"cy", px(y)},
                                {"r", "3.6"}});
        }
        // On the side from which the curve does not come down or go up.
        const bool falls = index > 0 && y > y_of(measure_at(*looks_[index - 1].look, measure_));
        const bool rises =
            index + 1 < looks_.size() && y > y_of(measure_at(*looks_[index + 1].look, measure_));
        const char* anchor = falls == rises ? "middle" : falls ? "start" : "end";
        const double aside = falls == rises ? 0 : falls ? 4 : -4;
        html.put("text", {{"x", px(x + aside)}, {"y", px(y - 7)}, {"text-anchor", anchor}},
                 is_gone ? "0" : sheet_.number(*one.look, measure_));
    }

    void table() {
        Html& html = sheet_.html;
        const auto table = html.in("table", {{"class", "numbers"}});
        sheet_.table_head(sheet_.say(T::looks_caption, {lesion_words(sheet_, lesion_)}),
                          {sheet_.say(T::column_when), sheet_.say(T::column_size), "cm\u00B2",
                           sheet_.say(T::column_ratio), sheet_.say(T::column_trend)});
        const auto body = html.in("tbody");
        for (const json::Value& look : lesion_.items_at("looks")) {
            const std::string across = sheet_.number(look, "width_cm");
            std::string size = sheet_.number(look, "length_cm");
            if (!across.empty()) size += " \u00D7 " + across;
            const std::string ratio = sheet_.number(look, "ratio");
            std::string trend = sheet_.word(look, "trend");
            if (flag_at(look, "persistent_growth")) trend += ", " + sheet_.say(T::persistent_growth);
            if (flag_at(look, "large")) trend += ", " + sheet_.say(T::large_lesion);
            sheet_.row({sheet_.when(look, "at"), size, sheet_.number(look, "area_cm2"),
                        ratio.empty() ? "" : "\u00D7 " + ratio, trend});
        }
    }

    Sheet& sheet_;
    const json::Value& lesion_;
    std::string id_;
    std::string_view measure_;
    std::string unit_;
    std::vector<Look> looks_;
    LocalSecond first_;
    LocalSecond last_;
    double most_ = 0;
};

}  // namespace

void put_lesion_curves(Sheet& sheet) {
    if (sheet.review.items_at("lesions").empty()) return;
    const Section section(sheet, "lesions", T::lesions);
    const auto beside = sheet.html.in("div", {{"class", "lesions"}});
    int number = 0;
    for (const json::Value& lesion : sheet.review.items_at("lesions"))
        Curve(sheet, lesion, ++number).put();
}

}  // namespace nightferry::report
