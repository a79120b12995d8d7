#include "daemon/intake/logbook_api.hpp"

#include <algorithm>
#include <charconv>

#include "daemon/core/words.hpp"
#include "daemon/intake/api_json.hpp"
#include "daemon/intake/logbook_json.hpp"

namespace nightferry::intake {

namespace json = fhir::json;

namespace {

constexpr std::size_t part_bytes = 4 * 1024 * 1024;
// Since a part of a copy was fetched last.
constexpr std::chrono::minutes in_use{1};
constexpr std::chrono::minutes kept_idle{5};

HttpAnswer bytes_answer(const char* type, std::string bytes) {
    return {200, {{"Content-Type", type}, {"Cache-Control", "no-store"}}, std::move(bytes)};
}

HttpAnswer no_such_copy() {
    return error_answer(409, "that copy is not there (any more); one is made with POST /v1/logbook/copy");
}

logbook::PageWish wish_of(const HttpRequest& request) {
    logbook::PageWish wish;
    wish.after = query_value(request.target, "after").value_or("");
    wish.person = query_value(request.target, "person").value_or("");
    return wish;
}

HttpAnswer nobody(const std::string& key) {
    return error_answer(404, "no [[person]] has the key " + in_quotes(key) +
                                 ", and the logbook holds nothing of such a person");
}

HttpAnswer called_off() {
    return error_answer(503, "it was called off, because the daemon is told to end; nothing was changed");
}

// While it lasts, what is done with the database can be called off.
class Interruptible {
 public:
    Interruptible(logbook::Database& db, const std::function<bool()>& goes_on) : db_(db) {
        db_.watch(goes_on);
    }
    Interruptible(const Interruptible&) = delete;
    Interruptible& operator=(const Interruptible&) = delete;
    ~Interruptible() { db_.watch({}); }

 private:
    logbook::Database& db_;
};

}  // namespace

Result<HttpAnswer> LogbookApi::answer(const HttpRequest& request) {
    const std::string_view path = path_of(request.target);
    const bool get = request.method == "GET";
    const bool post = request.method == "POST";
    if (path == "/v1/logbook/check" && get) return check();
    if (path == "/v1/logbook/copy" && post) return copy();
    if (path == "/v1/logbook/copy" && get) return part(request);
    if (path == "/v1/logbook/copy/end" && post) return end(request);
    if (path == "/v1/logbook/entries" && get) return entries(request);
    if (path == "/v1/logbook/fhir" && get) return fhir(request);
    return error_answer(404, "there is nothing at " + request.method + " " + in_quotes(path));
}

Result<HttpAnswer> LogbookApi::check() {
    const auto checkup = [this] {
        const Interruptible lasts(db_, goes_on_);
        return logbook::check_up(db_);
    }();
    if (!checkup && !goes_on_()) return called_off();
    if (!checkup) return checkup.error();
    json::Document document;
    put_checkup(document.root(), *checkup);
    return json_answer(200, document);
}

Result<HttpAnswer> LogbookApi::copy() {
    if (was_read_within(in_use)) {
        return error_answer(
            409,
            "another backup is being made; try again when it has ended, or in a minute if it was given up");
    }
    copy_.reset();
    const Instant now = clock_.now();
    auto taken = [&] {
        const Interruptible lasts(db_, goes_on_);
        return logbook::Snapshot::take(db_, file_, now, logbook::system_files());
    }();
    if (!taken && !goes_on_()) return called_off();
    if (!taken && taken.error().code != Errc::setup) return taken.error();
    if (!taken) return error_answer(500, "no copy could be made: " + taken.error().detail);
    // By the clock, so that one of an earlier process is not taken for this.
    newest_number_ = std::max<std::int64_t>(newest_number_ + 1, now.time_since_epoch().count());
    copy_.emplace(Copy{newest_number_, std::move(*taken), now});
    json::Document document;
    put_count(document.root(), "copy", copy_->number);
    put_count(document.root(), "bytes", static_cast<std::int64_t>(copy_->snapshot.bytes()));
    return json_answer(200, document);
}

Result<HttpAnswer> LogbookApi::part(const HttpRequest& request) {
    if (!means_copy(request)) return no_such_copy();
    const std::string text = query_value(request.target, "from").value_or("0");
    std::uint64_t from = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), from);
    if (failure != std::errc() || end != text.data() + text.size() || from > copy_->snapshot.bytes())
        return error_answer(400, "from is not a place in the copy");
    auto bytes = copy_->snapshot.read(from, part_bytes);
    if (!bytes) return bytes.error();
    copy_->last_read = clock_.now();
    return bytes_answer("application/octet-stream", std::move(*bytes));
}

Result<HttpAnswer> LogbookApi::end(const HttpRequest& request) {
    if (!means_copy(request)) return no_such_copy();
    copy_.reset();
    return json_answer(200, json::Document());
}

bool LogbookApi::means_copy(const HttpRequest& request) const {
    return copy_ && query_value(request.target, "copy") == std::to_string(copy_->number);
}

// A clock that was put back must not keep a copy for long.
bool LogbookApi::was_read_within(std::chrono::minutes span) const {
    if (!copy_) return false;
    const auto idle = clock_.now() - copy_->last_read;
    return idle >= Instant::duration::zero() && idle < span;
}

void LogbookApi::drop_idle_copy() {
    if (copy_ && !was_read_within(kept_idle)) copy_.reset();
}

Result<bool> LogbookApi::is_known(const std::string& person) {
    if (person.empty() || household_.person(person) != nullptr) return true;
    return logbook::has_entries_of(db_, person);
}

Result<HttpAnswer> LogbookApi::entries(const HttpRequest& request) {
    const logbook::PageWish wish = wish_of(request);
    const auto known = is_known(wish.person);
    if (!known) return known.error();
    if (!*known) return nobody(wish.person);
    auto page = logbook::bodies(db_, wish);
    if (!page) return page.error();
    HttpAnswer answer = bytes_answer("application/x-ndjson", std::move(page->lines));
    if (!page->last.empty()) answer.headers.emplace_back("X-Last", page->last);
    return answer;
}

Result<HttpAnswer> LogbookApi::fhir(const HttpRequest& request) {
    const logbook::PageWish wish = wish_of(request);
    const auto known = is_known(wish.person);
    if (!known) return known.error();
    if (!*known) return nobody(wish.person);
    const auto ids = logbook::entry_ids(db_, wish);
    if (!ids) return ids.error();
    auto persons = logbook::persons_in(db_);
    if (!persons) return persons.error();
    if (!wish.person.empty()) std::erase_if(*persons, [&](const auto& key) { return key != wish.person; });
    const CollectionParts made(household_, identifier_system_, *persons);
    json::Document document;
    json::Value& parts = document.root().add_array("parts");
    if (wish.after.empty()) {
        for (const std::string& key : *persons)
            made.put_patient(parts, key);
    }
    std::vector<std::string> left_out;
    for (const EntryId& id : *ids) {
        const auto record = book_.find(id);
        if (!record && record.error().code != Errc::unreadable) return record.error();
        if (!record || !*record || !made.put_entry(parts, **record)) left_out.push_back(id.to_string());
    }
    json::Value& list = document.root().add_array("left_out");
    for (const std::string& id : left_out)
        list.push_string(id);
    if (!ids->empty()) document.root().add_string("last", ids->back().to_string());
    return json_answer(200, document);
}

}  // namespace nightferry::intake
