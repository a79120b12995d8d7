// What those hear who watch over services.
#include "daemon/watching/api.hpp"

#include <gtest/gtest.h>

#include "daemon/watching/open_metrics.hpp"
#include "daemon/watching/readiness.hpp"

namespace nightferry::watching {

namespace {

using testing::HasSubstr;

struct TestHub final : Watched {
    Result<Reading> read() override {
        if (failure) return *failure;
        return Reading{};
    }
    Condition condition() const override { return now; }

    Condition now{{}, {}, 1ull << 30};
    std::optional<Error> failure;
};

class WatchingApiTest : public testing::Test {
 protected:
    HttpAnswer get(const std::string& target) { return api_.answer({"GET", target, {}, {}}); }

    TestHub hub_;
    Api api_{hub_};
};

TEST_F(WatchingApiTest, AHubThatAnswersIsAlive) {
    hub_.now.data_free_bytes = 0;
    hub_.failure = Error{Errc::storage, "the disk failed"};
    const HttpAnswer answer = get("/v1/health");
    EXPECT_EQ(answer.status, 200);
    EXPECT_EQ(answer.body, "{\"alive\":true}\n");
}

TEST_F(WatchingApiTest, AHubThatCanTakeEntriesInIsReady) {
    EXPECT_EQ(get("/v1/ready").status, 200);
    EXPECT_EQ(get("/v1/ready").body, "{\"ready\":true}\n");
    hub_.now.data_free_bytes.reset();
    EXPECT_EQ(get("/v1/ready").status, 200) << "what is not known is no reason";
}

TEST_F(WatchingApiTest, EachThingInTheWayIsToldInWords) {
    hub_.now = {"Read-only file system", "No such file or directory", room_min_bytes - 1};
    const HttpAnswer answer = get("/v1/ready?verbose");
    EXPECT_EQ(answer.status, 503);
    EXPECT_THAT(answer.body, HasSubstr("\"ready\":false"));
    EXPECT_THAT(answer.body, HasSubstr("the data folder cannot be written to: Read-only file system; "));
    EXPECT_THAT(answer.body, HasSubstr("the disk of the data folder is full: 1048575 bytes are free; "));
    EXPECT_THAT(answer.body, HasSubstr("the inbox cannot be read and emptied: No such file or directory; "));
    hub_.now = {{}, {}, room_min_bytes};
    EXPECT_EQ(get("/v1/ready").status, 200);
}

TEST_F(WatchingApiTest, MetricsComeWithTheirContentType) {
    const HttpAnswer answer = get("/metrics");
    EXPECT_EQ(answer.status, 200);
    // https://prometheus.io/docs/specs/om/open_metrics_spec/, "Overall Structure".
    EXPECT_EQ(header(answer.headers, "Content-Type"),
              "application/openmetrics-text; version=1.0.0; charset=utf-8");
    EXPECT_THAT(answer.body, testing::EndsWith("# EOF\n"));
    EXPECT_FALSE(api_.failed());
}

TEST_F(WatchingApiTest, LogbookThatCannotBeReadIsTold) {
    hub_.failure = Error{Errc::storage, "the disk failed"};
    EXPECT_EQ(get("/metrics").status, 500);
    EXPECT_EQ(api_.failed()->code, Errc::storage);
}

TEST_F(WatchingApiTest, NothingElseIsThereAndNothingCanBeChanged) {
    EXPECT_EQ(get("/v1/entries").status, 404);
    EXPECT_EQ(get("/metrics/x").status, 404);
    EXPECT_FALSE(Api::is_for("/v1/queue"));
    const HttpAnswer refused = api_.answer({"POST", "/metrics", {}, {}});
    EXPECT_EQ(refused.status, 405);
    // RFC 9110 section 15.5.6: an Allow header field has to come with it.
    EXPECT_EQ(header(refused.headers, "Allow"), "GET, HEAD");
    // RFC 9110 section 9.3.2: HEAD is answered as GET is.
    EXPECT_EQ(api_.answer({"HEAD", "/v1/ready", {}, {}}).status, 200);
    hub_.now.inbox_trouble = "it is gone";
    EXPECT_EQ(api_.answer({"HEAD", "/v1/ready", {}, {}}).status, 503);
}

}  // namespace

}  // namespace nightferry::watching
