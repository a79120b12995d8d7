// The part of the local API about the logbook as a whole: copies of it, what is in it, whether it is sound,
// and erasing a person.
//
//   GET  /v1/logbook/check       everything that can be wrong with the file, looked at
//   POST /v1/logbook/copy        makes a copy as it stands now, in place of an earlier one: {"bytes": …}
//   GET  /v1/logbook/copy        a part of that copy (?from=BYTE), as it is; nothing behind its end
//   POST /v1/logbook/copy/end    it is not needed any more
//   GET  /v1/logbook/entries     what people recorded, every revision as a line of the entry format
//                                (?after=ID &person=); the header X-Last names the ID to go on after
//   GET  /v1/logbook/fhir        entries as parts of a FHIR Bundle (?after=ID &person=): {"parts": […],
//                                "last": "…", "left_out": […]}; the patients come before the first
//   GET  /v1/logbook/person      what there is of a person (?person=)
//   POST /v1/logbook/erase       erases all of it (?person=): {"by": "a carer's key", "reason": "…"}
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "daemon/core/http.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/logbook/database.hpp"
#include "daemon/logbook/exporting.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/logbook/snapshot.hpp"

namespace nightferry::intake {

class LogbookApi {
 public:
    // `file` is the database's, `identifier_system` marks this home's entries.
    LogbookApi(const entry::Household& household, std::string identifier_system, logbook::Database& db,
               std::filesystem::path file, Clock& clock)
        : household_(household),
          identifier_system_(std::move(identifier_system)),
          db_(db),
          book_(db),
          file_(std::move(file)),
          clock_(clock) {}

    // Whether the request is meant for this part.
    static bool is_for(std::string_view path) { return path.starts_with("/v1/logbook/"); }

    // An error means that the logbook failed.
    Result<HttpAnswer> answer(const HttpRequest& request);

 private:
    Result<HttpAnswer> check();
    Result<HttpAnswer> copy();
    Result<HttpAnswer> part(const HttpRequest& request);
    Result<HttpAnswer> entries(const HttpRequest& request);
    Result<HttpAnswer> fhir(const HttpRequest& request);
    Result<HttpAnswer> person(const HttpRequest& request);
    Result<HttpAnswer> erase(const HttpRequest& request);

    const entry::Household& household_;
    const std::string identifier_system_;
    logbook::Database& db_;
    logbook::Logbook book_;
    const std::filesystem::path file_;
    Clock& clock_;
    std::optional<logbook::Snapshot> copy_;
};

}  // namespace nightferry::intake
