// Reads the cases of broken_resources.txt and valid_resources.txt: "=== title", lines "key: value", then a
// resource. What stands before the first title says how to read the file.
#pragma once

#include <gtest/gtest.h>

#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "fhir/spec/release.hpp"
#include "tests/support/files.hpp"

namespace nightferry::fhir::check {

struct ResourceCase {
    std::string title;
    std::map<std::string, std::string> facts;
    std::string resource;

    std::vector<spec::Release> releases() const {
        std::vector<spec::Release> found;
        std::istringstream names(facts.at("releases"));
        for (std::string name; names >> name;) {
            for (const spec::Release one : spec::releases) {
                if (name_of(one) == name) found.push_back(one);
            }
        }
        return found;
    }
};

inline std::vector<ResourceCase> resource_cases(const std::string& file) {
    std::vector<ResourceCase> cases;
    std::istringstream lines(test::source_file("tests/fhir/check/" + file));
    for (std::string line; std::getline(lines, line);) {
        if (line.starts_with("=== ")) {
            cases.push_back({line.substr(4), {}, {}});
        } else if (!cases.empty() && cases.back().resource.empty() && !line.starts_with('{') &&
                   line.find(": ") != std::string::npos) {
            cases.back().facts[line.substr(0, line.find(": "))] = line.substr(line.find(": ") + 2);
        } else if (!cases.empty()) {
            cases.back().resource += line;
        }
    }
    return cases;
}

}  // namespace nightferry::fhir::check
