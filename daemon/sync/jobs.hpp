// The requests that sending is made of, and what their answers say. Pure helpers of SyncMachine.
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/core/http.hpp"
#include "daemon/core/result.hpp"
#include "daemon/logbook/delivery.hpp"
#include "daemon/mapping/mapper.hpp"
#include "daemon/sync/fate.hpp"
#include "fhir/exchange/bundle.hpp"
#include "fhir/exchange/location.hpp"

namespace nightferry::sync {

// What the clinic holds of a parcel and may be replaced, because we put it there.
struct Replace {
    std::string resource_id;
    std::string version_id;
};

struct Load {
    logbook::Parcel parcel;
    std::optional<Replace> replace;  // Absent: the resource is created, unless it is there already.
    int lookups = 0;                 // How often this parcel was looked up in this pass.
};

// One transaction of one or more loads.
struct BundleJob {
    std::vector<Load> loads;
};

// Ask what the clinic holds under this entry's identifier.
struct LookupJob {
    Load load;
};

using Job = std::variant<BundleJob, LookupJob>;

// The clinic's answer for one load of a bundle.
struct LoadAnswer {
    Fate fate = Fate::look;
    int status = 0;
    std::optional<fhir::exchange::Location> location;
    std::string words;
};

// What a lookup found out.
struct Holding {
    enum class Kind {
        absent,      // Nothing there.
        up_to_date,  // It holds what we would send.
        ours_older,  // It holds one of our earlier revisions.
        changed,     // It holds what is not ours: somebody at the clinic changed it.
        not_ours,    // The search found resources, but none bears the identifier.
        several,     // More than one resource bears the identifier.
        hidden,      // It counts more resources than it shows.
        unreadable,  // The answer is no search result.
    };
    Kind kind = Kind::unreadable;
    std::optional<fhir::exchange::Location> location;
    std::size_t matches = 0;
};

class JobBuilder {
 public:
    explicit JobBuilder(mapping::Mapper mapper) : mapper_(std::move(mapper)) {}

    mapping::Mapper& mapper() { return mapper_; }

    // How a parcel that was just taken goes best.
    Job job_for(logbook::Parcel parcel) const;

    // Whether its resource can be made at all, and is valid with its Provenance by the published definitions
    // in the form of its first sending (later ones add the id that the clinic gave it); Errc::setup with the
    // reason when not.
    Result<void> can_send(const logbook::Parcel& parcel) const;

    HttpRequest request(const BundleJob& job) const;
    HttpRequest request(const LookupJob& job) const;
    HttpRequest patient_request(const std::string& system, const std::string& value) const;

    // The answers per load, in order. Answers that do not match the request make every load Fate::look.
    std::vector<LoadAnswer> read(const BundleJob& job, const HttpAnswer& answer) const;
    Holding read(const LookupJob& job, const HttpAnswer& answer) const;

    static Purpose purpose(const BundleJob& job);

 private:
    fhir::exchange::Transaction transaction(const BundleJob& job) const;
    Result<void> add_load(fhir::exchange::Transaction& transaction, const Load& load,
                          const BundleJob& job) const;
    std::string dose_reference(const Load& load, const BundleJob& job) const;
    bool holds(const fhir::json::Value& theirs, const entry::Version& version) const;

    mapping::Mapper mapper_;
};

}  // namespace nightferry::sync
