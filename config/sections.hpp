// The parts of a settings file, each read by its own function. Used inside this room only.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "config/regimen_section.hpp"
#include "config/settings.hpp"
#include "config/settings_reader.hpp"

namespace nightferry::config {

// Letters, digits, '-' and '_', at most 64.
bool is_key(std::string_view text);

// A name by which other parts of the settings and the entries refer to something.
std::string read_key(TableReader& table, std::string_view key, std::string_view expected);

// "clinic[2]", counted from 1 as people do.
std::string numbered(std::string_view list, std::size_t index);

// `log` of [hub], and [metrics].
LogForm read_log_form(TableReader& hub);
std::optional<MetricsListener> read_metrics(TableReader& root, std::vector<Problem>& problems);

std::vector<entry::Person> read_persons(TableReader& root, std::vector<Problem>& problems);
std::vector<entry::Carer> read_carers(TableReader& root, const std::vector<entry::Person>& persons,
                                      std::vector<Problem>& problems);
struct Medicines {
    std::vector<entry::Medicine> medicines;
    std::vector<Product> products;  // One for each, in their order.
};
Medicines read_medicines(TableReader& root, std::vector<Problem>& problems);

// How a clinic is reached and how the hub signs in there: trust, pins, certificate, proxy and
// [clinic.authorization].
void read_way_in(TableReader& table, const std::filesystem::path& folder, Clinic& clinic,
                 std::vector<Problem>& problems);
// [clinic.sharing], once the clinic's patients are known.
void read_sharing(TableReader& clinic_table, const entry::Household& household, Clinic& clinic,
                  std::vector<Problem>& problems);
Clinic read_clinic(const toml::table& source, const std::string& path, const std::filesystem::path& folder,
                   const entry::Household& household, std::vector<Problem>& problems);

}  // namespace nightferry::config
