#include "daemon/entry/body.hpp"

#include "daemon/entry/foreign_identifiers.hpp"
#include "daemon/entry/summary_body.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::entry {

namespace json = fhir::json;

namespace {

void put(json::Value& into, std::string_view name, const std::optional<std::string>& text) {
    if (text) into.add_string(name, *text);
}

void put(json::Value& into, std::string_view name, const std::optional<Decimal>& number) {
    if (number) into.add_number(name, number->to_string());
}

void put_site(json::Value& into, const Site& site) {
    into.add_string("region", word_for(site.region));
    into.add_string("side", word_for(site.side));
    if (site.level) into.add_string("level", word_for(*site.level));
    put(into, "x_cm", site.x_cm);
    put(into, "y_cm", site.y_cm);
}

struct PutWhat {
    json::Value& into;

    void operator()(const DoseGiven& dose) const {
        into.add_string("medicine", dose.medicine);
        into.add_number("amount", dose.amount.value.to_string());
        into.add_string("unit", word_for(dose.amount.unit));
        put_site(into, dose.site);
        put(into, "vial", dose.vial);
        put(into, "checked_by", dose.checked_by);
        if (dose.separate) into.add_boolean("separate", true);
    }
    void operator()(const DoseNotGiven& dose) const {
        into.add_string("medicine", dose.medicine);
        into.add_string("why", word_for(dose.why));
        put(into, "instructed_by", dose.instructed_by);
    }
    void operator()(const Finding& finding) const {
        into.add_string("finding", word_for(finding.what));
        into.add_boolean("present", finding.present);
        if (finding.site) put_site(into, *finding.site);
        put(into, "length_cm", finding.length_cm);
        put(into, "width_cm", finding.width_cm);
        put(into, "pain", finding.pain);
        put(into, "minutes", finding.minutes);
        put(into, "lesion", finding.lesion);
        if (finding.dose) into.add_string("dose", finding.dose->to_string());
    }
    void operator()(const Weight& weight) const {
        into.add_number("kg", weight.kg.to_string());
        into.add_string("how", word_for(weight.how));
    }
    void operator()(const VialOpened& opened) const {
        into.add_string("medicine", opened.medicine);
        into.add_string("vial", opened.vial);
        put(into, "volume_ml", opened.volume_ml);
        put(into, "lot", opened.lot);
        put(into, "expires", opened.expires);
    }
    void operator()(const Summary& summary) const { put_summary(into, summary); }
};

struct Trim {
    static void trim(Decimal& number) { number = number.trimmed(); }
    static void trim(std::optional<Decimal>& number) {
        if (number) trim(*number);
    }
    static void trim(Site& site) {
        trim(site.x_cm);
        trim(site.y_cm);
    }

    void operator()(DoseGiven& dose) const {
        trim(dose.amount.value);
        trim(dose.site);
    }
    void operator()(DoseNotGiven&) const {}
    void operator()(Finding& finding) const {
        if (finding.site) trim(*finding.site);
        trim(finding.length_cm);
        trim(finding.width_cm);
        trim(finding.pain);
        trim(finding.minutes);
    }
    void operator()(Weight& weight) const { trim(weight.kg); }
    void operator()(VialOpened& opened) const { trim(opened.volume_ml); }
    void operator()(Summary& summary) const {
        for (Summary::Content& one : summary.contents) {
            trim(one.given);
            trim(one.ordered);
        }
    }
};

// Reads members of a stored body. The first thing amiss makes the whole body unreadable.
class BodyReader {
 public:
    explicit BodyReader(const json::Value& object) : object_(object) {}
    bool good() const { return good_; }

    std::optional<std::string> text(std::string_view name) {
        const json::Value* member = object_.find(name);
        if (member == nullptr) return std::nullopt;
        return needed(member->is(json::Kind::string) ? std::optional(std::string(member->text()))
                                                     : std::nullopt);
    }
    std::string need_text(std::string_view name) { return needed(text(name)); }
    std::optional<Decimal> decimal(std::string_view name) {
        const json::Value* member = object_.find(name);
        return member == nullptr ? std::nullopt : std::optional(needed(Decimal::parse(member->text())));
    }
    Decimal need_decimal(std::string_view name) { return needed(decimal(name)); }
    template <class E>
    E need_word(std::string_view name) {
        return needed(meaning_of<E>(object_.string_at(name)));
    }
    std::optional<Moment> moment(std::string_view name) {
        const json::Value* member = object_.find(name);
        if (member == nullptr) return std::nullopt;
        const auto read = parse_moment(member->text());
        return needed(read ? std::optional(*read) : std::nullopt);
    }
    Moment need_moment(std::string_view name) { return needed(moment(name)); }
    EntryId need_id(std::string_view name) { return needed(EntryId::parse(object_.string_at(name))); }
    bool need_flag(std::string_view name) {
        const json::Value* member = object_.find(name);
        return needed(member != nullptr && member->is(json::Kind::boolean) ? std::optional(member->boolean())
                                                                           : std::nullopt);
    }
    std::vector<ForeignIdentifier> identifiers() {
        const auto lines = text("identifiers");
        return lines ? needed(identifiers_in(*lines)) : std::vector<ForeignIdentifier>();
    }
    Summary need_summary() { return needed(read_summary(object_)); }
    bool has(std::string_view name) const { return object_.find(name) != nullptr; }

