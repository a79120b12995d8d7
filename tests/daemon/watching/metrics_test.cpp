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
          "nightferry_page_certificate_expiry_timestamp_seconds",
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
    reading.clinics[0].counted.passes = {{"ended", 4}, {"out_of_time", 2}, {"stopped", 1}};
    reading.clinics[0].last_pass_stopped = true;
    EXPECT_EQ(samples_of(reading, "nightferry_passes_total"),
              "nightferry_passes_total{clinic=\"north\",result=\"ended\"} 4\n"
              "nightferry_passes_total{clinic=\"north\",result=\"out_of_time\"} 2\n"
              "nightferry_passes_total{clinic=\"north\",result=\"stopped\"} 1\n");
    EXPECT_EQ(samples_of(reading, "nightferry_last_pass_duration_seconds"),
              "nightferry_last_pass_duration_seconds{clinic=\"north\"} 120\n");
    EXPECT_EQ(samples_of(reading, "nightferry_last_pass_end_timestamp_seconds"),
              "nightferry_last_pass_end_timestamp_seconds{clinic=\"north\"} 1791805920\n")
        << "date -u -d '2026-10-12 11:52' +%s";
    EXPECT_EQ(samples_of(reading, "nightferry_last_pass_stopped"),
              "nightferry_last_pass_stopped{clinic=\"north\"} 1\n");
    EXPECT_EQ(samples_of(reading, "nightferry_failed_attempts"),
              "nightferry_failed_attempts{clinic=\"north\"} 2\n");
    state.pass_started = noon - 1min;
    reading.clinics[0].is_running = true;
    EXPECT_EQ(samples_of(reading, "nightferry_pass_running"),
              "nightferry_pass_running{clinic=\"north\"} 1\n");
    EXPECT_EQ(samples_of(reading, "nightferry_last_pass_duration_seconds"), "");
    EXPECT_THAT(samples_of(reading, "nightferry_last_pass_end_timestamp_seconds"), HasSubstr(" 1791805920\n"))
        << "a pass can wait for days, and who watches has to see it";
    EXPECT_THAT(samples_of(reading, "nightferry_last_pass_start_timestamp_seconds"),
                HasSubstr(" 1791806340\n"));
    state.pass_ended = Instant();
    EXPECT_EQ(samples_of(reading, "nightferry_last_pass_end_timestamp_seconds"), "") << "there was none yet";
}

TEST(MetricsTest, WhatIsWrongNowIsToldAsLongAsItIs) {
    Reading reading = quiet_hub();
    const auto levels = [&] {
        return samples_of(reading, "nightferry_ready") + samples_of(reading, "nightferry_settings_refused") +
               samples_of(reading, "nightferry_disk_full") +
               samples_of(reading, "nightferry_persons_left_out");
    };
    EXPECT_EQ(levels(),
              "nightferry_ready 1\nnightferry_settings_refused 0\nnightferry_disk_full 0\n"
              "nightferry_persons_left_out{clinic=\"north\"} 0\n");
    reading.is_ready = false;
    reading.settings_refused = reading.is_disk_full = true;
    reading.clinics[0].persons_left_out = 2;
    EXPECT_EQ(levels(),
              "nightferry_ready 0\nnightferry_settings_refused 1\nnightferry_disk_full 1\n"
              "nightferry_persons_left_out{clinic=\"north\"} 2\n");
}

TEST(MetricsTest, CountsGoOnAcrossSettings) {
    Counts before;
    before.handed_in = {{"inbox", {{"accepted", 3}}}};
    before.unreadable = {{"local", 1}};
    before.clinics["north"] = {{{"ended", 2}}, {{"2xx", 9}}, 100, 10};
    before.clinics["gone"] = {{{"ended", 7}}, {}, 0, 0};
    Counts now;
    now.handed_in = {{"inbox", {{"accepted", 1}, {"refused", 1}}}};
    now.clinics["north"] = {{{"ended", 1}, {"stopped", 1}}, {{"2xx", 1}}, 1, 1};
    now.add(before);
    EXPECT_EQ(now.handed_in.at("inbox"), (ByWord{{"accepted", 4}, {"refused", 1}}));
    EXPECT_EQ(now.unreadable, (ByWord{{"local", 1}}));
    const ClinicCounts& north = now.clinics.at("north");
    EXPECT_EQ(north.passes, (ByWord{{"ended", 3}, {"stopped", 1}}));
    EXPECT_EQ(north.requests, (ByWord{{"2xx", 10}}));
    EXPECT_EQ(north.sent_bytes, 101);
    EXPECT_EQ(north.received_bytes, 11);
    EXPECT_EQ(now.clinics.at("gone").passes, (ByWord{{"ended", 7}})) << "it may come back";
}

