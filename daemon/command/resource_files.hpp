// Finding the files that may hold FHIR resources.
#pragma once

#include <string>
#include <vector>

namespace nightferry::command {

struct Unreachable {
    std::string path;
    std::string why;
};

struct ResourceFiles {
    std::vector<std::string> files;        // In the order of their names.
    std::vector<Unreachable> unreachable;  // Folders and links that could not be looked into.
};

bool is_folder(const std::string& path);

// Whether the name says that every line is a resource of its own: it ends in .ndjson.
bool holds_lines(const std::string& path);

// All files below the folder whose names end in .json or .ndjson, in capitals or not. What is hidden (its
// name begins with a dot) is left out; links to folders are not followed.
ResourceFiles resource_files_below(const std::string& folder);

}  // namespace nightferry::command
