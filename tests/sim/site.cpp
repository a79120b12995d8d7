#include "tests/sim/site.hpp"

#include <algorithm>
#include <array>
#include <ctime>

#include "tests/sim/diary.hpp"

namespace nightferry::sim {

namespace {

// "Sun, 06 Nov 1994 08:49:37 GMT" (RFC 9110 section 5.6.7)
std::string http_date(Instant at) {
    const std::time_t seconds =
        std::chrono::system_clock::to_time_t(std::chrono::floor<std::chrono::seconds>(at));
    std::tm parts{};
    ::gmtime_r(&seconds, &parts);
    std::array<char, 32> text{};
    const std::size_t length = std::strftime(text.data(), text.size(), "%a, %d %b %Y %H:%M:%S GMT", &parts);
    return {text.data(), length};
}

bool has_word(const fhir::json::Value& resource, std::string_view word) {
    for (const fhir::json::Value& note : resource.items_at("note")) {
        if (note.string_at("text").find(word) != std::string_view::npos) return true;
    }
    return false;
}

std::string told_of(const std::string& clinic, const HttpRequest& request, const HttpAnswer& told,
                    Misbehaviour misbehaviour) {
    std::string line = clinic + "  " + request.method + " " + percent_decode(request.target);
    for (std::size_t at = 0; (at = request.body.find("urn:uuid:", at)) != std::string::npos; at += 9) {
        const bool is_identity = request.body.compare(at - 9, 9, "\"value\":\"") == 0;
        if (is_identity) line += " " + request.body.substr(at + 9, 8);
    }
    line += " -> " + std::to_string(told.status);
    if (misbehaviour != Misbehaviour::none) line += " (" + std::string(name_of(misbehaviour)) + ")";
    return line;
}

bool hides_what_is_there(Misbehaviour one) {
    return one == Misbehaviour::stale_search || one == Misbehaviour::fewer_entries;
}

bool refuses_without_need(Misbehaviour one) {
    switch (one) {
        case Misbehaviour::before_400:
        case Misbehaviour::before_403:
        case Misbehaviour::before_404:
        case Misbehaviour::before_409:
        case Misbehaviour::before_412:
        case Misbehaviour::after_409:
            return true;
        default:
            return false;
    }
}

// Whether the server itself sees to it that nothing comes to be twice, as it claims.
bool creates_once(const Dialect& dialect) {
    return dialect.does.conditional_create == Support::honoured && dialect.claims.conditional_create &&
           dialect.claims.says_conditions;
}

bool is_readable(const Dialect& dialect) {
    return dialect.claims.metadata == Metadata::readable;
}

bool can_be_asked(const Dialect& dialect) {
    return dialect.does.identifier_search == IdentifierSearch::honoured && dialect.claims.search &&
           dialect.claims.search_by_identifier;
}

// A server that says what it does not do, and cannot be found out by its answers, leads any hub astray.
bool can_be_coped_with(const Dialect& dialect) {
    const Does& does = dialect.does;
    const bool keeps_all = does.types.empty();
    // What is tried in a bundle first may have to be tried without one, and the other way round only where
    // bundles are said to be taken at all.
    const bool can_bundle = is_readable(dialect) && (does.transactions || does.batches) &&
                            (dialect.claims.transaction || dialect.claims.batch);
    const bool can_write = does.updates && (does.creates || can_bundle);
    // Two lies at once: what a refused transaction leaves behind is not even kept from coming twice.
    const bool heeds_what_it_claims = does.conditional_create != Support::ignored ||
                                      !dialect.claims.conditional_create ||
                                      does.atomicity == Atomicity::atomic;
    // Where nothing is known of a server, this says that the address is wrong.
    const bool says_what_is_wrong =
        is_readable(dialect) || does.conditional_create != Support::rejected || does.condition_status != 501;
    return says_what_is_wrong && heeds_what_it_claims && can_be_asked(dialect) && keeps_all && can_write &&
           !does.asynchronous && !does.requires_versions;
}

}  // namespace

Site::Site(std::string name, Dialect dialect, const Mix& mix, Agenda& agenda, WallClock& clock, Dice& dice,
           Watch watch, Tell tell)
    : name_(std::move(name)),
      server_(std::move(dialect)),
      mix_(mix),
      agenda_(agenda),
      clock_(clock),
      dice_(dice),
      watch_(std::move(watch)),
      tell_(std::move(tell)) {
    const Dialect& is = server_.dialect();
    workable_ = can_be_coped_with(is);
    // A request that comes late or twice can be met by a server that creates on condition, or by a hub that
    // was told the truth and keeps quiet for a while.
    const bool is_honest = !is_readable(is) || creates_once(is) || !is.claims.conditional_create;
    const bool versions_too =
        is.does.checks_versions || !is_readable(is) || is.claims.versioning == "no-version";
    lates_ = is_honest && versions_too;
    // A search that hides what is there leads to a second resource where no condition keeps it out: on
    // servers that have none, and where a condition was refused without need, so that it is left out.
    const auto& kinds = mix_.server.kinds;
    const bool may_refuse = std::any_of(kinds.begin(), kinds.end(), refuses_without_need);
    can_be_asked_ = can_be_asked(is);
    search_may_lie_ = creates_once(is) && is_readable(is) && !may_refuse;
    doubles_ = creates_once(is) && is_readable(is) && is.does.checks_versions;
    // Only a version that is shown, asked for and checked tells of a change between a look and a write.
    races_ = is.does.checks_versions && is.does.shows_versions && is.does.gives_etag && is_readable(is) &&
             !is.claims.versioning.empty() && is.claims.versioning != "no-version";
    if (mix_.server.refuses)
        server_.refuse([](const fhir::json::Value& resource) { return has_word(resource, refused_word); });
    if (mix_.server.breaks)
        server_.break_on([](const fhir::json::Value& resource) { return has_word(resource, breaking_word); });
}

HttpAnswer Site::serve(const HttpRequest& request, Misbehaviour misbehaviour) {
    HttpAnswer told = server_.answer(request, misbehaviour);
    if (tell_) tell_(told_of(name_, request, told, misbehaviour));
    if (mix_.server.tells_date) told.headers.emplace_back("Date", http_date(clock_.true_time()));
    watch_(*this);
    if (races_ && request.method == "GET" && dice_.happens(mix_.people.races)) {
        if (const StoredResource* one = looked_at(request)) edit(*one);
    }
    return told;
}

Misbehaviour Site::draw_misbehaviour() {
    if (!dice_.happens(mix_.server.misbehaves)) return Misbehaviour::none;
    const Misbehaviour drawn = mix_.server.kinds[dice_.below(mix_.server.kinds.size())];
    if (hides_what_is_there(drawn) && !search_may_lie_) return Misbehaviour::none;
    // Where no search tells what is there, a reading that does not either leads any hub astray.
    if (drawn == Misbehaviour::before_404 && !can_be_asked_) return Misbehaviour::none;
    if (drawn == Misbehaviour::other_order || drawn == Misbehaviour::other_id) named_other_places_ = true;
    return drawn;
}

void Site::hour_passes(bool hub_is_at_work) {
    requests_this_hour_ = 0;
    in_vain_this_hour_ = 0;
    if (dice_.happens(mix_.line.outages)) go_away(std::chrono::minutes{1 + dice_.below(300)});
    if (dice_.happens(mix_.server.restores) && backup_) {
        // While it is put back it is away, and whoever talks to it notices.
        if (tell_) tell_(name_ + "  is put back to a backup");
        server_.restore(*backup_);
        ++restores_;
        go_away(std::chrono::minutes{1 + dice_.below(140)});
    } else if (dice_.below(12) == 0 && mix_.server.restores > 0) {
        backup_ = server_.snapshot();
    }
    people_act(hub_is_at_work);
}

void Site::heal() {
    mix_.line = {.breaks_at = mix_.line.breaks_at};
    mix_.server.misbehaves = 0;
    mix_.server.restores = 0;
    mix_.people = {};
    put_patient_right();
    away_until_ = Span{0};
}

}  // namespace nightferry::sim
