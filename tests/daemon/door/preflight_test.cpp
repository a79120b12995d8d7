// Trying a clinic's door: what each answer means, and that nothing but a test record is ever written.
#include "daemon/door/preflight.hpp"

#include "fhir/check/validator.hpp"
#include "fhir/json/reader.hpp"
#include "tests/daemon/sync/clinic.hpp"

namespace nightferry::door {

namespace {

using namespace test;
using testing::AllOf;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;
using Stage = net::Arrival::Stage;

constexpr char numbers[] = "https://clinic.example/numbers";

std::string told(const Step& step) {
    return std::string(word_for(step.result)) + " " + step.name + ": " + step.words;
}

class PreflightTest : public testing::Test {
 protected:
    PreflightTest() {
        clinic_.name = "north";
        clinic_.base = *WebAddress::parse("https://clinic.example/fhir");
        clinic_.patients["juniper"] = config::PatientIdentifier{numbers, "T-1"};
        clinic_.authorization.method = config::Authorization::Method::private_key_jwt;
        there_.take_up(numbers, "T-1");
    }

    using World = std::function<sync::Reply(const HttpRequest&)>;
    // Plays a preflight to its end; what each step says.
    std::vector<std::string> play(const World& world, bool test_record = false) {
        Preflight preflight(
            clinic_,
            {{hub_system, "urn:uuid:6ba7b810-9dad-41d1-80b4-00c04fd430c8", "home-7", test_now(), {}, false},
             test_record});
        for (int asked = 0; asked < 20; ++asked) {
            const auto ask = preflight.next();
            if (!ask) break;
            requests_.push_back(ask->request);
            preflight.answered(
                {world(ask->request), arrival_, test_now() + std::chrono::minutes{5}, remarks_, test_now()});
        }
        EXPECT_FALSE(preflight.next()) << "it never ends";
        is_good_ = is_good(preflight.steps());
        std::vector<std::string> all;
        for (const Step& step : preflight.steps())
            all.push_back(told(step));
        return all;
    }
    std::vector<std::string> play(bool test_record = false) {
        return play([this](const HttpRequest& request) { return there_.answer(request); }, test_record);
    }
    // The good clinic, but for what is asked for by targets that begin like this.
    std::vector<std::string> play_with(const std::string& target, const sync::Reply& reply,
                                       bool test_record = false) {
        return play(
            [&](const HttpRequest& request) -> sync::Reply {
                if (request.target.starts_with(target)) return reply;
                return there_.answer(request);
            },
            test_record);
    }

