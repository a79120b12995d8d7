// The neutral form into which every file format is read before anything is checked: named fields, each with
// the place it came from.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace nightferry::entry {

// Something wrong with what was handed in. Both parts are written for the person who sent it.
struct Problem {
    std::string where;  // "line 4, column amount" or "line 2, /1/amount"; empty: the whole of it.
    std::string what;   // What was found, what is expected, what to do.
};

struct Field {
    std::string name;
    std::string text;
    std::string where;
};

struct Draft {
    std::string where;
    std::vector<Field> fields;
    std::vector<Problem> problems;        // Found while reading; a draft with problems is refused.
    std::vector<std::string> unreadable;  // Fields that are there, but one of the problems says why not.

    const Field* find(std::string_view name) const {
        for (const Field& field : fields) {
            if (field.name == name) return &field;
        }
        return nullptr;
    }
};

}  // namespace nightferry::entry
