// A logbook on a simulated disk, and a few days of a household's life on it.
#pragma once

#include <set>

#include "tests/daemon/logbook/open_logbook.hpp"
#include "tests/sim/disk_files.hpp"

namespace nightferry::test {

// What the logbook said it has: no disk may take it back.
struct Acknowledged {
    std::set<std::string> accepted;
    std::set<std::string> confirmed;
};

// One process: a logbook that is open until this is destroyed.
class Process {
 public:
    Process(sim::DiskFiles& files, const std::filesystem::path& file)
        : opened_(logbook::open(file, test_now(), files)) {
        if (opened_) parts_.emplace(**opened_);
    }

    bool is_open() const { return opened_.has_value(); }
    Error error() const { return opened_ ? Error{} : opened_.error(); }
    logbook::Database& db() { return **opened_; }
    logbook::Logbook& book() { return parts_->book; }
    logbook::Outbox& outbox() { return parts_->outbox; }

    bool has(const std::string& label) {
        const auto found = book().find(id_of(label));
        EXPECT_TRUE(found.has_value()) << label << ": " << (found ? "" : found.error().detail);
        return found && found->has_value();
    }
    Result<void> accept(const std::string& label, Acknowledged& acknowledged) {
        const auto verdicts = book().accept(std::vector{arrival(weight(label))}, test_now());
        if (!verdicts) return verdicts.error();
        acknowledged.accepted.insert(label);
        return {};
    }

 private:
    // Reading entries costs more than everything else here.
    static const entry::Submission& weight(const std::string& label) {
        static std::map<std::string, entry::Submission> made;
        return made.try_emplace(label, made.contains(label) ? made.at(label) : a_weight(label)).first->second;
    }

    struct Parts {
        explicit Parts(logbook::Database& db) : book(db), outbox(db) {}
        logbook::Logbook book;
        logbook::Outbox outbox;
    };
    Result<std::unique_ptr<logbook::Database>> opened_;
    std::optional<Parts> parts_;
};

class SimulatedHome {
 public:
    explicit SimulatedHome(std::uint64_t seed = 1) : disk(seed) {
        disk.make_default();
        disk.set_time(test_now());
    }

    Process process() { return Process(files, file); }
    void set_faults(const sim::Faults& faults) { disk.set_faults(faults); }

    // Three starts with entries, a pass and an amendment; ends at the first error.
    Result<void> live(Acknowledged& acknowledged) {
        for (const auto& part :
             {&SimulatedHome::first_day, &SimulatedHome::second_day, &SimulatedHome::last_day}) {
            Process now = process();
            if (!now.is_open()) return now.error();
            const auto lived = (this->*part)(now, acknowledged);
            if (!lived) return lived.error();
        }
        return {};
    }
    // Everything that was acknowledged is there, and the file is sound.
    void expect_whole(const Acknowledged& acknowledged) {
        Process now = process();
        ASSERT_TRUE(now.is_open()) << now.error().detail;
        for (const std::string& label : acknowledged.accepted)
            EXPECT_TRUE(now.has(label)) << label;
        for (const std::string& label : acknowledged.confirmed) {
            const auto record = now.book().find(id_of(label));
            ASSERT_TRUE(record && *record) << label;
            EXPECT_EQ((*record)->deliveries.at(0).receipts.size(), 1u) << label;
        }
        auto check = now.db().prepare("PRAGMA integrity_check");
        ASSERT_TRUE(check && check->step());
        EXPECT_EQ(check->text(0), "ok");
        EXPECT_FALSE(disk.size(file.string() + ".in-doubt"));
    }

    sim::Disk disk;
    sim::DiskFiles files{disk};
    std::filesystem::path file = "/home/logbook.sqlite";

 private:
    Result<void> first_day(Process& now, Acknowledged& acknowledged) {
        for (const char* label : {"w0", "w1", "w2"}) {
            const auto accepted = now.accept(label, acknowledged);
            if (!accepted) return accepted.error();
        }
        return {};
    }
    Result<void> second_day(Process& now, Acknowledged& acknowledged) {
        const auto taken = now.outbox().take("north", {2}, test_now());
        if (!taken) return taken.error();
        for (const logbook::Parcel& parcel : *taken) {
            const std::string label = parcel.id == id_of("w0") ? "w0" : "w1";
            const auto settled =
                now.outbox().settle("north", std::vector{test::confirmed(label)}, {}, test_now());
            if (!settled) return settled.error();
            acknowledged.confirmed.insert(label);
        }
        return now.db().close_cleanly();
    }
    Result<void> last_day(Process& now, Acknowledged& acknowledged) {
        for (const char* label : {"w3", "w0", "w4"}) {
            const auto accepted = now.accept(label, acknowledged);
            if (!accepted) return accepted.error();
        }
        return now.db().close_cleanly();
    }
};

}  // namespace nightferry::test
