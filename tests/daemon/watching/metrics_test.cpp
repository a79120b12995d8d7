// What of a running hub becomes which metric. "Spec" is
// https://prometheus.io/docs/specs/om/open_metrics_spec/, version 1.0.
#include "daemon/watching/metrics.hpp"

#include <gtest/gtest.h>

#include <regex>
#include <set>

#include "daemon/core/log_events.hpp"

namespace nightferry::watching {

namespace {

using namespace std::chrono_literals;
using testing::HasSubstr;
using testing::Not;

const Instant noon = std::chrono::sys_days(std::chrono::year(2026) / 10 / 12) + 12h;

Reading quiet_hub() {
    Reading reading;
    reading.now = noon;
    reading.started = noon - 2h;
    reading.version = "0.1.0";
    reading.events.resize(log_events().size());
    ClinicReading north;
    north.clinic = "north";
    reading.clinics.push_back(north);
    return reading;
}

// The lines of samples of one family.
std::string samples_of(const Reading& reading, const std::string& name) {
    std::istringstream lines(to_open_metrics(metrics_of(reading)));
    std::string found;
    for (std::string line; std::getline(lines, line);) {
        if (line.starts_with(name + "{") || line.starts_with(name + " ")) found += line + "\n";
    }
    return found;
}

TEST(MetricsTest, NamesAreAsTheSpecificationWantsThem) {
    std::set<std::string_view> names;
    for (const MetricFamily& kind : metric_kinds()) {
        SCOPED_TRACE(kind.name);
        EXPECT_TRUE(names.insert(kind.name).second);
        EXPECT_TRUE(std::regex_match(std::string(kind.name), std::regex("nightferry(_[a-z]+)+")));
        // Spec, "MetricFamily metadata": the unit is the suffix of the name. "Info": it has none.
        EXPECT_TRUE(kind.unit.empty() || kind.name.ends_with("_" + std::string(kind.unit)));
        EXPECT_TRUE(kind.unit.empty() || kind.type != MetricFamily::Type::info);
        // Spec, "Suffixes": names that would collide with those of samples.
        for (const char* ending : {"_total", "_created", "_count", "_sum", "_bucket", "_info"})
            EXPECT_FALSE(kind.name.ends_with(ending));
        EXPECT_FALSE(kind.help.empty());
        EXPECT_TRUE(kind.samples.empty());
    }
}

TEST(MetricsTest, WhatIsNotKnownIsNotTold) {
    const Reading reading = quiet_hub();
    for (const char* name :
         {"nightferry_token_expiry_timestamp_seconds", "nightferry_certificate_expiry_timestamp_seconds",
          "nightferry_last_pass_start_timestamp_seconds", "nightferry_last_pass_end_timestamp_seconds",
          "nightferry_last_pass_duration_seconds", "nightferry_data_free_bytes", "nightferry_logbook_bytes"})
        EXPECT_EQ(samples_of(reading, name), "");
    EXPECT_EQ(samples_of(reading, "nightferry_build_info"), "nightferry_build_info{version=\"0.1.0\"} 1\n");
    EXPECT_EQ(samples_of(reading, "nightferry_oldest_waiting_age_seconds"),
              "nightferry_oldest_waiting_age_seconds{clinic=\"north\"} 0\n");
    EXPECT_EQ(samples_of(reading, "nightferry_log_events_total").find(" 1"), std::string::npos);
    EXPECT_THAT(samples_of(reading, "nightferry_log_events_total"),
                HasSubstr("nightferry_log_events_total{event=\"disk_full\"} 0\n"));
}

TEST(MetricsTest, TheQueueIsToldByWhatBecameOfIt) {
    Reading reading = quiet_hub();
    reading.clinics[0].counts = {3, 40, 2, 5, 1, noon - 90min};
    EXPECT_EQ(samples_of(reading, "nightferry_deliveries"),
              "nightferry_deliveries{clinic=\"north\",state=\"waiting\"} 3\n"
              "nightferry_deliveries{clinic=\"north\",state=\"confirmed\"} 40\n"
              "nightferry_deliveries{clinic=\"north\",state=\"set_aside\"} 2\n"
              "nightferry_deliveries{clinic=\"north\",state=\"closed\"} 5\n"
              "nightferry_deliveries{clinic=\"north\",state=\"withdrawn\"} 1\n");
    EXPECT_EQ(samples_of(reading, "nightferry_oldest_waiting_age_seconds"),
              "nightferry_oldest_waiting_age_seconds{clinic=\"north\"} 5400\n");
    reading.clinics[0].counts.oldest_waiting = noon + 1h;
    EXPECT_EQ(samples_of(reading, "nightferry_oldest_waiting_age_seconds"),
              "nightferry_oldest_waiting_age_seconds{clinic=\"north\"} 0\n")
        << "the clock was set back";
}

TEST(MetricsTest, WhileAPassRunsTheEndOfTheLastOneIsTold) {
    Reading reading = quiet_hub();
    logbook::ClinicState& state = reading.clinics[0].state;
    state.pass_started = noon - 10min;
    state.pass_ended = noon - 8min;
    state.failures = 2;
    reading.clinics[0].passes_ended = 4;
    reading.clinics[0].passes_stopped = 1;
    EXPECT_EQ(samples_of(reading, "nightferry_passes_total"),
              "nightferry_passes_total{clinic=\"north\",result=\"ended\"} 4\n"
              "nightferry_passes_total{clinic=\"north\",result=\"stopped\"} 1\n");
    EXPECT_EQ(samples_of(reading, "nightferry_last_pass_duration_seconds"),
              "nightferry_last_pass_duration_seconds{clinic=\"north\"} 120\n");
    EXPECT_EQ(samples_of(reading, "nightferry_last_pass_end_timestamp_seconds"),
              "nightferry_last_pass_end_timestamp_seconds{clinic=\"north\"} 1791805920\n")
        << "date -u -d '2026-10-12 11:52' +%s";
    EXPECT_EQ(samples_of(reading, "nightferry_failed_attempts"),
              "nightferry_failed_attempts{clinic=\"north\"} 2\n");
    state.pass_started = noon - 1min;
    reading.clinics[0].is_running = true;
    EXPECT_EQ(samples_of(reading, "nightferry_pass_running"),
              "nightferry_pass_running{clinic=\"north\"} 1\n");
    EXPECT_EQ(samples_of(reading, "nightferry_last_pass_duration_seconds"), "");
    EXPECT_THAT(samples_of(reading, "nightferry_last_pass_end_timestamp_seconds"), HasSubstr(" 1791805920\n"))
        << "a pass can wait for days, and who watches has to see it";
    state.pass_ended = Instant();
    EXPECT_EQ(samples_of(reading, "nightferry_last_pass_end_timestamp_seconds"), "") << "there was none yet";
}

TEST(MetricsTest, WhatComesInIsCountedByWayAndAnswer) {
    Reading reading = quiet_hub();
    reading.handed_in = {{"inbox", {{"accepted", 7}, {"refused", 1}}}, {"local", {{"unreadable", 2}}}};
    EXPECT_EQ(samples_of(reading, "nightferry_handed_in_entries_total"),
              "nightferry_handed_in_entries_total{way=\"inbox\",answer=\"accepted\"} 7\n"
              "nightferry_handed_in_entries_total{way=\"inbox\",answer=\"refused\"} 1\n"
              "nightferry_handed_in_entries_total{way=\"local\",answer=\"unreadable\"} 2\n");
}

TEST(MetricsTest, TheDoorTellsItsTrafficAndItsEnds) {
    Reading reading = quiet_hub();
    ClinicReading& north = reading.clinics[0];
    north.requests = {{"2xx", 12}, {"unreachable", 3}};
    north.sent_bytes = 1000;
    north.received_bytes = 2000;
    north.token_ends = noon + 5min;
    north.hub_certificate_ends = noon + 24h;
    north.clinic_certificate_ends = noon - 1h;
    north.state.skew = -1500ms;
    EXPECT_EQ(samples_of(reading, "nightferry_clinic_requests_total"),
              "nightferry_clinic_requests_total{clinic=\"north\",outcome=\"2xx\"} 12\n"
              "nightferry_clinic_requests_total{clinic=\"north\",outcome=\"unreachable\"} 3\n");
    EXPECT_EQ(samples_of(reading, "nightferry_clinic_sent_bytes_total"),
              "nightferry_clinic_sent_bytes_total{clinic=\"north\"} 1000\n");
    EXPECT_EQ(samples_of(reading, "nightferry_clinic_received_bytes_total"),
              "nightferry_clinic_received_bytes_total{clinic=\"north\"} 2000\n");
    EXPECT_EQ(samples_of(reading, "nightferry_token_expiry_timestamp_seconds"),
              "nightferry_token_expiry_timestamp_seconds{clinic=\"north\"} 1791806700\n");
    EXPECT_EQ(
        samples_of(reading, "nightferry_certificate_expiry_timestamp_seconds"),
        "nightferry_certificate_expiry_timestamp_seconds{clinic=\"north\",whose=\"hub\"} 1791892800\n"
        "nightferry_certificate_expiry_timestamp_seconds{clinic=\"north\",whose=\"clinic\"} 1791802800\n")
        << "one that has ended is told as well";
    EXPECT_EQ(samples_of(reading, "nightferry_clock_skew_seconds"),
              "nightferry_clock_skew_seconds{clinic=\"north\"} -1.5\n");
}

TEST(MetricsTest, FamiliesAreNotInterleavedForSeveralClinics) {
    // Spec, "MetricFamily": they must not be.
    Reading reading = quiet_hub();
    reading.clinics.push_back(reading.clinics[0]);
    reading.clinics[1].clinic = "south";
    std::istringstream lines(to_open_metrics(metrics_of(reading)));
    std::set<std::string> seen;
    for (std::string line; std::getline(lines, line);) {
        const bool is_new = !line.starts_with("# TYPE ") || seen.insert(line).second;
        EXPECT_TRUE(is_new) << line;
    }
    EXPECT_EQ(seen.size(), metric_kinds().size());
    EXPECT_THAT(samples_of(reading, "nightferry_pass_running"), HasSubstr("south"));
}

TEST(MetricsTest, NothingTheClinicSaidIsTold) {
    Reading reading = quiet_hub();
    reading.clinics[0].state.words = "stopped: Juniper is unknown here";
    reading.clinics[0].state.patients["juniper"] = {"urn:x|1", "Patient/p1"};
    EXPECT_THAT(to_open_metrics(metrics_of(reading)), Not(testing::ContainsRegex("[Jj]uniper|Patient")));
}

}  // namespace

}  // namespace nightferry::watching
