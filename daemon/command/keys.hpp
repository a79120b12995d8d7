// `nightferry new-key` and `nightferry public-keys`: the keys by which a clinic knows this hub. Private keys
// are only ever written to files of their own; what is printed is for the clinic's IT.
#pragma once

#include <string>

#include "config/settings.hpp"

namespace nightferry::command {

struct NewKey {
    std::string file;
    std::string algorithm = "ES384";
};

// Makes a key pair, writes the private half to a new file that only its owner may read, prints the public
// half as a JWK Set, and says what to do with both.
int make_key(const NewKey& wanted);

// Prints the public halves of the current and the next key of a clinic's settings as a JWK Set. With an empty
// name, of the only clinic that has any.
int print_public_keys(const config::Settings& settings, const std::string& clinic);

}  // namespace nightferry::command
