#include "config/measures.hpp"

#include "daemon/core/words.hpp"

namespace nightferry::config {

namespace {

std::string with_unit(std::string_view number, std::string_view unit) {
    return std::string(number) + (unit.empty() ? "" : " ") + std::string(unit);
}

std::optional<Decimal> read_measure(std::string_view text, const Measure& measure) {
    if (!text.ends_with(measure.unit)) return std::nullopt;
    text.remove_suffix(measure.unit.size());
    const auto value = Decimal::parse(trimmed(text));
    return value && !(measure.is_whole && value->trimmed().scale() > 0) ? value : std::nullopt;
}

}  // namespace

void read_measures(TableReader& table, std::span<const Measure> measures) {
    for (const Measure& measure : measures) {
        const auto text = table.text(measure.key);
        if (!text) continue;
        const auto value = read_measure(*text, measure);
        if (value && *value >= measure.least && *value <= measure.most) {
            measure.set(*value);
            continue;
        }
        table.problem(measure.key,
                      in_quotes(*text) + " is not " + (measure.is_whole ? "a whole number" : "a number") +
                          " from " + with_unit(measure.least.to_string(), measure.unit) + " to " +
                          with_unit(measure.most.to_string(), measure.unit) + ", written like these two");
    }
}

}  // namespace nightferry::config
