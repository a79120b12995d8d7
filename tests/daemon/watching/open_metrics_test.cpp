// Figures as OpenMetrics text. "Spec" is https://prometheus.io/docs/specs/om/open_metrics_spec/, version 1.0.
#include "daemon/watching/open_metrics.hpp"

#include <gtest/gtest.h>

namespace nightferry::watching {

namespace {

using Type = MetricFamily::Type;
using namespace std::chrono_literals;

TEST(OpenMetricsTest, FamiliesOfTheSpecificationsExampleAreWrittenAsItShowsThem) {
    // Spec, "Overall Structure"; the summary there is left out, and the counter's value is written with its
    // digits.
    const std::vector<MetricFamily> families{
        {"go_goroutines", Type::gauge, "", "Number of goroutines that currently exist.", {{{}, "69"}}},
        {"process_cpu_seconds",
         Type::counter,
         "seconds",
         "Total user and system CPU time spent in seconds.",
         {{{}, "4200722.46"}}}};
    EXPECT_EQ(to_open_metrics(families),
              "# TYPE go_goroutines gauge\n"
              "# HELP go_goroutines Number of goroutines that currently exist.\n"
              "go_goroutines 69\n"
              "# TYPE process_cpu_seconds counter\n"
              "# UNIT process_cpu_seconds seconds\n"
              "# HELP process_cpu_seconds Total user and system CPU time spent in seconds.\n"
              "process_cpu_seconds_total 4200722.46\n"
              "# EOF\n");
}

TEST(OpenMetricsTest, NothingToTellIsStillAnExposition) {
    EXPECT_EQ(to_open_metrics({}), "# EOF\n") << "Spec: metricset = *metricfamily";
}

TEST(OpenMetricsTest, InfoHasItsEndingAndItsLabels) {
    // Spec, "Info": the sample's name has the suffix _info, its value is 1.
    const std::vector<MetricFamily> families{
        {"foo", Type::info, "", "h", {{{{"name", "pretty name"}, {"version", "8.2.7"}}, "1"}}}};
    EXPECT_EQ(to_open_metrics(families),
              "# TYPE foo info\n# HELP foo h\nfoo_info{name=\"pretty name\",version=\"8.2.7\"} 1\n# EOF\n");
}

TEST(OpenMetricsTest, TextsAreEscapedAsTheGrammarWants) {
    // Spec, "Escaping" and the examples foo_seconds and bar_seconds_count: the same in HELP and in labels.
    const std::vector<MetricFamily> families{{"bar_seconds",
                                              Type::gauge,
                                              "seconds",
                                              "Some text and \n some \" escaping \\",
                                              {{{{"a", "x"}, {"b", "escaping\" example \n \\"}}, "0"}}}};
    EXPECT_EQ(to_open_metrics(families),
              "# TYPE bar_seconds gauge\n"
              "# UNIT bar_seconds seconds\n"
              "# HELP bar_seconds Some text and \\n some \\\" escaping \\\\\n"
              "bar_seconds{a=\"x\",b=\"escaping\\\" example \\n \\\\\"} 0\n"
              "# EOF\n");
}

TEST(OpenMetricsTest, FamilyWithoutSamplesKeepsItsDescription) {
    // Spec, "Gauge": an example of a MetricFamily with no Metrics.
    const std::vector<MetricFamily> families{{"foo", Type::gauge, "", "h", {}}};
    EXPECT_EQ(to_open_metrics(families), "# TYPE foo gauge\n# HELP foo h\n# EOF\n");
}

TEST(OpenMetricsTest, SpansAreSecondsToTheMicrosecond) {
    EXPECT_EQ(in_seconds(0us), "0");
    EXPECT_EQ(in_seconds(90s), "90");
    EXPECT_EQ(in_seconds(1500ms), "1.5");
    EXPECT_EQ(in_seconds(1us), "0.000001");
    EXPECT_EQ(in_seconds(-250ms), "-0.25");
    EXPECT_EQ(in_seconds(-61s), "-61");
    // A time of this decade, which a double with six digits would lose.
    EXPECT_EQ(in_seconds(1'760'000'000'123'456us), "1760000000.123456");
}

}  // namespace

}  // namespace nightferry::watching
