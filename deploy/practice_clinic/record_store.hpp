// What the practice clinic holds: FHIR resources by type and id, with their versions, kept in a journal file
// of one JSON object per stored version. Small on purpose: it does what the try-out needs of a FHIR R4
// server, and nothing here is meant for a real clinic.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "fhir/json/document.hpp"

namespace nightferry::practice {

struct Stored {
    std::string type;
    std::string id;
    int version = 0;
    std::string text;  // The resource with id and meta.versionId.
};

class RecordStore {
 public:
    // Reads the journal if it is there. Throws std::runtime_error when it cannot be read or written.
    explicit RecordStore(std::filesystem::path journal);

    const Stored* find(std::string_view type, std::string_view id) const;
    // Resources of a type that bear the identifier; every one of the type when the system is empty.
    std::vector<const Stored*> search(std::string_view type, std::string_view system,
                                      std::string_view value) const;

    // Puts a new version of a resource; an empty id gives it a new one.
    const Stored& put(const fhir::json::Value& resource, std::string_view type, std::string id);

    // Between begin() and keep() all puts are one: undo() forgets them, keep() writes them to the journal.
    void begin();
    void keep();
    void undo();

    // How many resources there are of each type and status.
    std::map<std::pair<std::string, std::string>, int> counts() const;

 private:
    using Key = std::pair<std::string, std::string>;

    std::filesystem::path journal_;
    std::map<Key, Stored, std::less<>> records_;
    int next_id_ = 1;
    std::map<Key, Stored, std::less<>> before_;
    int next_id_before_ = 1;
    std::vector<Key> changed_;
    bool in_one_ = false;
};

}  // namespace nightferry::practice