 private:
    template <class T>
    T needed(std::optional<T> value) {
        good_ = good_ && value.has_value();
        return std::move(value).value_or(T{});
    }

    const json::Value& object_;
    bool good_ = true;
};

Site read_site(BodyReader& body) {
    Site site{body.need_word<Region>("region"), body.need_word<Side>("side"), body.decimal("x_cm"),
              body.decimal("y_cm")};
    if (body.has("level")) site.level = body.need_word<Level>("level");
    return site;
}

void read_what(BodyReader& body, Kind kind, Entry& entry) {
    switch (kind) {
        case Kind::dose_given:
            entry.what = DoseGiven{body.need_text("medicine"),
                                   Amount{body.need_decimal("amount"), body.need_word<Unit>("unit")},
                                   read_site(body),
                                   body.text("vial"),
                                   body.text("checked_by"),
                                   body.has("separate") && body.need_flag("separate")};
            return;
        case Kind::dose_not_given:
            entry.what = DoseNotGiven{body.need_text("medicine"), body.need_word<WhyNotGiven>("why"),
                                      body.text("instructed_by")};
            return;
        case Kind::finding: {
            Finding finding;
            finding.what = body.need_word<FindingKind>("finding");
            finding.present = body.need_flag("present");
            if (body.has("region")) finding.site = read_site(body);
            finding.length_cm = body.decimal("length_cm");
            finding.width_cm = body.decimal("width_cm");
            finding.pain = body.decimal("pain");
            finding.minutes = body.decimal("minutes");
            finding.lesion = body.text("lesion");
            if (body.has("dose")) finding.dose = body.need_id("dose");
            entry.what = std::move(finding);
            return;
        }
        case Kind::weight:
            entry.what = Weight{body.need_decimal("kg"), body.need_word<HowWeighed>("how")};
            return;
        case Kind::vial_opened:
            entry.what = VialOpened{body.need_text("medicine"), body.need_text("vial"),
                                    body.decimal("volume_ml"), body.text("lot"), body.text("expires")};
            return;
        case Kind::summary:
            entry.what = body.need_summary();
            return;
    }
}

}  // namespace

void put_fields(json::Value& into, const Submission& submission) {
    into.add_string("action", word_for(submission.action));
    into.add_string("id", submission.id.to_string());
    if (submission.entry) {
        const Entry& entry = *submission.entry;
        into.add_string("type", word_for(entry.kind()));
        into.add_string("person", entry.person);
        into.add_string("time", to_text(entry.time));
        into.add_string("by", entry.by);
        std::visit(PutWhat{into}, entry.what);
        put(into, "note", entry.note);
        if (!entry.identifiers.empty()) into.add_string("identifiers", lines_of(entry.identifiers));
    }
    if (submission.recorded) into.add_string("recorded", to_text(*submission.recorded));
    into.add_string("recorded_by", submission.recorded_by);
    put(into, "reason", submission.reason);
}

std::string to_body(const Submission& submission) {
    json::Document document;
    put_fields(document.root(), submission);
    return json::write(document.root());
}

std::string essence(const Submission& submission) {
    Submission plain = submission;
    if (plain.recorded) plain.recorded->offset = {};
    if (plain.entry) {
        plain.entry->time.offset = {};
        std::visit(Trim{}, plain.entry->what);
    }
    return to_body(plain);
}

Result<Submission> from_body(std::string_view text) {
    const auto document = json::read(text);
    if (!document) return Error{Errc::unreadable, "a stored entry is not valid JSON"};
    BodyReader body(document->root());
    Submission submission;
    submission.action = body.need_word<Action>("action");
    submission.id = body.need_id("id");
    submission.recorded = body.moment("recorded");
    submission.recorded_by = body.need_text("recorded_by");
    submission.reason = body.text("reason");
    if (body.has("type")) {
        Entry entry;
        entry.id = submission.id;
        entry.person = body.need_text("person");
        entry.time = body.need_moment("time");
        entry.by = body.need_text("by");
        entry.note = body.text("note");
        entry.identifiers = body.identifiers();
        read_what(body, body.need_word<Kind>("type"), entry);
        submission.entry = std::move(entry);
    }
    const bool complete = submission.entry.has_value() == (submission.action != Action::retract);
    if (!body.good() || !complete)
        return Error{Errc::unreadable, "a stored entry has a form this version does not know"};
    return submission;
}

}  // namespace nightferry::entry
