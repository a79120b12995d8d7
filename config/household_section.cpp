#include <algorithm>

#include "config/sections.hpp"
#include "daemon/core/words.hpp"
#include "daemon/entry/vocabulary.hpp"

namespace nightferry::config {

namespace {

template <class T>
void report_repeats(TableReader& root, std::string_view list, const std::vector<T>& items) {
    for (std::size_t i = 0; i < items.size(); ++i) {
        const bool repeated = std::any_of(items.begin(), items.begin() + static_cast<std::ptrdiff_t>(i),
                                          [&](const T& other) { return other.key == items[i].key; });
        if (repeated) root.problem(list, "the key " + in_quotes(items[i].key) + " is used twice");
    }
}

// "100 mg/mL"
bool read_strength(const std::string& text, entry::Medicine& medicine) {
    const auto blank = text.find(' ');
    const auto slash = text.find('/');
    if (blank == std::string::npos || slash == std::string::npos || slash < blank) return false;
    const auto value = Decimal::parse(std::string_view(text).substr(0, blank));
    const auto unit =
        entry::meaning_of<entry::Unit>(trimmed(std::string_view(text).substr(blank, slash - blank)));
    const auto per = entry::meaning_of<entry::Unit>(trimmed(std::string_view(text).substr(slash + 1)));
    if (!value || *value <= Decimal() || !unit || *unit == entry::Unit::millilitre ||
        per != entry::Unit::millilitre)
        return false;
    medicine.strength = *value;
    medicine.strength_unit = *unit;
    return true;
}

// "Patient/7, https://device.example/users|7"
std::vector<std::string> read_names(TableReader& table) {
    std::vector<std::string> names;
    for (const std::string& name : table.list("known_as")) {
        const auto bar = name.find('|');
        const bool is_identifier = bar != std::string::npos && name.find(':') < bar && bar + 1 < name.size();
        const auto slash = name.find('/');
        const bool is_reference =
            bar == std::string::npos && slash != std::string::npos && slash > 0 && slash + 1 < name.size();
        if (is_identifier || is_reference) {
            names.emplace_back(name);
        } else {
            table.problem("known_as",
                          in_quotes(name) +
                              " is no way in which FHIR names somebody; write references like "
                              "\"Patient/7\" or identifiers like \"https://device.example/users|7\", "
                              "with commas between them");
        }
    }
    return names;
}

// "http://www.nlm.nih.gov/research/umls/rxnorm|854228, …"
void read_codes(TableReader& table, entry::Medicine& medicine) {
    for (const std::string& part : table.list("codes")) {
        const auto bar = part.find('|');
        if (bar == std::string::npos || bar == 0 || bar + 1 == part.size()) {
            table.problem(
                "codes",
                in_quotes(part) + " is no code; write \"system|code\", several of them with commas between");
        } else {
            medicine.codes.push_back({part.substr(0, bar), part.substr(bar + 1)});
        }
    }
    for (std::string part : table.list("ordered_as")) {
        std::transform(part.begin(), part.end(), part.begin(), [](unsigned char c) {
            return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : static_cast<char>(c);
        });
        if (part.size() < 3) {
            table.problem("ordered_as", in_quotes(part) + " is too short to tell a medicine by");
        } else {
            medicine.ordered_as.push_back(std::move(part));
        }
    }
}

}  // namespace

std::vector<entry::Person> read_persons(TableReader& root, std::vector<Problem>& problems) {
    std::vector<entry::Person> persons;
    for (const toml::table* one : root.tables("person", 1, "a key and a name")) {
        TableReader table(*one, numbered("person", persons.size()), problems);
        persons.push_back({read_key(table, "key", "how entries name the person"),
                           table.need_text("name", "a name for people to read"), read_names(table)});
        table.report_leftovers();
    }
    report_repeats(root, "person", persons);
    return persons;
}

std::vector<entry::Carer> read_carers(TableReader& root, const std::vector<entry::Person>& persons,
                                      std::vector<Problem>& problems) {
    std::vector<entry::Carer> carers;
    for (const toml::table* one : root.tables("carer", 1, "a key and a name")) {
        TableReader table(*one, numbered("carer", carers.size()), problems);
        entry::Carer carer{read_key(table, "key", "how entries name the carer"),
                           table.need_text("name", "a name for people to read"),
                           table.text("same_as").value_or(""), read_names(table)};
        const bool known = carer.same_as.empty() ||
                           std::any_of(persons.begin(), persons.end(), [&](const entry::Person& person) {
                               return person.key == carer.same_as;
                           });
        if (!known) table.problem("same_as", "no [[person]] has the key " + in_quotes(carer.same_as));
        table.report_leftovers();
        carers.push_back(std::move(carer));
    }
    report_repeats(root, "carer", carers);
    return carers;
}

Medicines read_medicines(TableReader& root, std::vector<Problem>& problems) {
    std::vector<entry::Medicine> medicines;
    std::vector<Product> products;
    for (const toml::table* one : root.tables("medicine", 1, "a key, a substance and a strength")) {
        TableReader table(*one, numbered("medicine", medicines.size()), problems);
        entry::Medicine medicine;
        medicine.key = read_key(table, "key", "how entries name the medicine");
        medicine.substance = table.need_text("substance", "the nonproprietary name, like \"enoxaparin\"");
        const std::string strength = table.need_text("strength", "the strength, like \"100 mg/mL\"");
        if (!strength.empty() && !read_strength(strength, medicine)) {
            table.problem(
                "strength",
                in_quotes(strength) + " is not a strength; write it like \"100 mg/mL\" or \"10000 IU/mL\"");
        }
        read_codes(table, medicine);
        products.push_back(read_product(table, medicine.key));
        table.report_leftovers();
        medicines.push_back(std::move(medicine));
    }
    report_repeats(root, "medicine", medicines);
    return {std::move(medicines), std::move(products)};
}

}  // namespace nightferry::config
