// One simulated world: a family, its hub, its clinics, and the misfortunes of its mix; everything from one
// seed. Some days everything may go wrong, then nothing goes wrong any more and a few nights pass.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "tests/sim/diary.hpp"
#include "tests/sim/disk.hpp"
#include "tests/sim/disk_files.hpp"
#include "tests/sim/hub.hpp"
#include "tests/sim/wishes.hpp"

namespace nightferry::sim {

// What a world has come to.
struct Report {
    int nights = 0;
    std::string violation;  // Empty: every promise was kept.
    std::uint64_t entries = 0;
    std::uint64_t requests = 0;
    std::uint64_t boots = 0;
};

class World {
 public:
    explicit World(std::uint64_t seed, bool tells = false);
    ~World();

    Report run();

 private:
    // world.cpp: the course of time.
    void live_until(Span end);
    void every_hour();
    void plan_day();
    // Somebody corrects something, or takes it back.
    void think_again();
    void heal();
    void excuse_what_lies_aside(Site& site);
    // Somebody looks through what was set aside and has it sent once more.
    void release_once();
    // The family changes what a clinic may have, and starts the hub again.
    void think_about_sharing();
    // In some worlds every clinic may have everything in the end, also what was kept from it before.
    void share_everything();

    // world_hub.cpp: the hub's process.
    void boot();
    void end_process(bool power_cut);
    void look_after_the_process();
    void hand_in(std::vector<entry::Submission> submissions);
    void set_disk_faults();
    void kill_soon();
    void end_again_soon();

    // verdict.cpp: what must hold.
    void check_site(Site& site);
    void check_logbook();
    void check_rest();
    void check_end();
    void check_entry_at(Site& site, const EntryId& id);
    void check_sharing(const Site& site, const Event& event, const StoredResource& resource);
    void check_retraction(const Site& site, const EntryId& id, const std::string& what);
    // Whether the clinic need not have it in the end.
    bool may_be_kept(const Site& site, const Diary::Known& known) const;
    void check_receipt(Site& site, const logbook::Receipt& receipt, const StoredResource& there);
    void violate(const std::string& what);
    void tell(const std::string& what) const;

    static constexpr int healing_nights = 3;

    const std::uint64_t seed_;
    const bool tells_;
    Dice dice_;
    Mix mix_;
    Agenda agenda_;
    WallClock clock_;
    Disk disk_;
    DiskFiles files_{disk_};
    Diary diary_;
    std::vector<std::unique_ptr<Site>> sites_;
    std::map<const Site*, std::size_t> seen_;  // Events of a server that were checked.
    std::map<std::string, Wishes> wishes_;     // By clinic.
    Hub::Setup setup_;
    std::unique_ptr<Hub> hub_;
    bool must_end_ = false;                              // The process said that it cannot go on.
    Span looping_until_{0};                              // Until then the process does not live for long.
    std::vector<std::vector<entry::Submission>> inbox_;  // Handed in as the next process starts.
    bool is_healed_ = false;
    bool was_released_ = false;
    bool is_back_dated_ = false;  // Everything is shared, as far back as there is anything.
    Report report_;
};

}  // namespace nightferry::sim
