// What the settings could say of what clinics list as ordered: a [[regimen]] as text, for a person to compare
// with the clinic's paper and to copy. What an order leaves open stands there as a comment, never filled in.
#pragma once

#include <span>
#include <string>

#include "daemon/care/clinic_order.hpp"
#include "daemon/entry/household.hpp"

namespace nightferry::care {

// `has_regimen`: the settings have one of this person already.
std::string proposed_regimen(const std::string& person, std::span<const OrdersRead> read,
                             const entry::Household& household, bool has_regimen);

}  // namespace nightferry::care
