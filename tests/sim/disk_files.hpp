// The logbook's own file calls on the simulated disk.
#pragma once

#include <cerrno>

#include "daemon/logbook/failures.hpp"
#include "daemon/logbook/files.hpp"
#include "tests/sim/disk.hpp"

namespace nightferry::sim {

class DiskFiles final : public logbook::Files {
 public:
    explicit DiskFiles(Disk& disk) : disk_(disk) {}

    Result<std::unique_ptr<Hold>> hold(const std::filesystem::path& folder) override {
        if (disk_.is_dead()) return logbook::error_from_system(EIO);
        if (!disk_.hold(folder)) return logbook::held_elsewhere();
        return std::unique_ptr<Hold>(std::make_unique<FolderHold>(disk_, folder));
    }
    Result<std::optional<std::uint64_t>> size(const std::filesystem::path& file) override {
        if (disk_.is_dead()) return logbook::error_from_system(EIO);
        return disk_.size(file);
    }
    Result<std::vector<Found>> list(const std::filesystem::path& folder) override {
        std::vector<Found> found;
        for (const std::string& path : disk_.files_in(folder))
            found.push_back({path, disk_.modified(path)});
        return found;
    }
    Result<void> create(const std::filesystem::path& file) override {
        const auto made = result_of(disk_.create(file));
        return made ? sync(file) : made;
    }
    Result<void> rename(const std::filesystem::path& from, const std::filesystem::path& to) override {
        return result_of(disk_.rename(from, to));
    }
    Result<void> remove(const std::filesystem::path& file) override {
        const int failed = disk_.remove(file);
        return result_of(failed == ENOENT ? 0 : failed);
    }
    Result<void> copy_rights(const std::filesystem::path&, const std::filesystem::path&) override {
        return {};
    }
    Result<void> sync(const std::filesystem::path& file) override { return result_of(disk_.sync(file)); }
    Result<void> sync_folder(const std::filesystem::path& folder) override {
        return result_of(disk_.sync_folder(folder));
    }

 private:
    class FolderHold final : public Hold {
     public:
        FolderHold(Disk& disk, std::string folder)
            : disk_(disk), process_(disk.process()), folder_(std::move(folder)) {}
        ~FolderHold() override {
            if (disk_.process() == process_) disk_.release(folder_);
        }

     private:
        Disk& disk_;
        std::uint64_t process_;
        std::string folder_;
    };
    static Result<void> result_of(int failed) {
        if (failed != 0) return logbook::error_from_system(failed);
        return {};
    }

    Disk& disk_;
};

}  // namespace nightferry::sim
