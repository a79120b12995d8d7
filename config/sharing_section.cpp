// [clinic.sharing]: what this clinic may have.
#include <algorithm>

#include "config/sections.hpp"
#include "daemon/care/calendar.hpp"
#include "daemon/core/words.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::config {

namespace {

// The items of "dose_given, finding".
std::vector<std::string> listed(const std::string& text) {
    std::vector<std::string> items;
    std::string_view rest = text;
    while (!rest.empty()) {
        const auto comma = std::min(rest.find(','), rest.size());
        items.emplace_back(trimmed(rest.substr(0, comma)));
        rest.remove_prefix(std::min(comma + 1, rest.size()));
    }
    return items;
}

void read_kinds(TableReader& table, entry::SharingTerms& terms) {
    const auto text = table.text("kinds");
    if (!text) return;
    std::vector<std::string_view> known;
    for (const auto& word : entry::Vocabulary<entry::Kind>::words)
        known.push_back(word.text);
    terms.kinds.clear();
    for (const std::string& word : listed(*text)) {
        const auto kind = entry::meaning_of<entry::Kind>(word);
        if (kind) {
            terms.kinds.insert(*kind);
        } else {
            table.problem("kinds", in_quotes(word) + " is no kind of entry; expected " + any_of(known) +
                                       ", separated by commas." + did_you_mean(word, known));
        }
    }
}

void read_persons(TableReader& table, const Clinic& clinic, entry::SharingTerms& terms) {
    const auto text = table.text("persons");
    if (!text) {
        for (const auto& [person, patient] : clinic.patients)
            terms.persons.insert(person);
        return;
    }
    for (const std::string& person : listed(*text)) {
        if (clinic.patients.contains(person)) {
            terms.persons.insert(person);
        } else {
            table.problem("persons", in_quotes(person) + " is not listed under [clinic.patients]");
        }
    }
}

void read_from(TableReader& table, const Zone& home, entry::SharingTerms& terms) {
    const auto text = table.text("from");
    if (!text) return;
    const auto day = parse_date(*text, DateForm::year_month_day);
    if (!day) {
        table.problem("from", in_quotes(*text) + " is not a day; write it like \"2026-10-12\"");
        return;
    }
    terms.from = home.at(care::start_of(home, std::chrono::local_days{*day}));
}

}  // namespace

void read_sharing(TableReader& clinic_table, const entry::Household& household, Clinic& clinic,
                  std::vector<Problem>& problems) {
    entry::SharingTerms terms;
    const toml::table nothing;
    const toml::table* found = clinic_table.table("sharing");
    TableReader table(found == nullptr ? nothing : *found, clinic_table.path_of("sharing"), problems);
    read_persons(table, clinic, terms);
    read_kinds(table, terms);
    read_from(table, household.zone, terms);
    terms.notes = read_yes_or_no(table, "notes").value_or(true);
    table.report_leftovers();
    clinic.sharing = entry::SharingPolicy(std::move(terms));
}

}  // namespace nightferry::config
