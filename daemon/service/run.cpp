#include "daemon/service/run.hpp"

#include <boost/asio/io_context.hpp>

#include "daemon/core/folders.hpp"
#include "daemon/logbook/opening.hpp"
#include "daemon/service/room_wait.hpp"

namespace nightferry::service {

namespace {

// The logbook is for the hub alone.
Result<void> make_data_folder(const std::filesystem::path& folder) {
    if (const std::string owner = other_owner_of(folder); !owner.empty()) {
        return Error{Errc::setup,
                     "the folder " + folder.string() + " belongs to the user " + owner +
                         ", who could not go on with what root leaves there; run nightferryd as " + owner +
                         " (systemctl start nightferryd does)"};
    }
    const auto failure = make_folder(folder, std::filesystem::perms::owner_all);
    if (!failure) return {};
    return Error{failure == std::errc::no_space_on_device ? Errc::disk_full : Errc::setup,
                 "the folder " + folder.string() + " cannot be made: " + failure.message()};
}

// A name that is being looked up cannot be called off, and an event loop that is destroyed waits for it. So
// the last one is left to the end of the process.
void leave_to_the_end(std::unique_ptr<boost::asio::io_context> loop) {
    static auto* const last = new std::unique_ptr<boost::asio::io_context>;
    *last = std::move(loop);
}

// One life: from opening the logbook to closing it.
Result<void> live(std::unique_ptr<const config::Settings>& settings, const Surroundings& around) {
    around.manager.status("Opening the logbook.");
    const auto made = make_data_folder(settings->data);
    if (!made) return made.error();
    // Copying and changing an old logbook can take long on a small machine.
    auto db = logbook::open(logbook::file_in(settings->data), around.clock.now(), logbook::system_files(),
                            [&around] { return goes_on(around); });
    if (!db) return db.error();
    const auto is_first = logbook::is_first_start(**db);
    if (!is_first) return is_first.error();
    if (*is_first) around.log.event(LogEvent::logbook_begun);
    auto loop = std::make_unique<boost::asio::io_context>(1);
    {
        Life life(*loop, **db, settings, around);
        const auto ended = life.run();
        if (!ended) {
            // Nothing is being looked up when there was no room to begin with.
            if (ended.error().code != Errc::disk_full) leave_to_the_end(std::move(loop));
            return ended.error();
        }
    }
    // Without it the next start only takes a little longer.
    if (const auto closed = (*db)->close_cleanly(); !closed)
        around.log.event(LogEvent::not_closed_cleanly, {{"reason", closed.error().detail}});
    leave_to_the_end(std::move(loop));
    return {};
}

}  // namespace

// On a full disk a new life begins when there is room, as if a supervisor had started it again.
Result<void> run(config::Settings settings, const Surroundings& around) {
    constexpr std::chrono::seconds pause{10};
    auto in_force = std::make_unique<const config::Settings>(std::move(settings));
    std::optional<RoomWait> room;
    for (;;) {
        const auto lived = live(in_force, around);
        // What was called off on the way is no failure.
        if (lived || around.signals.is_told_to_end()) break;
        if (lived.error().code != Errc::disk_full) return lived;
        if (!room) {
            room.emplace(around.signals);
            around.log.event(LogEvent::disk_full, {{"what", "logbook"}, {"reason", lived.error().detail}});
        }
        around.manager.still_busy();
        around.manager.status("Waiting for room on the disk.");
        if (!room->wait(pause)) break;
    }
    around.manager.stopping("Stopped.");
    around.log.event(LogEvent::stopped);
    return {};
}

}  // namespace nightferry::service
