// The calendar of doses: a column for each day, a row for each time of day, a mark for each scheduled dose.
// More than 31 days stand in blocks of a calendar month each.
#include <algorithm>
#include <map>
#include <vector>

#include "daemon/report/dose_marks.hpp"
#include "daemon/report/sheet.hpp"
#include "daemon/report/table.hpp"
#include "daemon/texts/care_words.hpp"

namespace nightferry::report {

namespace json = fhir::json;

namespace {

using std::chrono::days;
using std::chrono::local_days;
using std::chrono::year_month_day;

constexpr double least_label_width = 84;
constexpr double letter_width = 6;  // More than letters of this size are wide on average.
constexpr double day_width = 19;
constexpr double row_height = 19;
constexpr double head_height = 28;
constexpr std::size_t most_days_in_one_block = 31;

struct Mark {
    std::string_view word;
    local_days day;
    std::string title;
    bool other_amount = false;
};

// What stands in one row of every block; by the time of day, and by medicine where there are several.
using Rows = std::map<std::pair<std::chrono::minutes, std::string>, std::vector<Mark>>;

struct Block {
    local_days from;
    local_days to;  // Left out.
};

std::vector<Block> blocks_of(local_days from, local_days to) {
    if (to - from <= days{most_days_in_one_block}) return {{from, to}};
    std::vector<Block> blocks;
    for (local_days day = from; day < to;) {
        const year_month_day date{day};
        const local_days next{year_month_day{date.year() / date.month() / 1} + std::chrono::months{1}};
        blocks.push_back({day, std::min(next, to)});
        day = next;
    }
    return blocks;
}

class Calendar {
 public:
    explicit Calendar(Sheet& sheet) : sheet_(sheet) {}

    void put() {
        const auto from = sheet_.local(sheet_.review, "from");
        const auto to = sheet_.local(sheet_.review, "to");
        if (!from || !to) return;
        read_slots();
        read_besides();
        if (rows_.empty()) sheet_.html.put("p", sheet_.say(T::no_slots));
        if (rows_.empty() && besides_.empty()) return;
        const auto blocks = blocks_of(std::chrono::floor<days>(*from), std::chrono::ceil<days>(*to));
        const auto figure = sheet_.html.in("figure", {{"class", "calendar"}});
        {
            const Scrolls scrolls(sheet_, T::calendar);
            for (const Block& block : blocks)
                draw(block);
        }
        const auto caption = sheet_.html.in("figcaption");
        sheet_.html.put("p", sheet_.say(T::calendar_caption));
        legend();
    }

 private:
    void read_slots() {
        std::map<std::string, const json::Value*> doses;
        bool several_medicines = false;
        std::string first_medicine;
        for (const json::Value& dose : sheet_.review.items_at("doses"))
            doses[text_at(dose, "id")] = &dose;
        for (const json::Value& slot : sheet_.review.items_at("slots")) {
            if (first_medicine.empty()) first_medicine = text_at(slot, "medicine");
            several_medicines |= first_medicine != text_at(slot, "medicine");
        }
        for (const json::Value& slot : sheet_.review.items_at("slots")) {
            const auto due = sheet_.local(slot, "due");
            if (!due) continue;
            const local_days day = std::chrono::floor<days>(*due);
            const auto dose = doses.find(text_at(slot, "dose"));
            if (several_medicines)
                label_width_ = std::max(
                    label_width_, letter_width * static_cast<double>(text_at(slot, "medicine").size() + 8));
            const bool other = dose != doses.end() && is_other_amount(*dose->second);
            rows_[{std::chrono::floor<std::chrono::minutes>(*due - day),
                   several_medicines ? text_at(slot, "medicine") : std::string()}]
                .push_back({mark_of(slot), day, title_of(slot, other), other});
            amounts_ += other ? 1 : 0;
        }
    }

    std::string title_of(const json::Value& slot, bool other_amount) const {
        const std::string word(mark_of(slot));
        std::string title = sheet_.when(slot, "due") + ": " +
                            sheet_.word(slot, text_at(slot, "fate") == "given" ? "timing" : "fate");
        if (word != "on_time" && slot.find("deviation_min") != nullptr)
            title += ", " + sheet_.span(slot, "deviation_min");
        if (other_amount) title += ", " + sheet_.say(T::amount_other);
        return title;
    }

    void read_besides() {
        const auto add = [&](const json::Value& dose, const char* word, T text) {
            const auto given = sheet_.local(dose, "given");
            if (!given) return;
            besides_.push_back({word, std::chrono::floor<days>(*given),
                                sheet_.when(dose, "given") + ": " + sheet_.say(text), false});
        };
        for (const json::Value& dose : sheet_.review.items_at("doses")) {
            if (flag_at(dose, "extra")) add(dose, "extra", T::extra_dose);
        }
        for (const json::Value& dose : sheet_.review.items_at("provisional"))
            add(dose, "provisional", T::provisional_dose);
    }

    static bool stands_in(const Block& block, const std::vector<Mark>& marks) {
        return std::ranges::any_of(
            marks, [&](const Mark& mark) { return block.from <= mark.day && mark.day < block.to; });
    }

