// Requests on their way in: with which token they go, and what becomes of them where there is none.
#include "daemon/access/authorized_clinic.hpp"

#include <deque>

namespace nightferry::access {

namespace {

using namespace std::chrono_literals;
using sync::NoAnswer;
using testing::ElementsAre;
using Reached = NoAnswer::Reached;

class StillClock final : public Clock {
 public:
    Instant now() const override { return at; }
    Instant at{std::chrono::sys_days{std::chrono::year{2026} / 11 / 2} + 12h};
};

class ZeroRandom final : public Random {
 public:
    std::uint64_t below(std::uint64_t) override { return 0; }
};

// What is to happen next, in its order.
class Queue {
 public:
    void push(std::function<void()> what) { all_.push_back(std::move(what)); }
    void run() {
        while (!all_.empty()) {
            const auto next = std::move(all_.front());
            all_.pop_front();
            next();
        }
    }

 private:
    std::deque<std::function<void()>> all_;
};

class QueueAlarm final : public Alarm {
 public:
    explicit QueueAlarm(Queue& queue) : queue_(queue) {}
    void after(std::chrono::microseconds, std::function<void()> ring) override {
        queue_.push(std::move(ring));
    }
    void cancel() override {}

 private:
    Queue& queue_;
};

using Answers = std::function<sync::Reply(const HttpRequest&)>;

class PlayedServer final : public sync::ClinicPort {
 public:
    PlayedServer(Queue& queue, std::string name, std::vector<std::string>& seen, const Answers& answers)
        : queue_(queue), name_(std::move(name)), seen_(seen), answers_(answers) {}
    void send(HttpRequest request, std::function<void(sync::Reply)> done) override {
        const std::string with(header(request.headers, "Authorization"));
        seen_.push_back(name_ + " " + request.method + " " + request.target +
                        (with.empty() ? "" : ", " + with));
        queue_.push([this, request, done] { done(answers_(request)); });
    }
    void rest() override {}

