// The part of World about the hub's process: how it starts, ends, and takes what the family hands in.
#include "tests/sim/world.hpp"

namespace nightferry::sim {

using namespace std::chrono_literals;

void World::boot() {
    if (hub_) return;
    must_end_ = false;
    for (const auto& site : sites_) {
        wishes_[site->name()].may_come_into_force();
        setup_.sharing[site->name()] = wishes_[site->name()].newest();
    }
    auto started = Hub::start(setup_, agenda_, clock_, dice_, files_, [this] { must_end_ = true; });
    if (started) {
        hub_ = std::move(*started);
        for (auto& [name, wishes] : wishes_)
            wishes.came_into_force(agenda_.now());
        ++report_.boots;
        tell("the hub is up");
        if (!disk_.is_dead() && !must_end_) check_logbook();
        for (auto& submissions : std::exchange(inbox_, {}))
            hand_in(std::move(submissions));
        look_after_the_process();
        if (agenda_.now() < looping_until_) end_again_soon();
        return;
    }
    tell("the hub does not start: " + started.error().detail);
    const Errc code = started.error().code;
    if (code == Errc::corrupt || code == Errc::setup || code == Errc::locked)
        violate("the hub refuses to start: " + started.error().detail);
    // A supervisor starts it again.
    disk_.kill();
    agenda_.after(std::chrono::minutes{1 + dice_.below(10)}, [this] { boot(); });
}

void World::end_process(bool power_cut) {
    tell(power_cut ? "the power is cut" : "the hub's process ends");
    hub_.reset();
    if (power_cut) {
        disk_.cut_power(dice_);
    } else {
        disk_.kill();
    }
    if (!is_healed_ && mix_.clock.wrong_at_boot && power_cut)
        clock_.offset = -std::chrono::hours{24 * 365 * 50};
    const bool at_once = is_healed_ || agenda_.now() < looping_until_ || dice_.below(2) == 0;
    const Span away = at_once ? Span{5s} : Span{std::chrono::minutes{dice_.below(600)}};
    agenda_.after(away, [this] { boot(); });
}

void World::look_after_the_process() {
    if (!hub_) return;
    if (disk_.is_dead()) return end_process(mix_.process.power_cuts && dice_.below(2) == 0);
    if (!must_end_) return;
    end_process(false);
    // What makes a disk fail often takes the power away as well.
    if (mix_.process.power_cuts && dice_.below(2) == 0) {
        agenda_.after(Span{dice_.below(600'000'000)}, [this] {
            if (hub_ && !is_healed_) end_process(true);
        });
    }
}

void World::kill_soon() {
    if (!hub_) return;
    if (mix_.process.dies_in_calls) {
        Faults faults;
        faults.die_at = 1 + dice_.below(60);
        disk_.set_faults(faults);
        return;
    }
    agenda_.after(Span{dice_.below(3'600'000'000)}, [this] {
        if (!hub_) return;
        disk_.die();
        end_process(mix_.process.power_cuts && dice_.below(2) == 0);
    });
}

void World::end_again_soon() {
    if (!hub_) return;
    const std::uint64_t most = dice_.below(2) == 0 ? 1'000'000 : 40'000'000;
    agenda_.after(Span{dice_.below(most)}, [this, boots = report_.boots] {
        if (!hub_ || boots != report_.boots || is_healed_) return;
        disk_.die();
        end_process(mix_.process.power_cuts && dice_.below(2) == 0);
    });
}

void World::set_disk_faults() {
    Faults faults;
    if (dice_.happens(mix_.disk.errors)) {
        faults.fail_at = 1 + dice_.below(80);
        tell("a disk call is going to fail");
    } else if (dice_.happens(mix_.disk.sync_errors)) {
        faults.kinds = syncing;
        faults.fail_at = 1 + dice_.below(10);
        tell("a sync is going to fail");
    } else if (dice_.happens(mix_.disk.full)) {
        faults.capacity = 0;
        tell("the disk is full");
    }
    disk_.set_faults(faults);
}

void World::hand_in(std::vector<entry::Submission> submissions) {
    const auto again = [this, submissions] {
        // Either it lies in the inbox, or somebody tries once more.
        if ((!hub_ || must_end_) && dice_.below(2) == 0) return inbox_.push_back(submissions);
        agenda_.after(std::chrono::minutes{5 + dice_.below(60)},
                      [this, submissions] { hand_in(submissions); });
    };
    if (!hub_) return again();
    const auto verdicts = hub_->accept(submissions);
    if (!verdicts) {
        if (verdicts.error().code != Errc::disk_full) must_end_ = true;
        again();
        return look_after_the_process();
    }
    for (std::size_t i = 0; i < submissions.size(); ++i) {
        const logbook::Verdict& verdict = (*verdicts)[i];
        if (verdict.kind == logbook::Verdict::Kind::conflict) {
            // A correction that overtook what it corrects, or came after it was taken back.
            if (diary_.entries().at(submissions[i].id).acknowledged == 0) again();
            continue;
        }
        diary_.acknowledged(submissions[i].id, verdict.revision);
    }
}

}  // namespace nightferry::sim
