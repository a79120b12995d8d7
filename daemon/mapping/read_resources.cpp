#include "daemon/mapping/read_resources.hpp"

#include <algorithm>
#include <array>

#include "daemon/core/words.hpp"
#include "daemon/mapping/read_administration.hpp"
#include "daemon/mapping/read_observation.hpp"
#include "daemon/mapping/read_provenance.hpp"
#include "daemon/mapping/release_of.hpp"
#include "fhir/resource/read_datatypes.hpp"

namespace nightferry::mapping {

namespace json = fhir::json;

namespace {

constexpr std::array<std::string_view, 4> bundle_types{"batch", "collection", "searchset", "transaction"};
constexpr std::array<std::string_view, 5> context_types{"Device", "Medication", "Patient", "Practitioner",
                                                        "RelatedPerson"};

template <class List>
bool contains(const List& list, std::string_view word) {
    return std::find(list.begin(), list.end(), word) != list.end();
}

bool becomes_entry(const json::Value& resource) {
    const std::string_view type = resource.string_at("resourceType");
    return type == "MedicationAdministration" || type == "Observation";
}

std::optional<Instant> instant_of(std::string_view text) {
    const auto written = parse_time(text);
    if (!written || !written->offset) return std::nullopt;
    return Instant{written->local.time_since_epoch() - *written->offset + written->fraction};
}

// Reads one Bundle, or one resource alone.
class Reader {
 public:
    Reader(const json::Value& root, const entry::Household& household, const Acquaintances& acquaintances,
           const Validity& validity)
        : root_(root),
          is_bundle_(root.string_at("resourceType") == "Bundle"),
          surroundings_(root),
          context_{household, acquaintances, surroundings_},
          validity_(validity) {}

    std::vector<ResourcePart> read() {
        std::vector<ResourcePart> parts(surroundings_.sources().size());
        for (std::size_t i = 0; i < parts.size(); ++i)
            parts[i].draft.where = path(i);
        // What says who wrote the others down comes first, wherever it stands.
        for (std::size_t i = 0; i < parts.size(); ++i) {
            const json::Value* resource = surroundings_.sources()[i].resource;
            if (resource != nullptr && resource->string_at("resourceType") == "Provenance")
                read_author(i, parts[i]);
        }
        for (std::size_t i = 0; i < parts.size(); ++i)
            read_part(i, parts[i]);
        return parts;
    }

 private:
    struct Author {
        Authorship said;
        entry::Draft draft;        // The problems of its Provenance.
        bool is_doubtful = false;  // One of them cannot be read.
    };

    std::string path(std::size_t i) const {
        return is_bundle_ ? "Bundle.entry[" + std::to_string(i) + "].resource"
                          : std::string(root_.string_at("resourceType"));
    }

    bool is_valid(std::size_t i, entry::Draft& draft) const {
        const auto found = validity_.of_entries.find(i);
        const auto& problems = !is_bundle_                           ? validity_.of_whole
                               : found == validity_.of_entries.end() ? none_
                                                                     : found->second;
        draft.problems.insert(draft.problems.end(), problems.begin(), problems.end());
        return problems.empty();
    }

    void read_author(std::size_t i, ResourcePart& part) {
        const Source& source = surroundings_.sources()[i];
        Author author;
        author.is_doubtful = !is_valid(i, part.draft);
        if (!author.is_doubtful) {
            refuse_extensions(*source.resource, path(i), author.draft);
            Incoming incoming{Element(*source.resource, path(i), author.draft), context_, source, nullptr};
            author.said = read_provenance(incoming);
        }
        bool has_target = false;
        for (const json::Value& one : source.resource->items_at("target")) {
            const auto target = surroundings_.target(fhir::resource::reference_in(one).reference, source);
            if (!target || !becomes_entry(*target->resource)) continue;
            has_target = true;
            Author& known = authors_[target->resource];
            const bool is_doubtful = known.is_doubtful || author.is_doubtful;
            if (known.said.path.empty() || is_later(author.said, known.said)) known = author;
            known.is_doubtful = is_doubtful;
        }
        part.kind = has_target && part.draft.problems.empty() ? ResourcePart::Kind::context
                                                              : ResourcePart::Kind::entry;
        if (!has_target) {
            part.draft.problems.push_back(
                {path(i) + ".target",
                 "a Provenance says who wrote down what is in the same Bundle; hand that in "
                 "with it"});
        }
    }

    // One resource may come with a Provenance for each of its versions; the last one counts.
    static bool is_later(const Authorship& one, const Authorship& other) {
        const auto at = instant_of(one.recorded);
        const auto before = instant_of(other.recorded);
        return at && before && *at > *before;
    }

