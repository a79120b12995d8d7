// What a model clinic holds: every resource with all its versions, found at once by place or identifier. A
// plain value: a copy is a backup. Texts are shared between copies.
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <memory>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <vector>

namespace nightferry::sim {

enum class Writer { us, clinic };

struct Identifier {
    std::string system;
    std::string value;
    bool operator==(const Identifier&) const = default;
};

struct StoredVersion {
    std::string version;                      // As in meta.versionId and ETag.
    std::shared_ptr<const std::string> text;  // With id and meta; of a deletion what was deleted.
    Writer writer = Writer::us;
    bool deleted = false;
    std::vector<Identifier> identifiers;
};

struct StoredResource {
    std::string type;
    std::string id;
    std::vector<StoredVersion> history;  // Oldest first; never empty.

    const StoredVersion& newest() const { return history.back(); }
    bool is_deleted() const { return newest().deleted; }
    const std::string& text() const { return *newest().text; }
    std::string place() const { return type + "/" + id; }
    bool bears(std::string_view system, std::string_view value) const;
};

class ModelStore {
 public:
    // In the order of their creation, deleted ones included. References and pointers to one stay valid until
    // it is taken back or the store is replaced.
    const std::deque<StoredResource>& resources() const { return resources_; }
    const StoredResource* find(std::string_view type, std::string_view id) const;
    // Those of the type that are there and bear the identifier now, oldest first.
    std::vector<const StoredResource*> bearing(std::string_view type, std::string_view system,
                                               std::string_view value) const;
    // Those of the type that are there.
    std::vector<const StoredResource*> all(std::string_view type) const;
    std::size_t count(std::string_view type) const;

    // Adds a version, and the resource if it is new.
    const StoredResource& add(std::string_view type, std::string_view id, StoredVersion version);
    // Takes back the newest version of what `add` was last called for; the resource too when it was the
    // first.
    void take_back(std::string_view type, std::string_view id);
    // Puts another text in the place of the newest version's.
    void amend(std::string_view type, std::string_view id, std::string text);

 private:
    using Positions = std::vector<std::uint32_t>;

    std::uint32_t position(std::string_view type, std::string_view id) const;

    std::deque<StoredResource> resources_;
    std::unordered_map<std::string, std::uint32_t> by_place_;
    // May name resources that no longer bear it.
    std::unordered_map<std::string, Positions> by_identifier_;
    std::unordered_map<std::string, Positions> by_type_;
    std::unordered_map<std::string, std::size_t> living_;
};

}  // namespace nightferry::sim
