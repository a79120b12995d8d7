// The local socket from both ends: HttpServer::open_local and call_local.
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <boost/asio/io_context.hpp>
#include <future>
#include <thread>

#include "daemon/net/http_server.hpp"
#include "daemon/net/local_client.hpp"
#include "tests/support/files.hpp"

namespace nightferry::net {

namespace {

HttpAnswer echo(const HttpRequest& request) {
    return {200,
            {{"X-Kind", std::string(header(request.headers, "Content-Type"))}},
            request.method + " " + request.target + " " + request.body};
}

// A server on a thread of its own, as call_local blocks.
class RunningServer {
 public:
    explicit RunningServer(const std::filesystem::path& socket, HttpServer::Handler handler = echo,
                           ServerLimits limits = {})
        : server_(HttpServer::open_local(loop_, socket, std::move(handler), limits).value()),
          thread_([this] { loop_.run(); }) {}
    RunningServer(const RunningServer&) = delete;
    RunningServer& operator=(const RunningServer&) = delete;
    ~RunningServer() {
        loop_.stop();
        thread_.join();
    }

 private:
    boost::asio::io_context loop_;
    std::unique_ptr<HttpServer> server_;
    std::thread thread_;
};

class LocalSocketTest : public testing::Test {
 protected:
    HttpAnswer call(const HttpRequest& request) const { return call_local(socket_, request).value(); }

    // What a killed daemon leaves behind: a socket file nobody listens on.
    void leave_stale_socket() const {
        sockaddr_un address{};
        address.sun_family = AF_UNIX;
        ASSERT_LT(socket_.native().size(), sizeof address.sun_path);
        socket_.native().copy(address.sun_path, sizeof address.sun_path - 1);
        const int descriptor = ::socket(AF_UNIX, SOCK_STREAM, 0);
        ASSERT_EQ(::bind(descriptor, reinterpret_cast<const sockaddr*>(&address), sizeof address), 0);
        ::close(descriptor);
    }

