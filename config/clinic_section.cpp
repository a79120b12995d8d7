#include <algorithm>
#include <set>

#include "config/sections.hpp"
#include "daemon/core/words.hpp"

namespace nightferry::config {

namespace {

// FHIR's id, and the underscore that some servers use.
bool is_resource_id(std::string_view text) {
    std::string plain(text);
    std::replace(plain.begin(), plain.end(), '.', '-');
    return is_key(plain);
}

std::optional<std::chrono::minutes> time_of_day(std::string_view text) {
    const auto clock = parse_clock(text);
    if (!clock) return std::nullopt;
    return std::chrono::floor<std::chrono::minutes>(*clock);
}

void read_window(TableReader& table, Clinic& clinic) {
    const auto text = table.text("window");
    if (!text) return;
    const auto dash = text->find('-');
    const auto opens = time_of_day(trimmed(std::string_view(*text).substr(0, dash)));
    const auto closes = dash == std::string::npos
                            ? std::nullopt
                            : time_of_day(trimmed(std::string_view(*text).substr(dash + 1)));
    if (!opens || !closes || *opens == *closes) {
        table.problem("window", in_quotes(*text) + " is not a window; write it like \"01:00-05:00\"");
        return;
    }
    clinic.window_opens = *opens;
    clinic.window_closes = *closes;
}

void read_base(TableReader& table, Clinic& clinic) {
    const std::string text =
        table.need_text("url", "the clinic's FHIR base address, like \"https://clinic.example/fhir\"");
    if (text.empty()) return;
    const auto address = WebAddress::parse(text);
    if (address && address->has_credentials) {
        table.problem("url", "credentials do not belong into an address; take them out");
        return;
    }
    if (!address || !address->query.empty() || address->has_fragment || text.find('?') != std::string::npos) {
        table.problem(
            "url",
            in_quotes(text) + " is not a FHIR base address; write it like \"https://clinic.example/fhir\"");
        return;
    }
    clinic.base = *address;
    while (clinic.base.path.ends_with('/'))
        clinic.base.path.pop_back();
    if (!clinic.base.tls && !clinic.base.is_loopback()) {
        table.problem(
            "url",
            "health data never travel without TLS; use https (http is only for a server on this machine)");
    }
}

void read_release(TableReader& table, Clinic& clinic) {
    const auto text = table.text("release");
    if (!text) return;
    std::vector<std::string_view> names;
    for (const fhir::spec::Release release : fhir::spec::releases) {
        names.push_back(fhir::spec::name_of(release));
        if (names.back() == *text) clinic.release = release;
    }
    if (!clinic.release)
        table.problem("release",
                      in_quotes(*text) + " is no release of FHIR that we know; expected " + any_of(names));
}

bool is_reference(std::string_view text, std::initializer_list<std::string_view> types) {
    const auto slash = text.find('/');
    if (slash == std::string_view::npos) return false;
    const bool right_type = std::find(types.begin(), types.end(), text.substr(0, slash)) != types.end();
    return right_type && is_resource_id(text.substr(slash + 1));
}

void read_patients(TableReader& table, const toml::table* found, const entry::Household& household,
                   Clinic& clinic, std::vector<Problem>& problems) {
    if (found == nullptr) {
        if (!table.has("patients"))
            table.problem("patients", "is missing; expected which patient each person is at this clinic");
        return;
    }
    TableReader patients(*found, table.path_of("patients"), problems);
    if (found->empty())
        table.problem("patients", "names nobody, so nothing would ever be sent to this clinic");
    std::set<std::string> seen;
    for (const auto& [person, text] : patients.all_texts()) {
        if (!seen.insert(text).second) {
            patients.problem(person, "is the same patient as another person; their records would be mixed");
        }
        if (household.person(person) == nullptr) patients.problem(person, "no [[person]] has this key");
        const auto bar = text.find('|');
        if (is_reference(text, {"Patient"})) {
            clinic.patients.emplace(person, text);
        } else if (bar != std::string::npos && bar > 0 && bar + 1 < text.size()) {
            clinic.patients.emplace(person, PatientIdentifier{text.substr(0, bar), text.substr(bar + 1)});
        } else {
            patients.problem(person,
                             in_quotes(text) +
                                 " names no patient; write \"Patient/123\", or \"system|value\" of an "
                                 "identifier that the clinic issued");
        }
    }
}

void read_carer_references(TableReader& table, const toml::table* found, const entry::Household& household,
                           Clinic& clinic, std::vector<Problem>& problems) {
    if (found == nullptr) return;
    TableReader carers(*found, table.path_of("carers"), problems);
    for (const auto& [carer, text] : carers.all_texts()) {
        if (household.carer(carer) == nullptr) carers.problem(carer, "no [[carer]] has this key");
        if (!is_reference(text, {"RelatedPerson", "Patient", "Practitioner"})) {
            carers.problem(carer, in_quotes(text) + " is not a reference like \"RelatedPerson/r1\"");
        }
        clinic.carers.emplace(carer, text);
    }
}

}  // namespace

Clinic read_clinic(const toml::table& source, const std::string& path, const std::filesystem::path& folder,
                   const entry::Household& household, std::vector<Problem>& problems) {
    TableReader table(source, path, problems);
    Clinic clinic;
    clinic.name = read_key(table, "name", "a short name for this clinic");
    read_base(table, clinic);
    read_way_in(table, folder, clinic, problems);
    read_release(table, clinic);
    read_window(table, clinic);
    clinic.as_it_happens = read_yes_or_no(table, "as_it_happens").value_or(false);
    clinic.contains_carers = read_yes_or_no(table, "contained_carers").value_or(false);
    clinic.orders = read_yes_or_no(table, "orders").value_or(false);
    clinic.device = table.text("device").value_or("");
    if (!clinic.device.empty() && !is_reference(clinic.device, {"Device"})) {
        table.problem("device", in_quotes(clinic.device) + " is not a reference like \"Device/hub1\"");
    }
    read_patients(table, table.table("patients"), household, clinic, problems);
    read_carer_references(table, table.table("carers"), household, clinic, problems);
    read_sharing(table, household, clinic, problems);
    table.report_leftovers();
    return clinic;
}

}  // namespace nightferry::config
