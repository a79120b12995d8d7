// Reads the fields of one draft as typed values, collecting every problem on the way.
#pragma once

#include <optional>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/core/words.hpp"
#include "daemon/entry/draft.hpp"
#include "daemon/entry/entry.hpp"
#include "daemon/entry/household.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::entry {

// The allowed values of a decimal field, for the check and for the message.
struct Range {
    Decimal least;
    Decimal most;
    std::string_view unit;  // " cm"; may be empty.
};

class FieldReader {
 public:
    FieldReader(const Draft& draft, const Household& household, Instant now)
        : draft_(draft), household_(household), now_(now), problems_(draft.problems) {}

    const Household& household() const { return household_; }
    std::vector<Problem> take_problems() { return std::move(problems_); }
    bool has_problems() const { return !problems_.empty(); }

    // The field, marked as used; nullptr when absent.
    const Field* take(std::string_view name);
    // The same, with a problem when it is absent.
    const Field* need(std::string_view name, std::string_view expected);

    // One word of a vocabulary; absent fields are a problem only for need_word.
    template <class E>
    std::optional<E> word(std::string_view name) {
        const Field* field = take(name);
        return field == nullptr ? std::nullopt : meaning<E>(*field);
    }
    template <class E>
    std::optional<E> need_word(std::string_view name) {
        const Field* field = need(name, any_of(choices<E>()));
        return field == nullptr ? std::nullopt : meaning<E>(*field);
    }

    // A key of one of the household's lists ("person", "carer" or "medicine" in messages).
    std::string need_person(std::string_view name);
    std::string need_carer(std::string_view name, std::string_view expected = "the carer who did it");
    std::optional<std::string> carer(std::string_view name);
    std::string need_medicine(std::string_view name);

    std::optional<Decimal> decimal(std::string_view name, const Range& range);
    std::optional<Decimal> need_decimal(std::string_view name, const Range& range);
    std::optional<bool> yes_or_no(std::string_view name);

    // A short label people gave to something: 1 to 64 characters on one line.
    std::optional<std::string> label(std::string_view name);
    std::string need_label(std::string_view name, std::string_view expected);
    // A text of up to 2,000 characters, line feeds allowed.
    std::optional<std::string> note(std::string_view name);

    // What others call the entry: "system|value", one on a line.
    std::vector<ForeignIdentifier> identifiers(std::string_view name);

    // A moment that lies between 2000 and five minutes from now. Local times are read in the entry's `zone`
    // or the household's; one that never was, or was twice, is a problem.
    std::optional<Moment> moment(std::string_view name);
    std::optional<Moment> need_moment(std::string_view name, std::string_view expected = "a time");
    // A date as packages print it: with its day, or only year and month.
    std::optional<std::string> printed_date(std::string_view name);

    // An entry's id: a UUID as it is, any other label through the hub's name space.
    std::optional<EntryId> id(std::string_view name);

    void problem(const Field& field, std::string what) {
        problems_.push_back({field.where, std::move(what)});
    }
    void problem(std::string what) { problems_.push_back({draft_.where, std::move(what)}); }

    // Reports every field that nobody took: unknown ones, and those that `use` ("a weight") has no use for.
    // An empty use says that nobody knows what the entry is, so that only unknown fields count.
    void report_leftovers(std::string_view use);

 private:
    template <class E>
    std::optional<E> meaning(const Field& field) {
        const std::optional<E> value = meaning_of_written<E>(field.text);
        if (!value) {
            const auto known = choices<E>();
            problem(field, in_quotes(field.text) + " is not a word for " + field.name + "; expected " +
                               any_of(known) + "." + did_you_mean(field.text, known));
        }
        return value;
    }

    template <class T>
    std::string key_of(const Field& field, const std::vector<T>& known, std::string_view what);
    std::optional<Moment> read_local(const Field& field, LocalSecond local,
                                     std::chrono::microseconds fraction);
    std::optional<Zone> zone();

    const Draft& draft_;
    const Household& household_;
    Instant now_;
    std::vector<Problem> problems_;
    std::set<std::string_view> taken_;
};

}  // namespace nightferry::entry
