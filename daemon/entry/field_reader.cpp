#include "daemon/entry/field_reader.hpp"

#include <algorithm>

#include "daemon/entry/check.hpp"
#include "daemon/entry/foreign_identifiers.hpp"

namespace nightferry::entry {

namespace {

constexpr std::size_t label_characters_max = 64;
constexpr std::size_t note_bytes_max = 2000;

// "2,500" is two and a half thousand to one reader and two and a half to another.
bool could_be_thousands(std::string_view text) {
    const auto comma = text.find(',');
    return comma != std::string_view::npos && text.size() - comma == 4 &&
           text.substr(0, comma).find_first_not_of("-0") != std::string_view::npos;
}

// "01:30+01:00"
std::string clock_with_offset(const Moment& moment) {
    const std::string text = to_text(moment);
    return text.substr(11, 5) + text.substr(text.size() - 6);
}

// Web forms and some spreadsheets end lines with two characters.
std::string with_plain_line_ends(std::string_view text) {
    std::string plain;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] != '\r') plain += text[i];
        if (text[i] == '\r' && (i + 1 == text.size() || text[i + 1] != '\n')) plain += '\n';
    }
    return plain;
}

constexpr std::string_view time_forms =
    "write 2026-10-12T08:00 for local time, or with its offset 2026-10-12T08:00+01:00";

}  // namespace

const Field* FieldReader::take(std::string_view name) {
    taken_.insert(name);
    return draft_.find(name);
}

const Field* FieldReader::need(std::string_view name, std::string_view expected) {
    const Field* field = take(name);
    const bool reported =
        std::find(draft_.unreadable.begin(), draft_.unreadable.end(), name) != draft_.unreadable.end();
    if (field == nullptr && !reported) {
        problem("'" + std::string(name) + "' is missing; expected " + std::string(expected));
    }
    return field;
}

template <class T>
std::string FieldReader::key_of(const Field& field, const std::vector<T>& known, std::string_view what) {
    std::vector<std::string_view> keys;
    for (const T& one : known)
        keys.push_back(one.key);
    if (std::find(keys.begin(), keys.end(), field.text) != keys.end()) return field.text;
    problem(field,
            in_quotes(field.text) + " is not a " + std::string(what) + " this hub knows; its settings name " +
                (keys.empty() ? std::string("none") : all_of(keys)) + "." + did_you_mean(field.text, keys));
    return {};
}

std::string FieldReader::need_person(std::string_view name) {
    const Field* field = need(name, "the person whom it is about");
    return field == nullptr ? std::string() : key_of(*field, household_.persons, "person");
}

std::string FieldReader::need_carer(std::string_view name, std::string_view expected) {
    const Field* field = need(name, expected);
    return field == nullptr ? std::string() : key_of(*field, household_.carers, "carer");
}

std::optional<std::string> FieldReader::carer(std::string_view name) {
    const Field* field = take(name);
    if (field == nullptr) return std::nullopt;
    return key_of(*field, household_.carers, "carer");
}

std::string FieldReader::need_medicine(std::string_view name) {
    const Field* field = need(name, "the medicine as the settings name it");
    return field == nullptr ? std::string() : key_of(*field, household_.medicines, "medicine");
}

std::optional<Decimal> FieldReader::decimal(std::string_view name, const Range& range) {
    const Field* field = take(name);
    if (field == nullptr) return std::nullopt;
    const auto value = Decimal::parse(field->text);
    if (value && could_be_thousands(field->text)) {
        problem(*field, in_quotes(field->text) +
                            " could mean thousands or a decimal; leave the comma out, or write a point");
        return std::nullopt;
    }
    if (!value) {
        problem(*field, in_quotes(field->text) +
                            " is not a number we can read exactly; write it like 0.18 or 0,18, with at most "
                            "six digits behind the point");
        return std::nullopt;
    }
    if (*value < range.least || *value > range.most) {
        const std::string unit(range.unit);
        problem(*field, in_quotes(field->text) + " is out of range; expected " + range.least.to_string() +
                            unit + " to " + range.most.to_string() + unit);
        return std::nullopt;
    }
    return value;
}

std::optional<Decimal> FieldReader::need_decimal(std::string_view name, const Range& range) {
    if (need(name, "a number from " + range.least.to_string() + " to " + range.most.to_string() +
                       std::string(range.unit)) == nullptr) {
        return std::nullopt;
    }
    return decimal(name, range);
}

std::optional<bool> FieldReader::yes_or_no(std::string_view name) {
    const Field* field = take(name);
    if (field == nullptr) return std::nullopt;
    if (field->text == "yes" || field->text == "true") return true;
    if (field->text == "no" || field->text == "false") return false;
    problem(*field, in_quotes(field->text) + " is neither yes nor no");
    return std::nullopt;
}

std::optional<std::string> FieldReader::label(std::string_view name) {
    const Field* field = take(name);
    if (field == nullptr) return std::nullopt;
    if (field->text.empty() || characters_in(field->text) > label_characters_max ||
        !is_plain_text(field->text, false) || trimmed(field->text) != field->text) {
        problem(*field, in_quotes(field->text) +
                            " cannot be a label; expected 1 to 64 characters on one line, without "
                            "blanks around them");
        return std::nullopt;
    }
    return field->text;
}

std::string FieldReader::need_label(std::string_view name, std::string_view expected) {
    if (need(name, expected) == nullptr) return {};
    return label(name).value_or(std::string());
}