    void draw(const Block& block) {
        std::vector<std::pair<std::string, const std::vector<Mark>*>> lines;
        for (const auto& [row, marks] : rows_) {
            if (!stands_in(block, marks)) continue;
            const std::string clock = std::to_string(row.first.count() / 60 + 100).substr(1) + ":" +
                                      std::to_string(row.first.count() % 60 + 100).substr(1);
            lines.emplace_back(row.second.empty() ? clock : clock + " " + row.second, &marks);
        }
        if (stands_in(block, besides_)) lines.emplace_back(sheet_.say(T::besides_schedule), &besides_);
        const auto width = label_width_ + day_width * static_cast<double>((block.to - block.from).count());
        const double height = head_height + row_height * static_cast<double>(lines.size()) + 4;
        Html& html = sheet_.html;
        const std::string id = "c" + to_text(year_month_day{block.from});
        const auto svg = html.in("svg", {{"role", "img"},
                                         {"aria-labelledby", id + "-t " + id + "-d"},
                                         {"viewBox", "0 0 " + px(width) + " " + px(height)},
                                         {"width", px(width)},
                                         {"height", px(height)}});
        html.put("title", {{"id", id + "-t"}},
                 sheet_.say(T::calendar_title, {sheet_.speaker.date(year_month_day{block.from}),
                                                sheet_.speaker.date(year_month_day{block.to - days{1}})}));
        html.put("desc", {{"id", id + "-d"}}, sheet_.say(T::calendar_desc));
        columns(block, height);
        double y = head_height + row_height / 2;
        for (const auto& [label, marks] : lines) {
            html.put("text", {{"x", "0"}, {"y", px(y + 4)}, {"class", "label"}}, label);
            row(block, *marks, y);
            y += row_height;
        }
    }

    void row(const Block& block, const std::vector<Mark>& marks, double y) {
        std::map<local_days, int> of_day;
        for (const Mark& mark : marks) {
            if (mark.day < block.from || mark.day >= block.to) continue;
            // Several in one cell stand beside each other, a little to the right.
            const double x = middle(block, mark.day) + 5 * of_day[mark.day]++;
            draw_mark(sheet_.html, mark.word, x, y, mark.title);
            if (mark.other_amount) draw_amount_sign(sheet_.html, x, y);
        }
    }

    double middle(const Block& block, local_days day) const {
        return label_width_ + day_width * (static_cast<double>((day - block.from).count()) + 0.5);
    }

    // The days' heads; weekends are shaded, and a line stands before each Monday.
    void columns(const Block& block, double height) {
        Html& html = sheet_.html;
        html.put("text", {{"x", "0"}, {"y", "24"}, {"class", "label"}},
                 sheet_.speaker.date(year_month_day{block.from}));
        for (local_days day = block.from; day < block.to; day += days{1}) {
            const std::chrono::weekday weekday{day};
            const double left = middle(block, day) - day_width / 2;
            if (weekday == std::chrono::Saturday || weekday == std::chrono::Sunday) {
                html.put("rect", {{"class", "weekend"},
                                  {"x", px(left)},
                                  {"y", "0"},
                                  {"width", px(day_width)},
                                  {"height", px(height)}});
            }
            if (weekday == std::chrono::Monday && day != block.from)
                html.put("path", {{"class", "week"}, {"d", "M " + px(left) + " 0 V " + px(height)}});
            const std::string number = std::to_string(static_cast<unsigned>(year_month_day{day}.day()));
            const std::string x = px(middle(block, day));
            html.put("text", {{"x", x}, {"y", "11"}, {"class", "weekday"}},
                     sheet_.speaker.weekday(weekday).substr(0, 2));
            html.put("text", {{"x", x}, {"y", "24"}, {"class", "day"}}, number);
        }
    }

    void legend() {
        Html& html = sheet_.html;
        const json::Value* figures = sheet_.review.find("figures");
        const json::Value* counts = figures == nullptr ? nullptr : figures->find("counts");
        const auto list = html.in("ul", {{"class", "legend"}});
        for (const DoseMark& mark : dose_marks) {
            const auto item = html.in("li");
            key([&] { draw_mark(html, mark.word, 8, 8, {}); });
            html.text(texts::say_word(sheet_.speaker, mark.word));
            if (counts != nullptr) html.put("b", sheet_.number(*counts, mark.word));
        }
        const auto item = html.in("li");
        key([&] { draw_amount_sign(html, 8, 2); });
        html.text(sheet_.say(T::amount_other));
        html.put("b", std::to_string(amounts_));
    }

    template <class Draw>
    void key(const Draw& draw) {
        const auto svg = sheet_.html.in(
            "svg", {{"aria-hidden", "true"}, {"viewBox", "0 0 16 16"}, {"width", "16"}, {"height", "16"}});
        draw();
    }

    Sheet& sheet_;
    Rows rows_;
    std::vector<Mark> besides_;
    double label_width_ = least_label_width;
    int amounts_ = 0;
};

}  // namespace

void put_dose_calendar(Sheet& sheet) {
    const Section section(sheet, "calendar", T::calendar);
    Calendar(sheet).put();
}

}  // namespace nightferry::report
