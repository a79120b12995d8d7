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

// "127.0.0.1:9464" or "[::1]:9464"; nothing for a name, for port 0 or without a port.
struct Listening {
    std::string address;
    std::uint16_t port = 0;
    enum class Reach { this_machine, home, open_internet } reach = Reach::this_machine;
};
std::optional<Listening> read_listening(const std::string& text);

// A file with a secret. A name that the service manager hands over stays as it is; a path starts at the
// folder of the settings.
SecretFile read_secret_file(TableReader& table, std::string_view key, const std::filesystem::path& folder);

// `log` of [hub], and [metrics].
LogForm read_log_form(TableReader& hub);
std::optional<MetricsListener> read_metrics(TableReader& root, std::vector<Problem>& problems);
std::optional<PageListener> read_page(TableReader& root, const std::filesystem::path& folder,
                                      std::vector<Problem>& problems);

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
