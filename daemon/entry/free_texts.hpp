// What people wrote in words of their own, as far as it would leave the home: the note of an entry, the
// reason of an amendment or retraction, and who at the clinic gave an instruction. Labels of vials and
// lesions and what is printed on a vial are no free texts: without them an entry says something else.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "daemon/entry/entry.hpp"

namespace nightferry::entry {

struct FreeText {
    std::string_view field;  // By its name in the entry format.
    std::string text;
    bool operator==(const FreeText&) const = default;
};
std::vector<FreeText> free_texts(const Version& version);

Version without_free_texts(Version version);

}  // namespace nightferry::entry
