// The inbox folder for its tests: files of a stated age, and what lies where afterwards.
#pragma once

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <set>

#include "daemon/intake/inbox.hpp"
#include "tests/daemon/intake/hub.hpp"

namespace nightferry::intake {

using Names = std::vector<std::string>;

// The whole reason of a file that was not read.
inline std::string nothing_recorded(const std::string& name, const std::string& why) {
    return "'" + name + "'\n\nNothing in this file was recorded, because it could not be read:\n  " + why +
           "\n\nCorrect it and put it into the inbox again.\n";
}

// A hub with its inbox folder, whose files are as old as a test says.
class InboxTest : public testing::Test {
 protected:
    std::filesystem::path place(const std::string& name) const { return inbox_.folder() / name; }

    // As if the file had last been changed that long before the hub's clock reading.
    void age(const std::string& name, std::chrono::microseconds span) {
        const auto at = (hub_.clock.now() - span).time_since_epoch();
        const auto second = std::chrono::floor<std::chrono::seconds>(at);
        const timespec changed{second.count(), std::chrono::nanoseconds(at - second).count()};
        const timespec times[2] = {changed, changed};
        EXPECT_EQ(::utimensat(AT_FDCWD, place(name).c_str(), times, AT_SYMLINK_NOFOLLOW), 0) << name;
    }

    void drop(const std::string& name, const std::string& text,
              std::chrono::microseconds span = std::chrono::minutes(1)) {
        test::write_file(place(name), text);
        age(name, span);
    }

    Inbox::Sweep sweep(const std::set<std::string>& closed = {}) { return inbox_.sweep(closed).value(); }

    // Everything that is not a folder, in order: "done/a.csv".
    Names files() const {
        Names names;
        for (const auto& item : std::filesystem::recursive_directory_iterator(inbox_.folder()))
            if (item.is_symlink() || !item.is_directory())
                names.push_back(item.path().lexically_relative(inbox_.folder()).string());
        std::sort(names.begin(), names.end());
        return names;
    }

    std::string reason(const std::string& name) const {
        return test::read_file(place("refused/" + name + ".reason.txt"));
    }

    Hub hub_;
    Inbox inbox_ = Inbox::open(hub_.folder / "inbox", hub_.desk, hub_.clock, hub_.log).value();
};

// The superuser may read everything, so for the superuser this test goes on as somebody else.
class AsNobody {
 public:
    AsNobody() { EXPECT_TRUE(::geteuid() != 0 || ::seteuid(nobody) == 0); }
    AsNobody(const AsNobody&) = delete;
    AsNobody& operator=(const AsNobody&) = delete;
    ~AsNobody() { EXPECT_EQ(::seteuid(was_), 0); }
    static constexpr uid_t nobody = 65534;

 private:
    uid_t was_ = ::geteuid();
};

}  // namespace nightferry::intake
