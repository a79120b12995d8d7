#include "daemon/watching/open_metrics.hpp"

namespace nightferry::watching {

namespace {

// `escaped-string` of the specification's ABNF.
std::string escaped(std::string_view text) {
    std::string result;
    for (const char c : text) {
        if (c == '\\' || c == '"') result += '\\';
        if (c == '\n') {
            result += "\\n";
        } else {
            result += c;
        }
    }
    return result;
}

void append_descriptor(std::string& text, std::string_view keyword, std::string_view name,
                       std::string_view rest) {
    text.append("# ").append(keyword).append(" ").append(name).append(" ").append(rest).append("\n");
}

void append_sample(std::string& text, const MetricFamily& family, const MetricFamily::Sample& sample) {
    text.append(family.name).append(ending_of(family.type));
    char before = '{';
    for (const auto& [name, value] : sample.labels) {
        text += before;
        text.append(name).append("=\"").append(escaped(value)).append("\"");
        before = ',';
    }
    if (!sample.labels.empty()) text += '}';
    text.append(" ").append(sample.value).append("\n");
}

}  // namespace

std::string_view word_for(MetricFamily::Type type) {
    switch (type) {
        case MetricFamily::Type::counter:
            return "counter";
        case MetricFamily::Type::gauge:
            return "gauge";
        case MetricFamily::Type::info:
            return "info";
    }
    return {};
}

std::string_view ending_of(MetricFamily::Type type) {
    switch (type) {
        case MetricFamily::Type::counter:
            return "_total";
        case MetricFamily::Type::gauge:
            return "";
        case MetricFamily::Type::info:
            return "_info";
    }
    return {};
}

std::string to_open_metrics(std::span<const MetricFamily> families) {
    std::string text;
    for (const MetricFamily& family : families) {
        append_descriptor(text, "TYPE", family.name, word_for(family.type));
        if (!family.unit.empty()) append_descriptor(text, "UNIT", family.name, family.unit);
        append_descriptor(text, "HELP", family.name, escaped(family.help));
        for (const MetricFamily::Sample& sample : family.samples)
            append_sample(text, family, sample);
    }
    return text + "# EOF\n";
}

std::string in_seconds(std::chrono::microseconds span) {
    constexpr std::int64_t micros_of_a_second = 1'000'000;
    const std::int64_t micros = span.count();
    std::string text = micros < 0 ? "-" : "";
    text += std::to_string(std::abs(micros / micros_of_a_second));
    std::string fraction = std::to_string(micros_of_a_second + std::abs(micros % micros_of_a_second));
    fraction.erase(fraction.find_last_not_of('0') + 1);
    if (fraction.size() > 1) text += "." + fraction.substr(1);
    return text;
}

}  // namespace nightferry::watching
