#include "daemon/intake/closer.hpp"

#include "daemon/entry/field_reader.hpp"
#include "daemon/entry/reader.hpp"

namespace nightferry::intake {

Result<Closer> read_closer(const std::string& body, const entry::Household& household, Instant now) {
    const entry::Reading reading = entry::read(body, entry::Format::json);
    if (reading.failure)
        return Error{Errc::bad_input, "expected an object with by and reason: " + reading.failure->what};
    if (reading.drafts.size() != 1)
        return Error{Errc::bad_input, "expected one object with by and reason, not a list"};
    entry::FieldReader fields(reading.drafts.front(), household, now);
    Closer closer;
    closer.by = fields.need_carer("by", "the carer who decided it");
    const entry::Field* reason = fields.need("reason", "why, or how it was settled");
    closer.reason = fields.note("reason").value_or("");
    if (reason != nullptr && closer.reason.empty() && !fields.has_problems())
        fields.problem(*reason, "'reason' is empty; expected why, or how it was settled");
    fields.report_leftovers("deciding something");
    std::string words;
    for (const entry::Problem& problem : fields.take_problems())
        words += (words.empty() ? "" : "; ") + problem.what;
    if (!words.empty()) return Error{Errc::bad_input, words};
    return closer;
}

}  // namespace nightferry::intake
