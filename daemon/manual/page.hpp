// The manual page of a program, in the man macros of roff, from its own parser.
#pragma once

#include <string>
#include <vector>

#include "daemon/manual/grammar.hpp"

namespace nightferry::manual {

// What a page says that no parser knows.
struct Page {
    std::string section;                // "1" or "8"
    std::string in_one_line;            // Stands behind the name.
    std::string version;                // "nightferry 0.1.0"
    std::vector<std::string> see_also;  // "nightferry.toml(5)"
};

// The footer of the grammar becomes sections: a paragraph that begins with "Examples:" or "Exit status:" one
// of that name, the others part of the description.
std::string manual_page(const Command& grammar, const Page& page);

}  // namespace nightferry::manual