    config::Clinic clinic_;
    Clinic there_;
    net::Arrival arrival_{Stage::trusted,
                          {"192.0.2.1", "2001:db8::1"},
                          "192.0.2.1:443",
                          "TLSv1.3 with TLS_AES_256_GCM_SHA384",
                          test_now() + std::chrono::days{60}};
    std::vector<access::Remark> remarks_;
    std::vector<HttpRequest> requests_;
    bool is_good_ = false;
};

TEST_F(PreflightTest, EveryStepAtAGoodClinicIsTold) {
    const auto steps = play();
    EXPECT_TRUE(is_good_);
    ASSERT_GE(steps.size(), 9u);
    EXPECT_EQ(steps[0], "good name: clinic.example is at 192.0.2.1 and 2001:db8::1");
    EXPECT_EQ(steps[1], "good connection: 192.0.2.1:443 answers");
    EXPECT_EQ(steps[2], "good TLS: TLSv1.3 with TLS_AES_256_GCM_SHA384; clinic.example is who it has to be");
    EXPECT_THAT(steps[3], StartsWith("good certificate: those of the server are good until "));
    EXPECT_THAT(steps[4], StartsWith("good sign-in: got a token, good until "));
    EXPECT_THAT(steps[5], AllOf(StartsWith("good server: FHIR R4 (it says '4.0.1')"),
                                HasSubstr("takes transactions, creates on condition, checks versions")));
    EXPECT_THAT(steps[6], StartsWith("good patient: 'juniper' is Patient/"));
    EXPECT_EQ(steps[7], "good permission: offered are MedicationAdministration, Observation and Provenance");
    EXPECT_EQ(steps[8], "good validation: MedicationAdministration: the server would take it");
    EXPECT_EQ(steps.back(), "good validation: Observation: the server would take it");
}

TEST_F(PreflightTest, NothingIsWrittenUnlessItIsAskedFor) {
    play();
    for (const HttpRequest& request : requests_)
        EXPECT_TRUE(request.method == "GET" || request.target.ends_with("/$validate")) << request.target;
}

TEST_F(PreflightTest, TestRecordIsWrittenOnceAndRetracted) {
    const auto steps = play(true);
    EXPECT_TRUE(is_good_);
    EXPECT_THAT(steps, Contains(StartsWith("good test record: it was taken as Observation/")));
    EXPECT_THAT(steps.back(), HasSubstr(" was marked as entered in error"));
    const HttpRequest& last = requests_.back();
    EXPECT_EQ(last.method, "PUT");
    const auto there = fhir::json::read(there_.answer({"GET", last.target, {}, {}}).body);
    EXPECT_EQ(there->root().string_at("status"), "entered-in-error");
}

TEST_F(PreflightTest, NoTestRecordIsWrittenWhereSomethingIsWrong) {
    clinic_.patients["juniper"] = config::PatientIdentifier{numbers, "T-2"};
    const auto steps = play(true);
    EXPECT_FALSE(is_good_);
    EXPECT_THAT(steps, Not(Contains(HasSubstr("test record"))));
}

TEST_F(PreflightTest, EachStepOfTheWayThatFailsIsTheLastOne) {
    const sync::NoAnswer none{sync::NoAnswer::Reached::no, "so it is"};
    const std::map<Stage, std::string> names{{Stage::nowhere, "name"},
                                             {Stage::named, "connection"},
                                             {Stage::connected, "TLS"},
                                             {Stage::trusted, "answer"}};
    for (const auto& [stage, name] : names) {
        arrival_.stage = stage;
        EXPECT_EQ(play_with("/", none).back(), "bad " + name + ": so it is");
        EXPECT_FALSE(is_good_);
    }
    EXPECT_EQ(requests_.size(), names.size()) << "one question each";
}

TEST_F(PreflightTest, ProxyIsAStepOfItsOwn) {
    clinic_.proxy = config::ProxySettings{"proxy.example", 3128, {}};
    arrival_.stage = Stage::connected;
    EXPECT_EQ(play_with("/", sync::NoAnswer{sync::NoAnswer::Reached::untrusted, "HTTP 407"}).back(),
              "bad proxy: HTTP 407");
    arrival_.stage = Stage::trusted;
    EXPECT_THAT(play(), Contains("good proxy: it opens a way to clinic.example"));
}

TEST_F(PreflightTest, CertificateThatEndsSoonIsNoted) {
    arrival_.trust_ends = test_now() + std::chrono::days{20};
    EXPECT_THAT(play(), Contains(StartsWith("note certificate: ")));
    EXPECT_TRUE(is_good_);
}

TEST_F(PreflightTest, RefusedSignInEndsIt) {
    int asked = 0;
    const auto steps = play([&](const HttpRequest& request) -> sync::Reply {
        if (++asked == 1) return there_.answer(request);
        return sync::NoAnswer{sync::NoAnswer::Reached::untrusted,
                              "the token server refused: 'invalid_client'"};
    });
    EXPECT_EQ(steps.back(), "bad sign-in: the token server refused: 'invalid_client'");
    EXPECT_EQ(asked, 2);
}

TEST_F(PreflightTest, RemarksOfTheSignInAreNoted) {
    remarks_ = {{LogEvent::scope_narrowed, "the clinic's token allows less than was asked for"}};
    EXPECT_THAT(play(), Contains("note sign-in: the clinic's token allows less than was asked for"));
}

TEST_F(PreflightTest, WhatIsNoFhirServerIsTold) {
    EXPECT_THAT(
        play_with("/metadata", HttpAnswer{200, {}, "<html>Sign in</html>"}).back(),
        StartsWith("bad server: a web page answers where the clinic's server should say what it can do"));
    EXPECT_THAT(play_with("/metadata", outcome(404, "nothing here")).back(),
                StartsWith("bad server: it does not say what it can do: HTTP 404"));
}

TEST_F(PreflightTest, ReleaseThatIsNotSpokenHereIsTold) {
    HttpAnswer statement = there_.answer({"GET", "/metadata", {}, {}});
    statement.body.replace(statement.body.find("4.0.1"), 5, "3.0.2");
    EXPECT_EQ(play_with("/metadata", statement).back(),
              "bad server: it speaks FHIR '3.0.2'; this hub speaks 4.0, 4.3 and 5.0");
}

TEST_F(PreflightTest, PatientWhoIsNotTheOneIsTold) {
    clinic_.patients["juniper"] = std::string("Patient/p0");
    EXPECT_THAT(play(),
                Contains(StartsWith("bad patient: nothing would be sent for 'juniper': the clinic knows no "
                                    "'Patient/p0'")));
}

TEST_F(PreflightTest, ServerThatShowsNoPatientsIsNoted) {
    clinic_.patients["juniper"] = std::string("Patient/p0");
    EXPECT_THAT(play_with("/Patient/", outcome(403, "not for you")),
                Contains(StartsWith("note patient: the server does not show whether Patient/p0 is there")));
    EXPECT_TRUE(is_good_);
}

TEST_F(PreflightTest, VerdictOfTheServerIsToldInItsWords) {
    EXPECT_THAT(play_with("/Observation/$validate", outcome(200, "a category is missing")),
                Contains(AllOf(StartsWith("note validation: Observation: the server would refuse"),
                               HasSubstr("a category is missing"))));
}

TEST_F(PreflightTest, TestRecordThatMayBeThereIsNamed) {
    const sync::NoAnswer none{sync::NoAnswer::Reached::perhaps, "no answer in time"};
    const auto steps = play(
        [&](const HttpRequest& request) -> sync::Reply {
            if (request.method == "POST" && request.target == "/Observation") return none;
            return there_.answer(request);
        },
        true);
    EXPECT_EQ(steps.back(),
              "bad test record: it was not taken: no answer in time; if it is there all the same, it is an "
              "Observation with the identifier urn:uuid:6ba7b810-9dad-41d1-80b4-00c04fd430c8");
}

// By the published definitions of each release; the label is a code of v3-ActReason
// (https://terminology.hl7.org/CodeSystem-v3-ActReason.html).
TEST(TestResourcesTest, TheyAreValidInEveryRelease) {
    TestRecord record{hub_system, "urn:uuid:6ba7b810-9dad-41d1-80b4-00c04fd430c8", "home-7", test_now(), {},
                      false};
    for (const fhir::spec::Release release : fhir::spec::releases) {
        for (const bool in_error : {false, true}) {
            record.in_error = in_error;
            for (const std::string& text :
                 {test_observation(record, release), test_administration(record, "Patient/p1", release)}) {
                const auto document = fhir::json::read(text);
                fhir::check::Options errors_only;
                errors_only.warnings = false;
                const auto report = fhir::check::validate(document->root(), release, errors_only);
                for (const auto& issue : report.issues)
                    ADD_FAILURE() << fhir::spec::name_of(release) << " " << issue.expression << ": "
                                  << issue.text;
                EXPECT_THAT(text, HasSubstr(R"("code":"HTEST")"));
            }
        }
    }
}

}  // namespace

}  // namespace nightferry::door
