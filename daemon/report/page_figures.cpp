// The figures of adherence, each by itself: they are never merged into one.
#include "daemon/report/sheet.hpp"
#include "daemon/report/table.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

struct Figure {
    std::string_view name;
    T text;
};

class Figures {
 public:
    Figures(Sheet& sheet, const json::Value& figures) : sheet_(sheet), figures_(figures) {
        if (const json::Value* weeks = sheet.review.find("weeks")) weeks_ = weeks->size();
    }

    void put() {
        // A few weeks fit beside the rest.
        const bool few_weeks = weeks_ <= most_weeks_beside;
        {
            const auto beside = sheet_.html.in("div", {{"class", "figures"}});
            shares();
            times();
            const auto last = sheet_.html.in("div");
            if (few_weeks) weeks();
            carers();
        }
        if (few_weeks) return;
        const auto columns = sheet_.html.in("div", {{"class", "weeks"}});
        weeks();
    }

 private:
    // "37 / 39", and nothing where it cannot be told.
    std::string fraction(const json::Value& of, std::string_view name) const {
        const json::Value* share = of.find(name);
        return share == nullptr ? std::string()
                                : sheet_.number(*share, "n") + "\u00A0/\u00A0" + sheet_.number(*share, "of");
    }
    std::string percent(const json::Value& of, std::string_view name) const {
        const json::Value* share = of.find(name);
        return share == nullptr ? sheet_.say(T::not_calculable) : sheet_.percent(*share);
    }

    void shares() {
        static constexpr Figure figures[] = {
            {"slots_filled", T::slots_filled},     {"taken", T::taken},
            {"near_time", T::near_time},           {"wide_time", T::wide_time},
            {"ordered_amount", T::ordered_amount}, {"days_as_ordered", T::days_as_ordered},
            {"days_covered", T::days_covered},     {"intervals", T::intervals},
        };
        const auto table = sheet_.html.in("table", {{"class", "numbers"}});
        sheet_.table_head(sheet_.say(T::shares_caption),
                          {sheet_.say(T::column_figure), sheet_.say(T::column_of), "%"});
        const auto body = sheet_.html.in("tbody");
        for (const Figure& one : figures)
            sheet_.row({sheet_.say(one.text), fraction(figures_, one.name), percent(figures_, one.name)});
        for (const json::Value& content : figures_.items_at("contents"))
            sheet_.row({sheet_.say(T::content_of, {text_at(content, "medicine")}),
                        sheet_.number(content, "given") + " / " + sheet_.number(content, "ordered") + " " +
                            text_at(content, "unit"),
                        sheet_.percent(content)});
    }

    void times() {
        static constexpr Figure spans[] = {
            {"longest_gap_min", T::longest_gap},
            {"beyond_gap_max_min", T::beyond_gaps},
        };
        static constexpr Figure minutes[] = {
            {"deviation_sum_min", T::deviation_sum},
            {"deviation_size_sum_min", T::deviation_size_sum},
            {"deviation_median_min", T::deviation_median},
        };
        const auto table = sheet_.html.in("table", {{"class", "numbers"}});
        sheet_.table_head(sheet_.say(T::times_caption),
                          {sheet_.say(T::column_what), sheet_.say(T::column_time)});
        const auto body = sheet_.html.in("tbody");
        for (const Figure& one : spans)
            sheet_.row({sheet_.say(one.text), or_none(sheet_.span(figures_, one.name))});
        for (const Figure& one : minutes) {
            const std::string number = sheet_.number(figures_, one.name);
            sheet_.row({sheet_.say(one.text), or_none(number.empty() ? number : number + " min")});
        }
    }

    std::string or_none(const std::string& text) const { return text.empty() ? sheet_.say(T::none) : text; }

    void weeks() {
        if (weeks_ == 0) return;
        const auto table = sheet_.html.in("table", {{"class", "numbers"}});
        sheet_.table_head(sheet_.say(T::weeks_caption),
                          {sheet_.say(T::column_from), sheet_.say(T::column_of), "%"});
        const auto body = sheet_.html.in("tbody");
        for (const json::Value& week : sheet_.review.items_at("weeks")) {
            const json::Value* figures = week.find("figures");
            if (figures == nullptr) continue;
            sheet_.row({sheet_.day(week, "from"), fraction(*figures, "slots_filled"),
                        percent(*figures, "slots_filled")});
        }
    }

    void carers() {
        if (figures_.items_at("carers").empty()) return;
        const auto table = sheet_.html.in("table", {{"class", "numbers"}});
        sheet_.table_head(sheet_.say(T::carers_caption),
                          {sheet_.say(T::column_carer), sheet_.say(T::column_given), sheet_.say(T::near_time),
                           sheet_.say(T::column_as_ordered)});
        const auto body = sheet_.html.in("tbody");
        for (const json::Value& carer : figures_.items_at("carers"))
            sheet_.row({text_at(carer, "carer"), sheet_.number(carer, "given"), both(carer, "near_time"),
                        both(carer, "ordered_amount")});
    }

    std::string both(const json::Value& of, std::string_view name) const {
        const std::string counted = fraction(of, name);
        return counted.empty() ? percent(of, name) : counted + " (" + percent(of, name) + ")";
    }

    static constexpr std::size_t most_weeks_beside = 6;

    Sheet& sheet_;
    const json::Value& figures_;
    std::size_t weeks_ = 0;
};

}  // namespace

void put_figures(Sheet& sheet) {
    const Section section(sheet, "figures", T::figures);
    const json::Value* figures = sheet.review.find("figures");
    if (figures == nullptr) {
        sheet.html.put("p", sheet.say(T::not_calculable));
        return;
    }
    Figures(sheet, *figures).put();
}

}  // namespace nightferry::report