 private:
    Queue& queue_;
    std::string name_;
    std::vector<std::string>& seen_;
    const Answers& answers_;
};

class AuthorizedClinicTest : public testing::Test {
 protected:
    AuthorizedClinicTest() {
        access_.method = Method::private_key_jwt;
        access_.client_id = "hub-7";
        static const SigningKey key = SigningKey::make(Algorithm::es384);
        access_.signers.push_back({key, Algorithm::es384, "key-1"});
        token_server_ = [this](const HttpRequest&) -> sync::Reply {
            return HttpAnswer{200,
                              {},
                              "{\"access_token\":\"t" + std::to_string(++tokens_) +
                                  "\",\"token_type\":\"bearer\",\"expires_in\":300}"};
        };
        clinic_ = [](const HttpRequest& request) -> sync::Reply {
            if (request.target == smart_configuration_path)
                return HttpAnswer{200, {}, R"({"token_endpoint":"https://login.example/token"})"};
            return HttpAnswer{200, {}, "{}"};
        };
    }

    AuthorizedClinic& door() {
        if (!door_) {
            door_.emplace(
                std::make_unique<PlayedServer>(queue_, "clinic", seen_, clinic_),
                TokenKeeper(access_, "https://clinic.example/fhir", random_),
                [this](const WebAddress& address) -> Result<std::unique_ptr<sync::ClinicPort>> {
                    if (!opens_) return Error{Errc::setup, "it does not open"};
                    return std::make_unique<PlayedServer>(queue_, address.host, seen_, token_server_);
                },
                clock_, alarm_);
        }
        return *door_;
    }

    // "200", or the words why there is no answer.
    std::string send(const std::string& target = "/metadata") {
        std::optional<sync::Reply> got;
        door().send({"GET", target, {}, {}}, [&](sync::Reply reply) {
            EXPECT_FALSE(got) << "answered twice";
            got = std::move(reply);
        });
        EXPECT_FALSE(got) << "never from inside send()";
        queue_.run();
        if (!got) return "nothing";
        if (const auto* none = std::get_if<NoAnswer>(&*got)) return none->words;
        return std::to_string(std::get<HttpAnswer>(*got).status);
    }
    std::vector<std::string> seen() { return std::exchange(seen_, {}); }

    Access access_;
    Answers clinic_;
    Answers token_server_;
    StillClock clock_;
    bool opens_ = true;

 private:
    Queue queue_;
    QueueAlarm alarm_{queue_};
    ZeroRandom random_;
    std::vector<std::string> seen_;
    int tokens_ = 0;
    std::optional<AuthorizedClinic> door_;
};

TEST_F(AuthorizedClinicTest, TokenIsGotOnceAndSentWithEveryRequest) {
    EXPECT_EQ(send(), "200");
    EXPECT_THAT(seen(), ElementsAre("clinic GET /.well-known/smart-configuration",
                                    "login.example POST /token", "clinic GET /metadata, Bearer t1"));
    EXPECT_EQ(send("/Patient"), "200");
    EXPECT_THAT(seen(), ElementsAre("clinic GET /Patient, Bearer t1"));
}

TEST_F(AuthorizedClinicTest, TokenThatRunsOutIsReplacedBeforeItIsRefused) {
    send();
    seen();
    clock_.at += 10min;
    EXPECT_EQ(send(), "200");
    EXPECT_THAT(seen(), ElementsAre("login.example POST /token", "clinic GET /metadata, Bearer t2"));
}

// RFC 6750 section 3.1: invalid_token.
TEST_F(AuthorizedClinicTest, RefusedTokenIsReplacedOnce) {
    clinic_ = [](const HttpRequest& request) -> sync::Reply {
        const bool is_old = header(request.headers, "Authorization") == "Bearer t1";
        if (request.target == smart_configuration_path)
            return HttpAnswer{200, {}, R"({"token_endpoint":"https://login.example/token"})"};
        return HttpAnswer{is_old ? 401 : 200, {}, ""};
    };
    EXPECT_EQ(send(), "200");
    EXPECT_THAT(seen(), ElementsAre("clinic GET /.well-known/smart-configuration",
                                    "login.example POST /token", "clinic GET /metadata, Bearer t1",
                                    "login.example POST /token", "clinic GET /metadata, Bearer t2"));
}

TEST_F(AuthorizedClinicTest, ClinicThatRefusesTheFreshOneTooIsNotAskedAgain) {
    access_.token_endpoint = "https://login.example/token";
    clinic_ = [](const HttpRequest&) -> sync::Reply { return HttpAnswer{401, {}, ""}; };
    EXPECT_EQ(send(), "401");
    EXPECT_THAT(seen(), testing::SizeIs(4));
    EXPECT_EQ(send(), "401");
    EXPECT_THAT(seen(), testing::SizeIs(3)) << "the token of before is tried, and then one more";
}

TEST_F(AuthorizedClinicTest, OtherRefusalsAreTheClinicsOwn) {
    access_.token_endpoint = "https://login.example/token";
    clinic_ = [](const HttpRequest&) -> sync::Reply { return HttpAnswer{403, {}, ""}; };
    EXPECT_EQ(send(), "403");
    EXPECT_THAT(seen(), testing::SizeIs(2));
}

TEST_F(AuthorizedClinicTest, WithoutATokenTheRequestStaysHere) {
    token_server_ = [](const HttpRequest&) -> sync::Reply {
        return HttpAnswer{401, {}, "{\"error\":\"invalid_client\"}"};
    };
    EXPECT_THAT(send(),
                testing::StartsWith("the token server refused: 'invalid_client'; the clinic needs what "));
    EXPECT_THAT(seen(),
                ElementsAre("clinic GET /.well-known/smart-configuration", "login.example POST /token"));
}

TEST_F(AuthorizedClinicTest, TokenServerThatCannotBeOpenedIsToldInWords) {
    opens_ = false;
    EXPECT_EQ(send(), "it does not open");
    EXPECT_THAT(seen(), ElementsAre("clinic GET /.well-known/smart-configuration"));
}

TEST_F(AuthorizedClinicTest, DoorWithoutALockSendsNoToken) {
    access_ = {};
    EXPECT_EQ(send(), "200");
    EXPECT_THAT(seen(), ElementsAre("clinic GET /metadata"));
}

}  // namespace

}  // namespace nightferry::access
