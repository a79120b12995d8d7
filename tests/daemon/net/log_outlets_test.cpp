// The journal's socket, with a journal of the test's own behind it.
#include "daemon/net/log_outlets.hpp"

#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include "tests/support/files.hpp"

namespace nightferry::net {

namespace {

using Sent = Journal::Sent;

class JournalTest : public testing::Test {
 protected:
    void TearDown() override { close_journal(); }

    void open_journal() {
        sockaddr_un address{};
        address.sun_family = AF_UNIX;
        ASSERT_LT(socket_.native().size(), sizeof address.sun_path);
        socket_.native().copy(address.sun_path, sizeof address.sun_path - 1);
        descriptor_ = ::socket(AF_UNIX, SOCK_DGRAM | SOCK_NONBLOCK, 0);
        ASSERT_EQ(::bind(descriptor_, reinterpret_cast<const sockaddr*>(&address), sizeof address), 0);
    }
    void close_journal() {
        if (descriptor_ >= 0) ::close(std::exchange(descriptor_, -1));
        ::unlink(socket_.c_str());
    }
    std::string next_entry() {
        std::string bytes(64 * 1024, '\0');
        const auto size = ::recv(descriptor_, bytes.data(), bytes.size(), 0);
        return size < 0 ? "nothing" : bytes.substr(0, static_cast<std::size_t>(size));
    }

    test::TemporaryFolder folder_;
    std::filesystem::path socket_ = folder_ / "journal";
    int descriptor_ = -1;
};

TEST_F(JournalTest, EachEntryIsADatagram) {
    open_journal();
    Journal journal(socket_);
    EXPECT_EQ(journal.send("MESSAGE=a\n"), Sent::yes);
    EXPECT_EQ(journal.send("MESSAGE=b\n"), Sent::yes);
    EXPECT_EQ(next_entry(), "MESSAGE=a\n");
    EXPECT_EQ(next_entry(), "MESSAGE=b\n");
}

TEST_F(JournalTest, WithoutAJournalNothingIsTaken) {
    Journal journal(socket_);
    EXPECT_EQ(journal.send("MESSAGE=a\n"), Sent::no);
    EXPECT_EQ(Journal("/run/" + std::string(200, 'x')).send("MESSAGE=a\n"), Sent::no)
        << "no socket has such a path";
}

TEST_F(JournalTest, AJournalThatIsStartedAgainGetsTheNextEntry) {
    open_journal();
    Journal journal(socket_);
    EXPECT_EQ(journal.send("MESSAGE=a\n"), Sent::yes);
    close_journal();
    EXPECT_EQ(journal.send("MESSAGE=b\n"), Sent::no);
    open_journal();
    EXPECT_EQ(journal.send("MESSAGE=c\n"), Sent::yes);
    EXPECT_EQ(next_entry(), "MESSAGE=c\n");
}

TEST_F(JournalTest, AJournalThatIsHeldUpHoldsUpNobody) {
    open_journal();
    Journal journal(socket_);
    Sent sent = Sent::yes;
    for (int i = 0; sent == Sent::yes && i < 100'000; ++i)
        sent = journal.send("MESSAGE=nobody reads this\n");
    EXPECT_EQ(sent, Sent::held_up);
}

TEST(StandardErrorTest, LeadsToTheJournalWhereJournalStreamNamesTheSameFile) {
    // systemd.exec(5), JOURNAL_STREAM: device and inode in decimal, with a colon between them.
    struct stat status {};
    ASSERT_EQ(::fstat(STDERR_FILENO, &status), 0);
    ::unsetenv("JOURNAL_STREAM");
    EXPECT_FALSE(is_standard_error_the_journal());
    const std::string device = std::to_string(status.st_dev) + ":";
    ::setenv("JOURNAL_STREAM", (device + std::to_string(status.st_ino)).c_str(), 1);
    EXPECT_TRUE(is_standard_error_the_journal());
    ::setenv("JOURNAL_STREAM", (device + std::to_string(status.st_ino + 1)).c_str(), 1);
    EXPECT_FALSE(is_standard_error_the_journal()) << "it was led elsewhere since";
    ::unsetenv("JOURNAL_STREAM");
}

}  // namespace

}  // namespace nightferry::net
