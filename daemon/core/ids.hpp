// Identities of entries.
//
// An entry that comes without an id gets one computed from what it says (a name-based UUID, RFC 9562
// version 5, in the hub's own name space). Handing the same record in twice then meets itself, which a
// random id could not promise.
#pragma once

#include <boost/uuid/uuid.hpp>
#include <compare>
#include <optional>
#include <string>
#include <string_view>

namespace nightferry {

class EntryId {
 public:
    EntryId() = default;  // The nil UUID; never an entry's id.

    // Reads the 36-character form, upper or lower case, with or without "urn:uuid:" before it.
    static std::optional<EntryId> parse(std::string_view text);

    // 36 lower-case characters.
    std::string to_string() const;
    // "urn:uuid:…", as FHIR writes a UUID.
    std::string urn() const { return "urn:uuid:" + to_string(); }

    std::strong_ordering operator<=>(const EntryId& other) const;
    bool operator==(const EntryId& other) const = default;

 private:
    friend class NameSpace;
    explicit EntryId(const boost::uuids::uuid& uuid) : uuid_(uuid) {}
    boost::uuids::uuid uuid_{};
};

// The name space of one hub: equal names give equal ids on that hub and nowhere else.
class NameSpace {
 public:
    explicit NameSpace(std::string_view hub);
    EntryId id_for(std::string_view name) const;

 private:
    boost::uuids::uuid space_;
};

}  // namespace nightferry
