// [[regimen]]: what a clinic ordered for a person, and the limits it set. Used inside this room only.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "config/settings_reader.hpp"
#include "daemon/care/plan.hpp"

namespace nightferry::config {

// What the settings say of a medicine beside its strength.
struct Product {
    std::string medicine;
    std::optional<care::Syringe> syringe;
    care::VialRules vial;
};

// The keys of a [[medicine]] that say how it is drawn and kept.
Product read_product(TableReader& table, const std::string& medicine);

std::vector<care::Plan> read_regimens(TableReader& root, const entry::Household& household,
                                      const std::vector<Product>& products, std::vector<Problem>& problems);

std::optional<bool> read_yes_or_no(TableReader& table, std::string_view key);

// The tables of a regimen that are read one key after the other.
void read_limits(TableReader& table, care::Plan& plan);
void read_sites(TableReader& table, care::SiteRules& sites);
void read_flags(TableReader& table, care::FlagRules& flags);
void read_texts(TableReader& table, care::FlagRules& flags);

}  // namespace nightferry::config
