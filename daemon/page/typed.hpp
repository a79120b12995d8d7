// What a person typed into a form of the page, and what becomes of it: fields by name, and the entry that is
// handed in.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/zone.hpp"
#include "daemon/entry/entry.hpp"

namespace nightferry::page {

class Typed {
 public:
    struct Field {
        std::string name;
        std::string value;
    };

    // The body of a form (application/x-www-form-urlencoded, WHATWG URL standard). Nothing when it is not of
    // that form, or has more than 64 fields.
    static std::optional<Typed> read(std::string_view body);

    // The first value of that name without blanks around it; empty when there is none.
    std::string value(std::string_view name) const;
    bool has(std::string_view name) const { return !value(name).empty(); }
    void set(std::string name, std::string value);

    const std::vector<Field>& fields() const { return fields_; }

 private:
    std::vector<Field> fields_;
};

// Who writes down, and when: a carer's key, and the instant in the entry format.
struct Hand {
    std::string carer;
    std::string now;
};

// What a form says in the entry format, as JSON: those of its fields that were filled in. `kind` is a type of
// that format.
std::string entry_of(const Typed& typed, std::string_view kind, const Hand& hand);
// The whole entry once more, as it should have been.
std::string amendment_of(const Typed& typed, std::string_view kind, const Hand& hand);
std::string retraction_of(const Typed& typed, const Hand& hand);

// What the form of an entry would have said. `zone` is the home's.
Typed typed_of(const entry::Entry& entry, const Zone& zone);
// Of an amendment of that entry: adds what its form does not show.
void keep_unshown(Typed& typed, const entry::Entry& entry, const Zone& zone);

}  // namespace nightferry::page
