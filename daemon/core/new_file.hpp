// A file that comes into being whole or not at all, and never in place of another.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string_view>

#include "daemon/core/descriptor.hpp"
#include "daemon/core/result.hpp"

namespace nightferry {

class NewFile {
 public:
    // Begins FILE as FILE.part, which only its owner may read. Errc::setup when one of them is there already,
    // or the folder takes no file.
    static Result<NewFile> begin(const std::filesystem::path& file);
    NewFile(NewFile&&) = default;
    NewFile& operator=(NewFile&&) = delete;
    // What was not settled is removed.
    ~NewFile();

    // Where it lies until it is settled.
    const std::filesystem::path& part() const { return part_; }

    Result<void> write(std::string_view bytes);
    // What was written so far is on disk when this returns.
    Result<void> sync();
    // Gives it its name, on disk when this returns. Errc::setup when another file got the name meanwhile.
    Result<void> settle();

 private:
    NewFile(std::filesystem::path file, Descriptor opened);

    std::filesystem::path file_;
    std::filesystem::path part_;
    Descriptor opened_;
};

// All of it in one step.
Result<void> write_new_file(const std::filesystem::path& file, std::string_view content);

}  // namespace nightferry
