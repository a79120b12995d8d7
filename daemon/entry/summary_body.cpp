#include "daemon/entry/summary_body.hpp"

#include <array>
#include <charconv>
#include <utility>

#include "daemon/entry/vocabulary.hpp"

namespace nightferry::entry {

namespace json = fhir::json;

namespace {

std::optional<std::int64_t> whole_number(std::string_view text) {
    std::int64_t number = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), number);
    const bool good = failure == std::errc() && end == text.data() + text.size();
    return good ? std::optional(number) : std::nullopt;
}

// Names and places of the limits.
template <class S>
auto limits_of(S& summary) {
    return std::array{std::pair{"on_time", &summary.on_time}, std::pair{"late", &summary.late},
                      std::pair{"near", &summary.near}, std::pair{"wide", &summary.wide}};
}

bool read_limits(const json::Value& object, Summary& summary) {
    const json::Value* limits = object.find("limits_min");
    if (limits == nullptr || !limits->is(json::Kind::object)) return false;
    for (const auto& [name, limit] : limits_of(summary)) {
        const json::Value* minutes = limits->find(name);
        const auto number = minutes == nullptr ? std::nullopt : whole_number(minutes->text());
        if (!number) return false;
        *limit = std::chrono::minutes{*number};
    }
    return true;
}

bool read_counts(const json::Value& object, Summary& summary) {
    const json::Value* counts = object.find("counts");
    if (counts == nullptr || !counts->is(json::Kind::object)) return false;
    for (const auto& word : Vocabulary<Count>::words) {
        const json::Value* count = counts->find(word.text);
        if (count == nullptr) continue;
        const auto number = whole_number(count->text());
        if (!number) return false;
        summary.counts[word.value] = *number;
    }
    return true;
}

bool read_contents(const json::Value& object, Summary& summary) {
    for (const json::Value& one : object.items_at("contents")) {
        const json::Value* given = one.find("given");
        const json::Value* ordered = one.find("ordered");
        if (given == nullptr || ordered == nullptr) return false;
        const auto of_given = Decimal::parse(given->text());
        const auto of_ordered = Decimal::parse(ordered->text());
        if (!of_given || !of_ordered) return false;
        summary.contents.push_back({std::string(one.string_at("medicine")), *of_given, *of_ordered});
    }
    return true;
}

}  // namespace

void put_summary(json::Value& into, const Summary& summary) {
    into.add_string("of", word_for(summary.of));
    into.add_string("first", to_text(summary.first));
    into.add_string("last", to_text(summary.last));
    into.add_string("begins", to_text(summary.begins));
    json::Value& counts = into.add_object("counts");
    for (const auto& [count, number] : summary.counts)
        counts.add_number(word_for(count), std::to_string(number));
    json::Value& limits = into.add_object("limits_min");
    for (const auto& [name, limit] : limits_of(summary))
        limits.add_number(name, std::to_string(limit->count()));
    if (summary.contents.empty()) return;
    json::Value& contents = into.add_array("contents");
    for (const Summary::Content& one : summary.contents) {
        json::Value& object = contents.push_object();
        object.add_string("medicine", one.medicine);
        object.add_number("given", one.given.to_string());
        object.add_number("ordered", one.ordered.to_string());
    }
}

std::optional<Summary> read_summary(const json::Value& object) {
    const auto of = meaning_of<SummaryOf>(object.string_at("of"));
    const auto first = parse_date(object.string_at("first"), DateForm::year_month_day);
    const auto last = parse_date(object.string_at("last"), DateForm::year_month_day);
    const auto begins = parse_moment(object.string_at("begins"));
    if (!of || !first || !last || !begins) return std::nullopt;
    Summary summary{*of, *first, *last, *begins, {}, {}, {}, {}, {}, {}};
    if (!read_counts(object, summary) || !read_contents(object, summary) || !read_limits(object, summary))
        return std::nullopt;
    return summary;
}

}  // namespace nightferry::entry
