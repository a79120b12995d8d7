// Files for tests: those of the source tree, and folders that vanish with the test.
#pragma once

#include <filesystem>
#include <string>

namespace nightferry::test {

// The text of a file given relative to the source tree; fails the test when it cannot be read.
std::string source_file(const std::filesystem::path& relative);
std::string read_file(const std::filesystem::path& file);
void write_file(const std::filesystem::path& file, const std::string& text);

class TemporaryFolder {
 public:
    TemporaryFolder();
    TemporaryFolder(const TemporaryFolder&) = delete;
    TemporaryFolder& operator=(const TemporaryFolder&) = delete;
    ~TemporaryFolder();

    const std::filesystem::path& path() const { return path_; }
    std::filesystem::path operator/(const std::string& name) const { return path_ / name; }

 private:
    std::filesystem::path path_;
};

}  // namespace nightferry::test