    test::TemporaryFolder folder_;
    std::filesystem::path socket_ = folder_ / "hub.sock";
};

TEST_F(LocalSocketTest, RequestArrivesAndItsAnswerComesBack) {
    const RunningServer server(socket_);
    const HttpAnswer answer = call({"POST", "/v1/entries?x=1", {{"Content-Type", "text/csv"}}, "a,b\n"});
    EXPECT_EQ(answer.status, 200);
    EXPECT_EQ(header(answer.headers, "X-Kind"), "text/csv");
    EXPECT_EQ(answer.body, "POST /v1/entries?x=1 a,b\n");
    EXPECT_EQ(call({"GET", "/v1/queue", {}, {}}).body, "GET /v1/queue ");
}

TEST_F(LocalSocketTest, StatusOfTheHandlerIsPassedOn) {
    const RunningServer server(socket_, [](const HttpRequest&) { return HttpAnswer{507, {}, "full"}; });
    EXPECT_EQ(call({"GET", "/", {}, {}}).status, 507);
}

TEST_F(LocalSocketTest, LargeBodiesGoBothWays) {
    const RunningServer server(socket_);
    const std::string body(8 * 1024 * 1024, 'b');  // As large as the server takes.
    EXPECT_EQ(call({"POST", "/", {}, body}).body, "POST / " + body);
}

TEST_F(LocalSocketTest, BodyOverTheLimitGets413) {
    ServerLimits limits;
    limits.body_bytes = 1000;
    const RunningServer server(socket_, echo, limits);
    EXPECT_EQ(call({"POST", "/", {}, std::string(1000, 'b')}).status, 200);
    const HttpAnswer refused = call({"POST", "/", {}, std::string(1001, 'b')});
    EXPECT_EQ(refused.status, 413);
    EXPECT_EQ(refused.body, "{\"error\":\"the request is larger than this hub takes at once\"}\n");
}

TEST_F(LocalSocketTest, NobodyListeningIsUnreachable) {
    const auto missing = call_local(socket_, {"GET", "/", {}, {}});
    ASSERT_FALSE(missing);
    EXPECT_EQ(missing.error().code, Errc::unreachable);
    EXPECT_THAT(missing.error().detail, testing::HasSubstr("nobody listens on " + socket_.string()));
    leave_stale_socket();
    const auto stale = call_local(socket_, {"GET", "/", {}, {}});
    ASSERT_FALSE(stale);
    EXPECT_EQ(stale.error().code, Errc::unreachable);
}

TEST_F(LocalSocketTest, AnAnswerThatIsLateIsToldFromNobodyListening) {
    std::promise<void> asked_for_long_enough;
    const RunningServer server(socket_, [&](const HttpRequest& request) {
        asked_for_long_enough.get_future().wait();
        return echo(request);
    });
    const auto late = call_local(socket_, {"GET", "/", {}, {}}, std::chrono::seconds{1});
    asked_for_long_enough.set_value();
    ASSERT_FALSE(late);
    EXPECT_EQ(late.error().code, Errc::locked);
    EXPECT_THAT(late.error().detail, testing::HasSubstr("has not answered for 1 second"));
}

TEST_F(LocalSocketTest, StaleSocketFileIsReplaced) {
    leave_stale_socket();
    ASSERT_TRUE(std::filesystem::is_socket(socket_));
    const RunningServer server(socket_);
    EXPECT_EQ(call({"GET", "/", {}, {}}).status, 200);
}

TEST_F(LocalSocketTest, SocketOfARunningServerIsRefusedAndGoesOn) {
    const RunningServer first(socket_);
    boost::asio::io_context loop;
    const auto second = HttpServer::open_local(loop, socket_, echo);
    ASSERT_FALSE(second);
    EXPECT_EQ(second.error().code, Errc::locked);
    EXPECT_EQ(second.error().detail, "another nightferryd listens on " + socket_.string());
    EXPECT_EQ(call({"GET", "/", {}, {}}).status, 200);
}

TEST_F(LocalSocketTest, AnythingElseInTheWayIsRefusedAndLeftAlone) {
    boost::asio::io_context loop;
    test::write_file(socket_, "a diary");
    const auto refused = HttpServer::open_local(loop, socket_, echo);
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().code, Errc::setup);
    EXPECT_EQ(refused.error().detail, socket_.string() + " is there and no socket; move it away");
    EXPECT_EQ(test::read_file(socket_), "a diary");
    std::filesystem::remove(socket_);
    std::filesystem::create_symlink(folder_ / "other.sock", socket_);
    EXPECT_EQ(HttpServer::open_local(loop, socket_, echo).error().code, Errc::setup);
    EXPECT_TRUE(std::filesystem::is_symlink(socket_));
}

TEST_F(LocalSocketTest, AFolderThatIsNotThereIsASetupError) {
    boost::asio::io_context loop;
    const auto refused = HttpServer::open_local(loop, folder_ / "missing" / "hub.sock", echo);
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().code, Errc::setup);
    EXPECT_THAT(refused.error().detail, testing::StartsWith("cannot listen on "));
}

TEST_F(LocalSocketTest, UserAndGroupMayUseTheSocketAndNobodyElse) {
    for (const mode_t mask : {0022, 0077, 0000}) {
        const mode_t before = ::umask(mask);
        {
            const RunningServer server(socket_);
            struct stat status {};
            ASSERT_EQ(::lstat(socket_.c_str(), &status), 0);
            EXPECT_EQ(status.st_mode & 07777, 0660u);
        }
        EXPECT_EQ(::umask(before), mask);
    }
}

TEST_F(LocalSocketTest, SocketFileIsRemovedAtTheEnd) {
    {
        const RunningServer server(socket_);
        EXPECT_TRUE(std::filesystem::is_socket(socket_));
    }
    EXPECT_FALSE(std::filesystem::exists(std::filesystem::symlink_status(socket_)));
}

}  // namespace

}  // namespace nightferry::net
