#include "tests/sim/world.hpp"

#include <cstdio>

namespace nightferry::sim {

using namespace std::chrono_literals;

namespace {

constexpr Span day = std::chrono::hours{24};
// Monday 12 October 2026: the clocks go back two weeks later.
const Instant beginning = std::chrono::sys_days{std::chrono::year{2026} / 10 / 12};

std::string in_words(const Dialect& dialect) {
    const Does& does = dialect.does;
    const Claims& claims = dialect.claims;
    const auto both = [](const char* name, bool is_done, bool is_claimed) {
        return std::string(", ") + name + (is_done ? " yes" : " no") +
               (is_claimed == is_done ? "" : " (a lie)");
    };
    return dialect.name + both("transactions", does.transactions, claims.transaction) +
           both("batches", does.batches, claims.batch) +
           both("conditions", does.conditional_create == Support::honoured, claims.conditional_create) +
           (does.conditional_create == Support::rejected ? " (rejected)" : "") +
           both("new ids", does.update_create, claims.update_create) +
           both("versions", does.checks_versions,
                claims.versioning != "no-version" && !claims.versioning.empty()) +
           both("provenance", does.keeps_provenance, claims.provenance) +
           both("search", does.identifier_search == IdentifierSearch::honoured, claims.search_by_identifier) +
           both("single creates", does.creates, claims.create) +
           both("single updates", does.updates, claims.update) +
           both("statement", true, claims.metadata == Metadata::readable) +
           both("says conditions", true, claims.says_conditions);
}

}  // namespace

World::World(std::uint64_t seed, bool tells)
    : seed_(seed),
      tells_(tells),
      dice_(seed),
      mix_(draw_mix(dice_)),
      clock_(agenda_, beginning + std::chrono::hours{dice_.below(24 * 20)}),
      disk_(dice_.next()),
      diary_(dice_) {
    disk_.make_default();
    disk_.set_time(clock_.true_time());
    for (int i = 0; i < mix_.clinics; ++i) {
        sites_.push_back(std::make_unique<Site>(
            i == 0 ? "north" : "south", draw_dialect(dice_), mix_, agenda_, clock_, dice_,
            [this](Site& site) {
                check_site(site);
                if (dice_.happens(mix_.family.interruptions)) think_again();
            },
            tells ? Site::Tell([this](const std::string& what) { tell(what); }) : Site::Tell()));
        Site& site = *sites_.back();
        site.take_up_patient(mix_.patient_by_identifier ? "" : "p1");
        setup_.sites.push_back(&site);
        tell("clinic " + site.name() + ": " + in_words(site.server().dialect()));
    }
    setup_.as_it_happens = mix_.family.as_it_happens;
    setup_.patient_by_identifier = mix_.patient_by_identifier;
    setup_.policy.bundle_bytes_max = mix_.bundle_bytes;
}

World::~World() {
    disk_.die();
    hub_.reset();
    disk_.restore_default();
}

void World::tell(const std::string& what) const {
    if (!tells_) return;
    const auto seconds = std::chrono::duration_cast<std::chrono::seconds>(agenda_.now()).count();
    std::printf("%8lld s  %s\n", static_cast<long long>(seconds), what.c_str());
}

void World::violate(const std::string& what) {
    tell("VIOLATION: " + what);
    if (report_.violation.empty()) report_.violation = what;
}

Report World::run() {
    if (mix_.clock.wrong_at_boot) clock_.offset = -std::chrono::hours{24 * 365 * 50};
    boot();
    std::vector<entry::Submission> before;
    for (int i = 0; i < mix_.family.backlog; ++i)
        before.push_back(diary_.write(clock_.true_time() - std::chrono::hours{6 * (mix_.family.backlog - i)},
                                      agenda_.now(), {mix_.server.refuses, mix_.server.breaks}));
    if (!before.empty()) hand_in(std::move(before));
    every_hour();
    for (int i = 0; i < mix_.fault_days && report_.violation.empty(); ++i) {
        plan_day();
        live_until(day * (i + 1));
    }
    heal();
    live_until(day * (mix_.fault_days + healing_nights));
    if (report_.violation.empty()) check_end();
    report_.nights = mix_.fault_days + healing_nights;
    report_.entries = diary_.entries().size();
    for (const auto& site : sites_)
        report_.requests += site->server().requests();
    return report_;
}

void World::live_until(Span end) {
    while (report_.violation.empty() && agenda_.step(end)) {
        disk_.set_time(clock_.true_time());
        look_after_the_process();
    }
}

void World::plan_day() {
    for (int i = 0; i < mix_.family.entries_a_day; ++i) {
        const Span when = Span{dice_.below(static_cast<std::uint64_t>(day.count()))};
        agenda_.after(when, [this] {
            const Instant now = clock_.true_time();
            std::vector<entry::Submission> said{
                diary_.write(now, agenda_.now(), {mix_.server.refuses, mix_.server.breaks})};
            if (dice_.happens(mix_.family.amendments)) {
                if (auto more = diary_.amend(now, false)) said.push_back(std::move(*more));
            }
            if (dice_.happens(mix_.family.retractions)) {
                if (auto more = diary_.amend(now, true)) said.push_back(std::move(*more));
            }
            if (dice_.happens(mix_.family.repeats)) {
                if (auto more = diary_.repeat()) said.push_back(std::move(*more));
            }
            hand_in(std::move(said));
        });
    }
}

void World::think_again() {
    if (is_healed_ || diary_.entries().empty()) return;
    agenda_.after(Span{0}, [this] {
        auto said = diary_.amend(clock_.true_time(), dice_.below(4) == 0);
        if (said) hand_in({std::move(*said)});
    });
}

void World::every_hour() {
    agenda_.after(1h, [this] {
        for (const auto& site : sites_) {
            const int restores = site->restores();
            site->hour_passes(hub_ && hub_->is_at_work());
            if (site->restores() != restores) excuse_what_lies_aside(*site);
        }
        if (!is_healed_) {
            set_disk_faults();
            if (dice_.happens(mix_.process.kills)) kill_soon();
            if (dice_.happens(mix_.process.loops)) {
                looping_until_ = agenda_.now() + std::chrono::minutes{5 + dice_.below(25)};
                // What does that to the hub may do it to the line as well.
                for (const auto& site : sites_)
                    if (dice_.below(2) == 0) site->go_away(1h);
                kill_soon();
            }
            if (hub_ && dice_.happens(mix_.process.stops)) {
                tell("the hub is stopped");
                hub_->stop_cleanly();
                end_process(false);
            }
            if (dice_.happens(mix_.clock.jumps)) {
                const std::int64_t most = mix_.clock.by_years ? 24 * 365 * 5 : 6;
                const auto drawn =
                    static_cast<std::int64_t>(dice_.below(static_cast<std::uint64_t>(2 * most)));
                clock_.offset = dice_.below(3) == 0 ? Span{0} : Span{std::chrono::hours{drawn - most}};
                tell("the clock is set");
            }
        }
        if (!is_healed_ && dice_.happens(mix_.family.second_thoughts)) think_about_sharing();
        if (is_healed_) release_once();
        check_rest();
        if (hub_ && dice_.happens(mix_.family.impatience)) hub_->request_passes();
        every_hour();
    });
}

// What waited for a person when the clinic lost it is not looked at until it is released, and then nobody can
// tell why it is not there.
void World::excuse_what_lies_aside(Site& site) {
    if (!hub_) {
        agenda_.after(1min, [this, &site] { excuse_what_lies_aside(site); });
        return;
    }
    for (const auto& [id, known] : diary_.entries()) {
        const auto record = hub_->logbook().find(id);
        if (!record || !*record) continue;
        for (const logbook::Delivery& one : (*record)->deliveries) {
            if (one.clinic == site.name() && one.state == logbook::DeliveryState::set_aside)
                site.excuse(id.urn());
        }
    }
}

void World::heal() {
    tell("everything is well from here on");
    is_healed_ = true;
    looping_until_ = Span{0};
    disk_.set_faults({});
    clock_.offset = Span{0};
    for (const auto& site : sites_)
        site->heal();
    if (mix_.family.second_thoughts > 0 && dice_.below(2) == 0) share_everything();
}

void World::think_about_sharing() {
    Wishes& wishes = wishes_[sites_[dice_.below(sites_.size())]->name()];
    wishes.change(draw_policy(dice_));
    tell("the family decides anew what a clinic may have: " + wishes.newest().text());
    if (!hub_) return;
    hub_->stop_cleanly();
    end_process(false);
}

void World::share_everything() {
    for (auto& [name, wishes] : wishes_)
        wishes.change(everything());
    if (hub_) {
        hub_->stop_cleanly();
        end_process(false);
    }
    agenda_.after(1h, [this] {
        tell("the clinics get what was kept from them, too");
        const Instant long_ago = beginning - std::chrono::days{365};
        for (const auto& [name, wishes] : wishes_)
            is_back_dated_ = hub_ && hub_->logbook().back_date(name, long_ago, "marlow", clock_.now());
    });
}

void World::release_once() {
    const bool is_time = agenda_.now() > day * mix_.fault_days + 3h;
    if (was_released_ || !hub_ || !is_time) return;
    for (const auto& site : sites_)
        was_released_ = hub_->outbox().release(site->name(), std::nullopt, clock_.now()).has_value();
}

}  // namespace nightferry::sim
