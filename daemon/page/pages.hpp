// The recording page for phones that are let in: what each request means. Knows no sockets.
//
//   GET       /                     what the clinic has, the day's doses, what to record (?person=)
//   GET, POST /dose, /not-given, /finding, /vial     the form, and what was typed into it (?person=)
//   GET       /entry/ID             one entry with what became of it
//   GET, POST /entry/ID/amend, /entry/ID/retract
//
// And for those that are not let in (entrance.hpp): the form by which they are, and what every page is made
// with, which is no secret.
//
// What a POST gets: 303 when it is recorded (or was before), 422 with the form and what is wrong with it, 409
// with the form when the scheduled dose has an entry already, 400 when it is no form, 507 and 500 when the
// hub cannot keep it.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "daemon/core/http.hpp"
#include "daemon/core/ports.hpp"
#include "daemon/intake/desk.hpp"
#include "daemon/logbook/logbook.hpp"
#include "daemon/page/entrance.hpp"
#include "daemon/page/views.hpp"
#include "daemon/upkeep/upkeep.hpp"

namespace nightferry::page {

class Pages {
 public:
    // All of them outlive it.
    struct Parts {
        const entry::Household& household;
        intake::Desk& desk;
        logbook::Logbook& logbook;
        upkeep::Upkeep& upkeep;
        Clock& clock;
        Random& random;
        texts::Language language;
        std::function<Result<std::vector<Crossing>>()> crossings;
    };
    explicit Pages(Parts parts) : parts_(std::move(parts)), speaker_(parts_.language) {}

    // What a phone gets that is let in.
    HttpAnswer answer(const HttpRequest& request, const Device& phone);
    // The style sheet, the script or the icon; nothing under another path.
    static std::optional<HttpAnswer> asset(const HttpRequest& request);
    // For whoever is not let in: the form for the code, with what became of the last one, or why there is
    // none.
    HttpAnswer outside(int status, Outside why);

    // The error after which the process has to end, if one came.
    const std::optional<Error>& failed() const { return failed_; }

 private:
    struct Form;
    static const std::vector<Form>& forms();

    HttpAnswer start(const HttpRequest& request);
    HttpAnswer blank(const Form& form, const HttpRequest& request, const std::string& carer);
    HttpAnswer record(const Form& form, const HttpRequest& request, const std::string& carer);
    HttpAnswer entry(const HttpRequest& request, const std::string& carer);
    HttpAnswer amend(const HttpRequest& request, const logbook::EntryRecord& record,
                     const std::string& carer);
    HttpAnswer retract(const HttpRequest& request, const logbook::EntryRecord& record,
                       const std::string& carer);

    // Hands it in; the address of the entry once it is there, or why it is not.
    struct Outcome {
        std::string address;
        Problems problems;
        std::optional<HttpAnswer> failure;
    };
    Outcome hand_in(const std::string& json);

    // Whom the request is about: whom it names, or the only one there is.
    std::optional<std::string> person_of(const HttpRequest& request) const;
    Result<Facts> facts_of(const std::string& person);
    std::optional<Taken> taken_by(const Form& form, const Facts& facts, const Typed& typed,
                                  Instant now) const;
    // When what was typed happened, if that is "now": when the entry of that id did, if it was sent before;
    // when the phone kept it, if it did; or now. Nothing where the phone's word cannot be believed.
    std::optional<Instant> meant_by_now(const Typed& typed,
                                        const std::optional<logbook::EntryRecord>& there) const;
    std::optional<Hand> hand_for(const Typed& typed, const std::string& carer) const;
    bool is_newest(const std::string& json, const logbook::EntryRecord& record) const;
    std::optional<logbook::EntryRecord> find(const std::string& id);
    std::string new_id();
    HttpAnswer failure(const Error& error);
    HttpAnswer message(int status, T text) const;
    Backdrop backdrop() const { return {parts_.household, speaker_, parts_.clock.now(), phone_}; }

    Parts parts_;
    texts::Speaker speaker_;
    std::string phone_;  // Which one is being answered.
    std::optional<Error> failed_;
};

}  // namespace nightferry::page
