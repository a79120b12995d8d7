// What a service manager hears, on real sockets. The names and forms of the messages: sd_notify(3),
// "Well-known assignments", of systemd 252; the addresses: the same page, "Notes", and unix(7).
#include "daemon/net/service_manager.hpp"

#include <poll.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cstddef>
#include <cstdlib>

#include "tests/support/files.hpp"

namespace nightferry::net {

namespace {

using namespace std::chrono_literals;
using testing::HasSubstr;
using testing::MatchesRegex;

// The manager's end of the socket.
class Listener {
 public:
    explicit Listener(const std::string& address) : descriptor_(::socket(AF_UNIX, SOCK_DGRAM, 0)) {
        sockaddr_un own{};
        own.sun_family = AF_UNIX;
        address.copy(own.sun_path, sizeof own.sun_path - 1);
        if (address.starts_with('@')) own.sun_path[0] = '\0';
        const std::size_t path = address.starts_with('@') ? address.size() : address.size() + 1;
        const auto length = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + path);
        EXPECT_EQ(::bind(descriptor_, reinterpret_cast<const sockaddr*>(&own), length), 0);
    }
    Listener(const Listener&) = delete;
    Listener& operator=(const Listener&) = delete;
    ~Listener() { ::close(descriptor_); }

    // The next message, or "nothing".
    std::string heard() const {
        char bytes[4096];
        const ssize_t count = ::recv(descriptor_, bytes, sizeof bytes, MSG_DONTWAIT);
        return count < 0 ? "nothing" : std::string(bytes, static_cast<std::size_t>(count));
    }

 private:
    int descriptor_;
};

class ServiceManagerTest : public testing::Test {
 protected:
    void SetUp() override {
        for (const char* name : {"NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID"})
            ::unsetenv(name);
    }
    void TearDown() override { SetUp(); }