TEST(MetricsTest, WhatComesInIsCountedByWayAndAnswer) {
    Reading reading = quiet_hub();
    reading.handed_in = {{"inbox", {{"accepted", 7}, {"refused", 1}}}};
    reading.unreadable = {{"local", 2}};
    EXPECT_EQ(samples_of(reading, "nightferry_handed_in_entries_total"),
              "nightferry_handed_in_entries_total{way=\"inbox\",answer=\"accepted\"} 7\n"
              "nightferry_handed_in_entries_total{way=\"inbox\",answer=\"refused\"} 1\n");
    EXPECT_EQ(samples_of(reading, "nightferry_unreadable_hand_ins_total"),
              "nightferry_unreadable_hand_ins_total{way=\"local\"} 2\n")
        << "files and requests, which are no entries";
}

TEST(MetricsTest, EndOfThePagesCertificateIsToldWhileThereIsAPage) {
    Reading reading = quiet_hub();
    reading.page_certificate_ends = noon + 24h;
    EXPECT_EQ(samples_of(reading, "nightferry_page_certificate_expiry_timestamp_seconds"),
              "nightferry_page_certificate_expiry_timestamp_seconds 1791892800\n")
        << "date -u -d '2026-10-13 12:00' +%s";
}

TEST(MetricsTest, TheDoorTellsItsTrafficAndItsEnds) {
    Reading reading = quiet_hub();
    ClinicReading& north = reading.clinics[0];
    north.counted.requests = {{"2xx", 12}, {"unreachable", 3}};
    north.counted.sent_bytes = 1000;
    north.counted.received_bytes = 2000;
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

// Labels are where a name could get in: each has its own words, and no other.
TEST(MetricsTest, LabelsHoldFixedWordsVersionsAndNamesOfClinicsOnly) {
    Reading reading = quiet_hub();
    const ByWord all_results{{"ended", 1}, {"stopped", 1}, {"out_of_time", 1}};
    reading.handed_in = {{"inbox", {{"accepted", 1}}}};
    reading.unreadable = {{"local", 1}};
    ClinicReading& north = reading.clinics[0];
    north.counted = {all_results, {{"2xx", 1}}, 1, 1};
    north.state = {3, noon, noon, noon, {}, 1, 1, "stopped: Juniper is unknown here"};
    north.state.patients["juniper"] = {"urn:x|1", "Patient/p1"};
    north.token_ends = north.hub_certificate_ends = north.clinic_certificate_ends = noon;
    reading.data_free_bytes = reading.logbook_bytes = 1;
    reading.page_certificate_ends = noon;
    std::set<std::string> events;
    for (const LogEventKind& kind : log_events())
        events.insert(std::string(kind.name));
    const std::map<std::string_view, std::set<std::string>> allowed{
        {"version", {"0.1.0"}},
        {"clinic", {"north"}},
        {"event", events},
        {"way", {"inbox", "local"}},
        {"answer", {"accepted"}},
        {"state", {"waiting", "confirmed", "set_aside", "closed", "withdrawn"}},
        {"result", {"ended", "stopped", "out_of_time"}},
        {"outcome", {"2xx"}},
        {"whose", {"hub", "clinic"}},
    };
    for (const MetricFamily& family : metrics_of(reading)) {
        EXPECT_FALSE(family.samples.empty()) << family.name << " is looked at, too";
        for (const MetricFamily::Sample& sample : family.samples) {
            EXPECT_TRUE(std::regex_match(sample.value, std::regex("-?[0-9.]+"))) << family.name;
            for (const auto& [label, value] : sample.labels) {
                ASSERT_TRUE(allowed.contains(label)) << family.name << ": " << label;
                EXPECT_TRUE(allowed.at(label).contains(value))
                    << family.name << ": " << label << " " << value;
            }
        }
    }
}

}  // namespace

}  // namespace nightferry::watching
