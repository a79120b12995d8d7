// Metrics as text: OpenMetrics 1.0 (https://prometheus.io/docs/specs/om/open_metrics_spec/).
#pragma once

#include <chrono>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace nightferry::watching {

inline constexpr std::string_view open_metrics_type =
    "application/openmetrics-text; version=1.0.0; charset=utf-8";

struct MetricFamily {
    enum class Type { counter, gauge, info };
    struct Sample {
        std::vector<std::pair<std::string_view, std::string>> labels;
        std::string value;  // A number as it is written.
    };
    std::string_view name;  // Without the ending that the type gives to its samples.
    Type type = Type::gauge;
    std::string_view unit;  // The name then ends with it. Empty: none.
    std::string_view help;
    std::vector<Sample> samples;
};
std::string_view word_for(MetricFamily::Type type);
// What is put behind the name in samples: "_total", "_info" or nothing.
std::string_view ending_of(MetricFamily::Type type);

// The whole exposition, with its end.
std::string to_open_metrics(std::span<const MetricFamily> families);

// "12.5": a span in seconds, to the microsecond.
std::string in_seconds(std::chrono::microseconds span);

}  // namespace nightferry::watching