    test::TemporaryFolder folder_;
    std::string path_ = folder_ / "notify";
};

TEST_F(ServiceManagerTest, HearsEachStateWithAStatus) {
    const Listener listener(path_);
    ServiceManager manager(path_, std::nullopt);
    manager.ready("Nothing waits");
    EXPECT_EQ(listener.heard(), "READY=1\nSTATUS=Nothing waits");
    manager.reloading("Reading the settings again");
    EXPECT_THAT(listener.heard(),
                MatchesRegex("RELOADING=1\nMONOTONIC_USEC=[0-9]+\nSTATUS=Reading the settings again"));
    manager.stopping("Stopping");
    EXPECT_EQ(listener.heard(), "STOPPING=1\nSTATUS=Stopping");
    EXPECT_EQ(manager.failure(), "");
}

TEST_F(ServiceManagerTest, TimeOfAReloadIsThatOfTheMonotonicClock) {
    const Listener listener(path_);
    ServiceManager manager(path_, std::nullopt);
    const auto micros = [] {
        timespec now{};
        ::clock_gettime(CLOCK_MONOTONIC, &now);
        return now.tv_sec * 1'000'000LL + now.tv_nsec / 1000;
    };
    const long long before = micros();
    manager.reloading("r");
    const long long after = micros();
    const std::string heard = listener.heard();
    const long long told = std::stoll(heard.substr(heard.find("USEC=") + 5));
    EXPECT_LE(before, told);
    EXPECT_LE(told, after);
}

TEST_F(ServiceManagerTest, IsReachedAtAnAbstractAddress) {
    const std::string name = "@nightferry-test-" + std::to_string(::getpid());
    const Listener listener(name);
    ServiceManager manager(name, std::nullopt);
    manager.ready("r");
    EXPECT_EQ(listener.heard(), "READY=1\nSTATUS=r");
}

TEST_F(ServiceManagerTest, HearsAStatusOnlyWhenItChanges) {
    const Listener listener(path_);
    ServiceManager manager(path_, std::nullopt);
    manager.ready("one");
    listener.heard();
    manager.status("one");
    EXPECT_EQ(listener.heard(), "nothing");
    manager.status("two\nREADY=1");
    EXPECT_EQ(listener.heard(), "STATUS=two READY=1") << "a line break would begin another variable";
}

TEST_F(ServiceManagerTest, HearsOfLifeOnlyWhereItWatches) {
    const Listener listener(path_);
    ServiceManager unwatched(path_, std::nullopt);
    unwatched.alive();
    EXPECT_EQ(listener.heard(), "nothing");
    ServiceManager watched(path_, 30s);
    watched.alive();
    EXPECT_EQ(listener.heard(), "WATCHDOG=1");
}

TEST_F(ServiceManagerTest, IsAskedForTimeNotAtEveryStep) {
    const Listener listener(path_);
    ServiceManager manager(path_, 30s);
    for (int step = 0; step < 100; ++step)
        manager.still_busy();
    EXPECT_EQ(listener.heard(), "EXTEND_TIMEOUT_USEC=60000000");
    EXPECT_EQ(listener.heard(), "WATCHDOG=1");
    EXPECT_EQ(listener.heard(), "nothing");
}

TEST_F(ServiceManagerTest, IsFoundInTheEnvironment) {
    const Listener listener(path_);
    ::setenv("NOTIFY_SOCKET", path_.c_str(), 1);
    ::setenv("WATCHDOG_USEC", "300000000", 1);
    ServiceManager any = ServiceManager::of_this_process();
    EXPECT_EQ(any.watchdog(), 5min) << "without a process named, this one is meant";
    any.ready("r");
    EXPECT_EQ(listener.heard(), "READY=1\nSTATUS=r");
    ::setenv("WATCHDOG_PID", std::to_string(::getpid()).c_str(), 1);
    EXPECT_EQ(ServiceManager::of_this_process().watchdog(), 5min);
    ::setenv("WATCHDOG_PID", "1", 1);
    EXPECT_EQ(ServiceManager::of_this_process().watchdog(), std::nullopt) << "another process is meant";
    for (const char* nonsense : {"", "soon", "-1", "0", "5s"}) {
        ::setenv("WATCHDOG_PID", std::to_string(::getpid()).c_str(), 1);
        ::setenv("WATCHDOG_USEC", nonsense, 1);
        EXPECT_EQ(ServiceManager::of_this_process().watchdog(), std::nullopt) << nonsense;
    }
}

TEST_F(ServiceManagerTest, WithoutOneNothingHappens) {
    ServiceManager nobody = ServiceManager::of_this_process();
    nobody.ready("r");
    nobody.alive();
    nobody.still_busy();
    nobody.stopping("s");
    EXPECT_EQ(nobody.failure(), "");
}

TEST_F(ServiceManagerTest, OneThatIsNotThereHarmsNothingAndIsTold) {
    ServiceManager gone(path_, 30s);
    gone.ready("r");
    EXPECT_THAT(gone.failure(), HasSubstr("No such file"));
    for (const std::string& address : {std::string("relative"), std::string("vsock:2:1234"),
                                       "/" + std::string(sizeof(sockaddr_un::sun_path), 'x')}) {
        ServiceManager odd(address, std::nullopt);
        odd.ready("r");
        EXPECT_THAT(odd.failure(), HasSubstr("NOTIFY_SOCKET")) << address;
    }
}

TEST_F(ServiceManagerTest, OneThatDoesNotListenHoldsNothingUpForLong) {
    const Listener deaf(path_);
    ServiceManager manager(path_, std::nullopt);
    // Until its queue is full: net.unix.max_dgram_qlen messages.
    for (int message = 0; message < 10'000 && manager.failure().empty(); ++message)
        manager.ready("r" + std::to_string(message));
    EXPECT_THAT(manager.failure(), HasSubstr("temporarily unavailable"));
}

}  // namespace

}  // namespace nightferry::net
