// A full disk: nothing half done, said in words, and everything works again once there is room.
#include "tests/daemon/logbook/simulated.hpp"

namespace nightferry::logbook {

namespace {

using namespace test;
using testing::HasSubstr;

std::uint64_t used(const SimulatedHome& home) {
    std::uint64_t sum = 0;
    for (const std::string& path : home.disk.files_in("/home"))
        sum += *home.disk.size(path);
    return sum;
}

void leave_room(SimulatedHome& home, std::uint64_t bytes) {
    sim::Faults faults;
    faults.capacity = used(home) + bytes;
    home.set_faults(faults);
}

const std::vector<Arrival>& a_batch() {
    static const std::vector<Arrival> batch = [] {
        std::vector<Arrival> arrivals;
        for (int i = 0; i < 40; ++i)
            arrivals.push_back(arrival(a_weight("b" + std::to_string(i)), {"north", "south"}));
        return arrivals;
    }();
    return batch;
}

TEST(DiskFullTest, NothingIsHalfAcceptedWhereverTheRoomEnds) {
    int refused = 0;
    for (std::uint64_t room = 0; room < 120'000; room += 3001) {
        SCOPED_TRACE(room);
        SimulatedHome home(room);
        Acknowledged acknowledged;
        {
            Process now = home.process();
            EXPECT_TRUE(now.accept("w0", acknowledged).has_value());
            leave_room(home, room);
            auto verdicts = now.book().accept(a_batch(), test_now());
            if (!verdicts) {
                ++refused;
                EXPECT_EQ(verdicts.error().code, Errc::disk_full);
                EXPECT_THAT(verdicts.error().detail, HasSubstr("there is no room on the disk"));
                EXPECT_EQ(now.book().list({}).value().records.size(), 1u);
                EXPECT_EQ(now.outbox().counts("south").value().waiting, 0);
                home.set_faults({});
                verdicts = now.book().accept(a_batch(), test_now());
            }
            ASSERT_TRUE(verdicts.has_value()) << verdicts.error().detail;
            EXPECT_EQ(verdicts->at(39).kind, Verdict::Kind::add);
            home.disk.die();
        }
        home.set_faults({});
        for (int i = 0; i < 40; ++i)
            acknowledged.accepted.insert("b" + std::to_string(i));
        sim::Dice dice(room);
        home.disk.cut_power(dice);
        home.expect_whole(acknowledged);
    }
    EXPECT_GT(refused, 20);
}

TEST(DiskFullTest, StartWithoutRoomSaysSoChangesNothingAndWorksLater) {
    for (const bool clean : {true, false}) {
        SimulatedHome home;
        Acknowledged acknowledged;
        {
            Process now = home.process();
            EXPECT_TRUE(now.accept("w0", acknowledged).has_value());
            if (clean) {
                EXPECT_TRUE(now.db().close_cleanly().has_value());
            }
        }
        leave_room(home, 0);
        const std::string before = home.disk.bytes(home.file);
        for (int start = 0; start < 3; ++start) {
            const Error error = home.process().error();
            EXPECT_EQ(error.code, Errc::disk_full) << error.detail;
            EXPECT_THAT(error.detail, HasSubstr("/home/logbook.sqlite"));
            EXPECT_THAT(error.detail,
                        HasSubstr("everything in it is safe, and it opens again when there is room"));
            EXPECT_TRUE(home.disk.bytes(home.file) == before);
        }
        home.set_faults({});
        home.expect_whole(acknowledged);
    }
}

TEST(DiskFullTest, VeryFirstStartWithoutRoomWorksLater) {
    for (std::uint64_t room = 0; room < 100'000; room += 1500) {
        SimulatedHome home;
        leave_room(home, room);
        const Error error = home.process().error();
        EXPECT_TRUE(error.detail.empty() || error.code == Errc::disk_full) << room << error.detail;
        home.set_faults({});
        home.expect_whole({});
    }
}

TEST(DiskFullTest, MigrationWithoutRoomForTheCopyLeavesTheOldFile) {
    for (std::uint64_t room = 0; room < 250'000; room += 7000) {
        SCOPED_TRACE(room);
        SimulatedHome home;
        put_empty_logbook(home.file, 1);
        leave_room(home, room);
        const Error error = home.process().error();
        if (!error.detail.empty()) {
            EXPECT_EQ(error.code, Errc::disk_full) << error.detail;
            EXPECT_FALSE(home.disk.size(home.file.string() + ".before-v2.copying"));
        }
        home.set_faults({});
        home.expect_whole({});
    }
}

}  // namespace

}  // namespace nightferry::logbook
