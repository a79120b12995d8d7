#include "tests/support/files.hpp"

#include <gtest/gtest.h>
#include <stdlib.h>

#include <fstream>
#include <sstream>

namespace nightferry::test {

std::string read_file(const std::filesystem::path& file) {
    std::ifstream stream(file, std::ios::binary);
    EXPECT_TRUE(stream.good()) << "cannot read " << file;
    std::ostringstream text;
    text << stream.rdbuf();
    return std::move(text).str();
}

std::string source_file(const std::filesystem::path& relative) {
    return read_file(std::filesystem::path(NIGHTFERRY_SOURCE_DIR) / relative);
}

void write_file(const std::filesystem::path& file, const std::string& text) {
    std::ofstream stream(file, std::ios::binary | std::ios::trunc);
    stream << text;
    stream.close();
    EXPECT_TRUE(stream.good()) << "cannot write " << file;
}

TemporaryFolder::TemporaryFolder() {
    // mkdtemp() puts its own characters over six X at the end.
    const std::string name = "nightferry-test-" + std::string(6, 'X');
    std::string pattern = (std::filesystem::temp_directory_path() / name).string();
    const char* made = ::mkdtemp(pattern.data());
    EXPECT_NE(made, nullptr) << "cannot make a temporary folder";
    path_ = pattern;
}

TemporaryFolder::~TemporaryFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
}

}  // namespace nightferry::test