    void read_part(std::size_t i, ResourcePart& part) {
        const Source& source = surroundings_.sources()[i];
        const std::string entry_path = "Bundle.entry[" + std::to_string(i) + "]";
        if (source.resource == nullptr) {
            is_valid(i, part.draft);
            part.draft.problems.push_back(
                {entry_path + ".resource", "is missing; there is nothing to record"});
            return;
        }
        const std::string_view type = source.resource->string_at("resourceType");
        if (type == "Provenance" && is_bundle_) return;
        if (!is_valid(i, part.draft)) return;
        const std::size_t problems = part.draft.problems.size();
        check_request(i, entry_path, part.draft);
        if (part.draft.problems.size() > problems) return;
        if (contains(context_types, type) || is_outcome_of_search(i)) {
            part.kind = ResourcePart::Kind::context;
        } else if (!becomes_entry(*source.resource)) {
            part.draft.problems.push_back(
                {part.draft.where,
                 "found " + in_quotes(type) +
                     "; this hub makes entries of MedicationAdministration and Observation only"});
        } else {
            read_entry(source, part.draft);
        }
    }

    void read_entry(const Source& source, entry::Draft& draft) {
        refuse_extensions(*source.resource, draft.where, draft);
        const auto author = authors_.find(source.resource);
        const Authorship* said = nullptr;
        if (author != authors_.end()) {
            said = &author->second.said;
            const entry::Draft& its = author->second.draft;
            draft.problems.insert(draft.problems.end(), its.problems.begin(), its.problems.end());
            draft.unreadable.insert(draft.unreadable.end(), its.unreadable.begin(), its.unreadable.end());
            if (author->second.is_doubtful)
                draft.problems.push_back(
                    {draft.where,
                     "a Provenance in this Bundle says who wrote this down, but is not valid; "
                     "correct that one"});
        }
        Incoming incoming{Element(*source.resource, draft.where, draft), context_, source, said};
        if (source.resource->string_at("resourceType") == "Observation") {
            read_observation(incoming);
        } else {
            read_administration(incoming);
        }
    }

    bool is_outcome_of_search(std::size_t i) const {
        const json::Value* entry = surroundings_.sources()[i].entry;
        const json::Value* search = entry == nullptr ? nullptr : entry->find("search");
        return search != nullptr && search->string_at("mode") == "outcome";
    }

    void check_request(std::size_t i, const std::string& entry_path, entry::Draft& draft) const {
        const json::Value* entry = surroundings_.sources()[i].entry;
        const json::Value* request = entry == nullptr ? nullptr : entry->find("request");
        if (request == nullptr) return;
        const std::string_view method = request->string_at("method");
        if (method != "POST" && method != "PUT") {
            draft.problems.push_back(
                {entry_path + ".request.method",
                 "entries are handed in with POST or PUT; one that should not exist is handed "
                 "in again with the status entered-in-error"});
        }
        for (const char* condition : {"ifMatch", "ifNoneMatch", "ifModifiedSince"}) {
            if (request->find(condition) != nullptr)
                draft.problems.push_back(
                    {entry_path + ".request." + condition,
                     "this hub keeps no resources with versions to compare; leave it out"});
        }
    }

    const json::Value& root_;
    const bool is_bundle_;
    Surroundings surroundings_;
    Context context_;
    const Validity& validity_;
    const std::vector<entry::Problem> none_;
    std::map<const json::Value*, Author> authors_;
};

entry::Problem first_of(const std::vector<entry::Problem>& problems) {
    entry::Problem all = problems.front();
    for (std::size_t i = 1; i < problems.size(); ++i)
        all.what += "; " + problems[i].where + ": " + problems[i].what;
    return all;
}

}  // namespace

bool is_resource(const json::Value& root) {
    return root.is(json::Kind::object) && root.find("resourceType") != nullptr;
}

ResourceReading read_resources(const json::Value& root, std::optional<fhir::spec::Release> stated,
                               const entry::Household& household, const Acquaintances& acquaintances) {
    constexpr std::size_t entries_max = 20'000;
    ResourceReading reading;
    const bool is_bundle = root.string_at("resourceType") == "Bundle";
    const std::string_view type = root.string_at("type");
    if (is_bundle && root.items_at("entry").empty()) {
        reading.failure = entry::Problem{"Bundle.entry", "is missing; there is nothing to record"};
        return reading;
    }
    if (is_bundle && root.find("entry")->size() > entries_max) {
        reading.failure =
            entry::Problem{"Bundle.entry", "at most " + std::to_string(entries_max) +
                                               " entries are taken at once; hand it in in smaller pieces"};
        return reading;
    }
    const Validity validity = validity_of(root, stated);
    reading.release = validity.release;
    if (is_bundle && !validity.of_whole.empty()) {
        reading.failure = first_of(validity.of_whole);
        return reading;
    }
    if (is_bundle && !contains(bundle_types, type)) {
        reading.failure =
            entry::Problem{"Bundle.type", "found " + in_quotes(type) + ", expected " + any_of(bundle_types) +
                                              "; put the resources into a collection"};
        return reading;
    }
    if (is_bundle) reading.bundle_type = type;
    reading.parts = Reader(root, household, acquaintances, validity).read();
    return reading;
}

}  // namespace nightferry::mapping
