// The part of the local API about the logbook as a whole: copies of it, what is in it, whether it is sound.
//
//   GET  /v1/logbook/check       everything that can be wrong with the file, looked at
//   POST /v1/logbook/copy        makes a copy as it stands now: {"copy": N, "bytes": …}. There is one at a
//                                time, so 409 while somebody fetches another; one that nobody fetches any
//                                more is dropped
//   GET  /v1/logbook/copy        a part of that copy (?copy=N&from=BYTE), as it is; nothing behind its end;
//                                409 when it is not there any more
//   POST /v1/logbook/copy/end    it is not needed any more (?copy=N)
//   GET  /v1/logbook/entries     what people recorded, every revision as a line of the entry format
//                                (?after=ID &person=); the header X-Last names the ID to go on after
//   GET  /v1/logbook/fhir        entries as parts of a FHIR Bundle (?after=ID &person=): {"parts": […],
//                                "last": "…", "left_out": […]}; the patients come before the first
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
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

    // While the logbook is looked through or copied, which can take long, this is asked from time to time;
    // where it returns false that is called off, with 503 for an answer.
    void go_on_while(std::function<bool()> goes_on) { goes_on_ = std::move(goes_on); }

    // Whether the request is meant for this part.
    static bool is_for(std::string_view path) { return path.starts_with("/v1/logbook/"); }

    // An error means that the logbook failed.
    Result<HttpAnswer> answer(const HttpRequest& request);

    // Lets go of a copy that nobody fetched a part of for some minutes: it takes as much room as the logbook.
    // For calling from time to time.
    void drop_idle_copy();

 private:
    Result<HttpAnswer> check();
    Result<HttpAnswer> copy();
    Result<HttpAnswer> part(const HttpRequest& request);
    Result<HttpAnswer> end(const HttpRequest& request);
    // Whether the request names the copy that is there.
    bool means_copy(const HttpRequest& request) const;
    bool was_read_within(std::chrono::minutes span) const;
    // Whether the settings or the logbook know this person; nobody in particular is known.
    Result<bool> is_known(const std::string& person);
    Result<HttpAnswer> entries(const HttpRequest& request);
    Result<HttpAnswer> fhir(const HttpRequest& request);

    const entry::Household& household_;
    const std::string identifier_system_;
    logbook::Database& db_;
    logbook::Logbook book_;
    const std::filesystem::path file_;
    Clock& clock_;
    std::function<bool()> goes_on_ = [] { return true; };
    struct Copy {
        std::int64_t number;
        logbook::Snapshot snapshot;
        Instant last_read;
    };
    std::optional<Copy> copy_;
    std::int64_t newest_number_ = 0;
};

}  // namespace nightferry::intake