std::optional<std::string> FieldReader::note(std::string_view name) {
    const Field* field = take(name);
    if (field == nullptr || trimmed(field->text).empty()) return std::nullopt;
    if (field->text.size() > note_bytes_max) {
        problem(*field,
                "this text has " + std::to_string(field->text.size()) + " bytes; at most 2000 are taken");
        return std::nullopt;
    }
    const std::string plain = with_plain_line_ends(trimmed(field->text));
    if (!is_plain_text(plain, true)) {
        problem(*field,
                "this text holds control characters or is not valid UTF-8; save it as UTF-8 plain text");
        return std::nullopt;
    }
    return plain;
}

std::vector<ForeignIdentifier> FieldReader::identifiers(std::string_view name) {
    const Field* field = take(name);
    const auto lines = note(name);
    if (!lines) return {};
    auto found = identifiers_in(*lines);
    if (found) return std::move(*found);
    problem(*field,
            "these are no identifiers; write each as system|value on a line of its own, the system an "
            "absolute URI or left empty");
    return {};
}

std::optional<Zone> FieldReader::zone() {
    const Field* field = take("zone");
    if (field == nullptr) return household_.zone;
    const auto found = Zone::find(field->text);
    if (found) return *found;
    // Both `time` and `recorded` ask; one slip is one problem.
    const bool reported = std::any_of(problems_.begin(), problems_.end(),
                                      [&](const Problem& one) { return one.where == field->where; });
    if (!reported)
        problem(*field, in_quotes(field->text) + " is not a time zone; write a name like Europe/Dublin");
    return std::nullopt;
}

std::optional<Moment> FieldReader::read_local(const Field& field, LocalSecond local,
                                              std::chrono::microseconds fraction) {
    const auto where = zone();
    if (!where) return std::nullopt;
    const Zone::Reading reading = where->read(local);
    if (std::holds_alternative<Zone::Nonexistent>(reading)) {
        problem(field, in_quotes(field.text) + " never was in " + where->name() +
                           ": the clocks went forward past it; check the time, or write its offset");
        return std::nullopt;
    }
    if (const auto* twice = std::get_if<Zone::Ambiguous>(&reading)) {
        problem(field, in_quotes(field.text) + " was twice in " + where->name() +
                           ": the clocks went back; write " + to_text(twice->first) + " for the first or " +
                           to_text(twice->second) + " for the second (in a clock column: " +
                           clock_with_offset(twice->first) + " or " + clock_with_offset(twice->second) + ")");
        return std::nullopt;
    }
    Moment found = std::get<Moment>(reading);
    found.at += fraction;
    return found;
}

std::optional<Moment> FieldReader::moment(std::string_view name) {
    const Field* field = take(name);
    if (field == nullptr) return std::nullopt;
    const auto written = parse_time(field->text);
    if (!written) {
        problem(*field, in_quotes(field->text) + " is not a time we can read without guessing; " +
                            std::string(time_forms));
        return std::nullopt;
    }
    std::optional<Moment> found;
    if (written->offset) {
        if (!zone()) return std::nullopt;
        found = Moment{Instant{written->local.time_since_epoch() - *written->offset + written->fraction},
                       *written->offset};
    } else {
        found = read_local(*field, written->local, written->fraction);
    }
    if (!found) return std::nullopt;
    if (found->at > now_ + future_allowance) {
        problem(*field, in_quotes(field->text) + " lies in the future (this hub's clock says " +
                            to_text(household_.zone.at(std::chrono::floor<std::chrono::seconds>(now_))) +
                            "); record it when it has happened");
        return std::nullopt;
    }
    using namespace std::chrono_literals;
    if (found->at < std::chrono::sys_days{2000y / 1 / 1}) {
        problem(*field, in_quotes(field->text) + " lies before the year 2000; check the year");
        return std::nullopt;
    }
    return found;
}

std::optional<Moment> FieldReader::need_moment(std::string_view name, std::string_view expected) {
    if (need(name, std::string(expected) + "; " + std::string(time_forms)) == nullptr) return std::nullopt;
    return moment(name);
}

std::optional<std::string> FieldReader::printed_date(std::string_view name) {
    const Field* field = take(name);
    if (field == nullptr) return std::nullopt;
    const auto day = parse_date(field->text, DateForm::year_month_day);
    const auto month = parse_date(field->text + "-01", DateForm::year_month_day);
    if (day) return to_text(*day);
    if (month) return field->text;
    problem(*field, in_quotes(field->text) + " is not a date; write it like 2027-03-31 or 2027-03");
    return std::nullopt;
}

std::optional<EntryId> FieldReader::id(std::string_view name) {
    const auto text = label(name);
    if (!text) return std::nullopt;
    const auto uuid = EntryId::parse(*text);
    return uuid ? *uuid : household_.ids().id_for("label:" + *text);
}

void FieldReader::report_leftovers(std::string_view use) {
    const auto known = field_names();
    for (const Field& field : draft_.fields) {
        if (taken_.contains(field.name)) continue;
        const bool is_known = std::find(known.begin(), known.end(), field.name) != known.end();
        if (is_known && use.empty()) continue;
        if (is_known) {
            problem(field, "'" + field.name + "' has no meaning for " + std::string(use) + "; leave it out");
        } else {
            problem(field,
                    in_quotes(field.name) + " is not a field we know." + did_you_mean(field.name, known));
        }
    }
}

}  // namespace nightferry::entry
