#include "daemon/command/resource_files.hpp"

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <system_error>

namespace nightferry::command {

namespace fs = std::filesystem;

namespace {

std::string ending_of(const fs::path& path) {
    std::string ending = path.extension().string();
    std::transform(ending.begin(), ending.end(), ending.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    return ending;
}

bool is_hidden(const fs::path& path) {
    return path.filename().string().starts_with('.');
}

void collect(const fs::path& folder, ResourceFiles& found);

void take(const fs::path& path, ResourceFiles& found) {
    std::error_code error;
    const fs::file_status own = fs::symlink_status(path, error);
    if (fs::is_directory(own)) {
        collect(path, found);
        return;
    }
    if (const std::string ending = ending_of(path); ending != ".json" && ending != ".ndjson") return;
    const fs::file_status status = fs::status(path, error);
    if (fs::is_regular_file(status)) {
        found.files.push_back(path.string());
    } else if (!fs::is_directory(status)) {
        found.unreachable.push_back(
            {path.string(), fs::exists(status) ? "it is no file" : "the link leads nowhere"});
    }
}

void collect(const fs::path& folder, ResourceFiles& found) {
    std::error_code error;
    fs::directory_iterator at(folder, error);
    for (const fs::directory_iterator end; !error && at != end; at.increment(error)) {
        if (!is_hidden(at->path())) take(at->path(), found);
    }
    if (error) found.unreachable.push_back({folder.string(), error.message()});
}

}  // namespace

bool is_folder(const std::string& path) {
    std::error_code error;
    return fs::is_directory(path, error);
}

bool holds_lines(const std::string& path) {
    return ending_of(path) == ".ndjson";
}

ResourceFiles resource_files_below(const std::string& folder) {
    ResourceFiles found;
    collect(folder, found);
    std::sort(found.files.begin(), found.files.end());
    return found;
}

}  // namespace nightferry::command
