// What of an entry goes out, and how that would look now.
#include "daemon/entry/free_texts.hpp"
#include "daemon/sync/jobs.hpp"

namespace nightferry::sync {

namespace exchange = fhir::exchange;
using mapping::Mapper;

entry::Version outgoing(const Load& load) {
    const logbook::Parcel& parcel = load.parcel;
    return parcel.texts.now ? parcel.wanted : entry::without_free_texts(parcel.wanted);
}

exchange::Transaction JobBuilder::preview(const std::vector<logbook::Parcel>& parcels) const {
    WriteJob job{{}, manner_.carrier};
    for (const logbook::Parcel& parcel : parcels) {
        Load& load = job.loads.emplace_back();
        load.parcel = parcel;
        if (const auto& receipt = parcel.receipt)
            load.replace =
                exchange::Location{receipt->resource_type, receipt->resource_id, receipt->version_id};
    }
    exchange::Transaction shown = bundle(job);
    const bool comes_apart = !job.loads.empty() && manner_.takes_provenance && !with_provenance(job);
    for (Load& load : job.loads) {
        if (!comes_apart) break;
        const std::string id = Mapper::provenance_id(load.parcel.id, load.parcel.wanted.revision);
        mapper_.put_provenance(shown.update("Provenance", id, "urn:uuid:" + id, {}), outgoing(load),
                               load.replace ? load.replace->reference() : Mapper::full_url(load.parcel.id));
    }
    return shown;
}

}  // namespace nightferry::sync
