// A clinic's FHIR server without sockets, clock or chance: the same calls give the same answers. It behaves
// as its dialect says, misbehaves when told to, and shows checkers everything that it holds.
//
// Served: "" (POST of a Bundle), "/metadata", "/Type" (POST), "/Type?identifier=system|value",
// "/Type/id" (GET, PUT), "/Type/id/_history/version" (GET).
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/core/http.hpp"
#include "fhir/json/document.hpp"
#include "tests/sim/dialect.hpp"
#include "tests/sim/misbehaviour.hpp"
#include "tests/sim/model_answers.hpp"
#include "tests/sim/model_store.hpp"

namespace nightferry::sim {

struct Event {
    enum class What { created, updated, deleted, restored };
    What what;
    Writer writer;
    std::string type;  // Empty, as are id and version, when a backup was restored.
    std::string id;
    std::string version;
};

class ModelClinic {
 public:
    // What a backup holds.
    class Snapshot {
        friend class ModelClinic;
        ModelStore store;
        std::uint64_t next_id = 1;
    };

    explicit ModelClinic(Dialect dialect);

    const Dialect& dialect() const { return dialect_; }
    // A server may be replaced by another version of itself overnight.
    void become(Dialect dialect);

    // ---- What the hub sees.

    HttpAnswer answer(const HttpRequest& request, Misbehaviour misbehaviour = Misbehaviour::none);
    // Carries out what was answered with 202, in order; how many requests that were.
    std::size_t apply_pending();
    std::size_t pending() const { return pending_.size(); }

    // ---- What people at the clinic do. False when there is no such resource (any more).

    // Adds a resource as they would; its id is given by the server unless the text has one. Returns the id.
    std::string enter(std::string_view resource);
    // A new version with a note of theirs; identifiers are kept.
    bool edit(std::string_view type, std::string_view id, std::string_view words);
    // A new version that says the same.
    bool touch(std::string_view type, std::string_view id);
    bool remove(std::string_view type, std::string_view id);
    // A second resource with the same content and identifiers; its id, or empty.
    std::string duplicate(std::string_view type, std::string_view id);

    // Content that a rule of the clinic forbids: 422 and an OperationOutcome that names the rule.
    void refuse(std::function<bool(const fhir::json::Value&)> what, std::string rule = "clinic-rule-1");
    // Content that the server cannot bear: 500 for the whole request.
    void break_on(std::function<bool(const fhir::json::Value&)> what);

    // What Retry-After says when it is a date.
    void set_retry_date(std::string date) { retry_date_ = std::move(date); }

    // Everything that is held; predicates, dialect and what is pending are no part of it.
    Snapshot snapshot() const;
    // What is pending is lost.
    void restore(const Snapshot& snapshot);

    // ---- What checkers see.

    const ModelStore& store() const { return store_; }
    // Every change that lasted. A mark is the number of events before it.
    std::size_t mark() const { return events_.size(); }
    std::span<const Event> events_since(std::size_t mark) const;
    // How many requests were answered.
    std::uint64_t requests() const { return requests_; }

 private:
    // What the header fields or the parts of a Bundle's request say.
    struct Conditions {
        std::string_view if_none_exist;
        std::string_view if_match;
        std::string_view if_none_match;
    };

    HttpAnswer carry_out(const HttpRequest& request, Misbehaviour misbehaviour);
    HttpAnswer get(std::string_view path, std::string_view query, Misbehaviour misbehaviour) const;
    HttpAnswer read(std::string_view type, std::string_view rest) const;
    HttpAnswer search(std::string_view type, std::string_view query, Misbehaviour misbehaviour) const;

    HttpAnswer bundle(const fhir::json::Value& bundle, Misbehaviour misbehaviour);
    Outcome entry(const fhir::json::Value& entry);
    void settle_references(const fhir::json::Value& bundle, const std::vector<Outcome>& outcomes);
    void undo_to(std::size_t mark, std::uint64_t next_id);

    bool keeps(std::string_view type) const;
    std::optional<Outcome> objection(const fhir::json::Value& resource, std::string_view type) const;
    std::optional<Outcome> unmet(const Conditions& conditions, const StoredResource* there) const;
    std::vector<const StoredResource*> matching(std::string_view type, std::string_view query) const;
    Outcome create(const fhir::json::Value& resource, std::string_view type, const Conditions& conditions);
    Outcome update(const fhir::json::Value& resource, std::string_view type, std::string_view id,
                   const Conditions& conditions);
    std::string new_id(std::string_view type);
    std::string next_version(const StoredResource* there);
    const StoredResource& write(const fhir::json::Value& resource, std::string_view type, std::string_view id,
                                Writer writer);

    Dialect dialect_;
    ModelStore store_;
    std::vector<Event> events_;
    std::vector<HttpRequest> pending_;
    std::function<bool(const fhir::json::Value&)> refuses_;
    std::function<bool(const fhir::json::Value&)> breaks_on_;
    std::string rule_;
    std::string retry_date_ = "Sun, 06 Nov 1994 08:49:37 GMT";
    std::string metadata_;
    std::uint64_t next_id_ = 1;
    std::uint64_t next_version_ = 1;
    std::uint64_t requests_ = 0;
};

}  // namespace nightferry::sim
